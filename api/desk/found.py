"""Answers that were found a moment ago: for another form of one, or the same page again, nothing is computed again.

They are kept by the desk's tag, which says who may see the same; what belongs to one person is never kept.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from typing import Any, Final

from api.desk.answer import Answer, Enquiry

_NO_FORM: Final = ""
#: Result, of how many people of which team it does not tell, whom it tells of, remarks.
_Found = tuple[Any, Mapping[str, int], frozenset[str], tuple[str, ...]]


class FoundAnswers:
    """What was found last. Safe for many threads.

    Parameters
    ----------
    get_tag : callable
        Enquiry and form -> the tag.
    most_slow, most_quick : int
        How many of slow and of quick questions are kept, the oldest let go first; none holds the state it is of.
    """

    def __init__(self, get_tag: Callable[[Enquiry, str], str], most_slow: int, most_quick: int) -> None:
        self._get_tag = get_tag
        #: By whether the question is slow: no quick answer pushes out what took long.
        self._most = {True: most_slow, False: most_quick}
        self._kept: dict[bool, OrderedDict[str, _Found]] = {True: OrderedDict(), False: OrderedDict()}
        self._lock = threading.Lock()

    def find(self, enquiry: Enquiry) -> Answer | None:
        """Return an answer that is kept, or None."""
        kept = self._kept[enquiry.question.is_slow]
        found = None if enquiry.question.is_private else kept.get(self._get_tag(enquiry, _NO_FORM))
        return None if found is None else Answer(enquiry, *found)

    def find_or_make(self, enquiry: Enquiry, make: Callable[[Enquiry], Answer]) -> Answer:
        """Return an answer that is kept; else it is made, and kept where it is final."""
        question = enquiry.question
        if question.is_private:
            return make(enquiry)
        tag, kept = self._get_tag(enquiry, _NO_FORM), self._kept[question.is_slow]
        found = kept.get(tag)
        if found is not None:
            return Answer(enquiry, *found)
        answer = make(enquiry)
        if answer.is_final:
            with self._lock:
                kept[tag] = answer.result, answer.hidden, answer.told, answer.remarks
                while len(kept) > self._most[question.is_slow]:
                    kept.popitem(last=False)
        return answer

    def clear(self) -> None:
        """Let go of everything."""
        with self._lock:
            for kept in self._kept.values():
                kept.clear()
