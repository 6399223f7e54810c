"""Answers that were found a moment ago: for another form of one, or the same page again, nothing is computed again.

They are kept by the key of the enquiry, which says who may see the same; what belongs to one person is never kept.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from typing import Any

from api.desk.answer import Answer, Enquiry

#: Result, of how many people of which team it does not tell, whom it tells of, remarks.
_Found = tuple[Any, Mapping[str, int], frozenset[str], tuple[str, ...]]


class FoundAnswers:
    """What was found last. Safe for many threads.

    Of slow and of quick questions so many are kept, the oldest let go first; none holds the state it is of.
    """

    def __init__(self, most_slow: int, most_quick: int) -> None:
        #: By whether the question is slow: no quick answer pushes out what took long.
        self._most = {True: most_slow, False: most_quick}
        self._kept: dict[bool, OrderedDict[Hashable, _Found]] = {True: OrderedDict(), False: OrderedDict()}
        self._lock = threading.Lock()

    def find(self, enquiry: Enquiry) -> Answer | None:
        """Return an answer that is kept, or None."""
        kept = self._kept[enquiry.question.is_slow]
        found = None if enquiry.question.is_private else kept.get(enquiry.key)
        return None if found is None else Answer(enquiry, *found)

    def find_or_make(self, enquiry: Enquiry, make: Callable[[Enquiry], Answer]) -> Answer:
        """Return an answer that is kept; else it is made, and kept where it is final."""
        question = enquiry.question
        if question.is_private:
            return make(enquiry)
        key, kept = enquiry.key, self._kept[question.is_slow]
        found = kept.get(key)
        if found is not None:
            return Answer(enquiry, *found)
        answer = make(enquiry)
        if answer.is_final:
            with self._lock:
                kept[key] = answer.result, answer.hidden, answer.told, answer.remarks
                while len(kept) > self._most[question.is_slow]:
                    kept.popitem(last=False)
        return answer

    def clear(self) -> None:
        """Let go of everything."""
        with self._lock:
            for kept in self._kept.values():
                kept.clear()
