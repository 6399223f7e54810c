"""Smaller questions than one that takes too long, in words and as addresses; and last the same with more time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from api.desk.desk import Enquiry
from api.desk.parameters import list_parameters
from api.pages.addresses import build_address
from api.pages.page import Link

__all__ = ["list_smaller"]


def _halve(value: Any) -> str | None:
    return f"{value / 2:g}" if isinstance(value, int | float) and value >= 2 else None


def _halve_whole(value: Any) -> str | None:
    return str(value // 2) if isinstance(value, int) and value >= 2 else None


def _lessen(value: Any) -> str | None:
    return str(value - 1) if isinstance(value, int) and value > 1 else None


def _leave_out(value: Any) -> str | None:
    return "" if value else None


def _take_none(value: Any) -> str | None:
    return None if value == 0 else "0"


#: Parameter -> what asking less of it is called, and the text that asks less than a value; None where nothing does.
_LESS: Final[Mapping[str, tuple[str, Callable[[Any], str | None]]]] = {
    "max_moves": ("with at most {} moves", _lessen),
    "preparation_limit": ("with at most {} h of preparation for a move", _halve),
    "weeks": ("for {} weeks", _halve_whole),
    "intervals": ("with {} intervals", _lessen),
    "alternatives": ("without alternatives", _take_none),
    "with_routes": ("without the ways on", _leave_out),
    "lending_teams": ("without teams that lend", _leave_out),
    "with_coach": ("whether or not someone can coach", _leave_out),
    "fair": ("without sharing the hours out evenly", _leave_out),
    "desirable": ("without what is only desirable", _leave_out),
}


def list_smaller(enquiry: Enquiry, longest_s: float) -> tuple[Link, ...]:
    """Return what could be asked instead.

    Parameters
    ----------
    enquiry : Enquiry
        What took too long.
    longest_s : float
        The most seconds that can be asked for.
    """
    found = []
    for parameter in list_parameters(type(enquiry.asked)):
        if parameter.name in _LESS:
            words, lessen = _LESS[parameter.name]
            text = lessen(getattr(enquiry.asked, parameter.field))
            if text is not None:
                found.append(_ask(enquiry, words.format(text), {parameter.name: text}))
    if 0 < getattr(enquiry.asked, "time_limit_s", 0.0) < longest_s:
        found.append(_ask(enquiry, f"with more time: {longest_s:g} s", {"time_limit": f"{longest_s:g}"}))
    return tuple(found)


def _ask(enquiry: Enquiry, words: str, changed: Mapping[str, str]) -> Link:
    asked = {name: text for name, text in {**enquiry.texts, **changed}.items() if text}
    subject = enquiry.subject
    return Link(words, build_address(subject.kind.value, subject.id, enquiry.question.segment, asked))
