"""Slow answers that were found a moment ago: for another form of one nothing is computed again.

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
    """What slow questions found last. Safe for many threads.

    Parameters
    ----------
    get_tag : callable
        Enquiry and form -> the tag.
    most : int
        How many are kept, the oldest let go first; they do not hold the state they are of.
    """

    def __init__(self, get_tag: Callable[[Enquiry, str], str], most: int) -> None:
        self._get_tag = get_tag
        self._most = most
        self._kept: OrderedDict[str, _Found] = OrderedDict()
        self._lock = threading.Lock()

    def find(self, enquiry: Enquiry) -> Answer | None:
        """Return an answer that is kept, or None."""
        found = self._kept.get(self._get_tag(enquiry, _NO_FORM)) if _is_kept(enquiry) else None
        return None if found is None else Answer(enquiry, *found)

    def keep(self, answer: Answer) -> None:
        """Keep a final answer to a slow question."""
        if not _is_kept(answer.enquiry) or not answer.is_final:
            return
        with self._lock:
            found = answer.result, answer.hidden, answer.told, answer.remarks
            self._kept[self._get_tag(answer.enquiry, _NO_FORM)] = found
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)

    def clear(self) -> None:
        """Let go of everything."""
        with self._lock:
            self._kept.clear()


def _is_kept(enquiry: Enquiry) -> bool:
    return enquiry.question.is_slow and not enquiry.question.is_private
