"""How far a slow answer is, as a page: whose turn it is, how long it computes, what a cancelled one had found."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from api.desk.computation import Progress
from api.desk.desk import Enquiry
from api.desk.names import Names, count
from api.desk.parameters import list_parameters
from api.desk.sheet import Sheet
from api.pages.addresses import build_address
from api.pages.page import Crumb, Page
from api.pages.sheet_page import find_way, list_trail

__all__ = ["ComputingView", "Smaller", "build_view", "describe_computing", "get_address", "tell_progress"]


def _halve(value: Any) -> str | None:
    return f"{value / 2:g}" if isinstance(value, int | float) and value >= 2 else None


def _lessen(value: Any) -> str | None:
    return str(value - 1) if isinstance(value, int) and value > 1 else None


def _be(text: str) -> Callable[[Any], str | None]:
    return lambda value: None if value == text or value is False else text


#: Parameter -> what asking less of it is called, and the text that asks less than a value; None where nothing does.
_SMALLER: Final[Mapping[str, tuple[str, Callable[[Any], str | None]]]] = {
    "max_moves": ("with fewer moves: at most {}", _lessen),
    "preparation_limit": ("with less preparation for a move: at most {} h", _halve),
    "weeks": ("for a shorter time: {} weeks", lambda value: _halve(value - value % 2) if value else None),
    "intervals": ("with fewer intervals: {}", _lessen),
    "alternatives": ("without alternatives", _be("0")),
    "with_routes": ("without the ways on", _be("no")),
    "lending_teams": ("without teams that lend", lambda value: "" if value else None),
    "with_coach": ("without asking for coaches", _be("no")),
    "fair": ("without spreading the hours fairly", _be("no")),
    "desirable": ("without what is only desirable", _be("no")),
}


@dataclass(frozen=True, slots=True)
class Smaller:
    """A smaller question: its words and its address."""

    words: str
    address: str


@dataclass(frozen=True, slots=True)
class ComputingView:
    """What stands on the page.

    `elapsed_s` of `limit_s` are whole seconds, None while nothing computes; `own` are the numbers of computations of
    the same person that have to end first; `found` is the sheet of the best so far of a cancelled one.
    """

    number: int
    title: str
    subject: str
    lead: str
    is_under_way: bool
    can_cancel: bool
    elapsed_s: int | None
    limit_s: int
    own: tuple[int, ...]
    address: str
    found: Sheet | None
    smaller: tuple[Smaller, ...]


def get_address(number: int) -> str:
    """Return the address of a computation's page."""
    return f"/computing/{number}"


def tell_progress(progress: Progress) -> str:
    """Return the first sentence: how far it is.

    Examples
    --------
    >>> from api.desk.computation import Progress
    >>> tell_progress(Progress(1, "waiting", 2, (), 0.0, 60.0, None, "/x", None))
    'Your turn: 2 before you.'
    >>> tell_progress(Progress(1, "computing", 0, (), 7.4, 60.0, None, "/x", None))
    'Computing for 7 s, at most 60 s.'
    """
    elapsed, limit = int(progress.elapsed_s), f"{progress.limit_s:g} s"
    match progress.phase:
        case "waiting" if len(progress.own) > 1:
            return f"Your turn comes when one of your {len(progress.own)} other computations ends."
        case "waiting":
            return f"Your turn: {progress.before or 'nobody'} before you."
        case "computing" if progress.limit_s and elapsed > progress.limit_s:
            return f"Computing for {elapsed} s: the time of {limit} is up, it ends in a moment."
        case "computing":
            return f"Computing for {elapsed} s" + (f", at most {limit}." if progress.limit_s else ".")
        case "stopping":
            return "Stopping: the step under way is brought to its end, then the best found so far is shown."
        case "left":
            return "You no longer wait for this. Others asked the same, so it goes on for them."
        case "cancelled" if progress.answer is not None:
            return f"Cancelled after {count(elapsed, 'second')}. This is the best found so far."
        case "cancelled":
            return "Cancelled before its turn came: nothing was computed."
    return "The answer is there."


def build_view(progress: Progress, longest_s: float = 60.0) -> ComputingView:
    """Return what stands on the page of a computation that goes on, or was cancelled.

    Parameters
    ----------
    progress : Progress
        With its question: one whose state has changed leads back to the page that asked.
    longest_s : float
        The most time that can be asked for.
    """
    enquiry = progress.enquiry
    assert enquiry is not None, "a computation without its question is done"
    subject, is_cancelled = enquiry.subject, progress.phase == "cancelled"
    table = subject.kind.value
    return ComputingView(
        number=progress.number,
        title=enquiry.question.title.rstrip("."),
        subject=Names(enquiry.state.snapshot).get(table, subject.id) if table else "",
        lead=tell_progress(progress),
        is_under_way=not is_cancelled,
        can_cancel=progress.phase in ("waiting", "computing"),
        elapsed_s=int(progress.elapsed_s) if progress.phase in ("computing", "stopping") else None,
        limit_s=max(1, round(progress.limit_s)),
        own=progress.own if progress.phase == "waiting" and len(progress.own) > 1 else (),
        address=progress.address,
        found=progress.answer.build_sheet() if is_cancelled and progress.answer is not None else None,
        smaller=tuple(_list_smaller(enquiry, longest_s)) if is_cancelled else (),
    )


def _list_smaller(enquiry: Enquiry, longest_s: float) -> list[Smaller]:
    """Return smaller questions than this one, and last the same with all the time there is."""
    subject, texts = enquiry.subject, enquiry.texts

    def build(words: str, more: Mapping[str, str]) -> Smaller:
        asked = {name: text for name, text in {**texts, **more}.items() if text}
        return Smaller(words, build_address(subject.kind.value, subject.id, enquiry.question.segment, asked))

    found = []
    for parameter in list_parameters(type(enquiry.asked)):
        words, lessen = _SMALLER.get(parameter.name, ("", _halve))
        text = lessen(getattr(enquiry.asked, parameter.field)) if words else None
        if text is not None:
            found.append(build(words.format(text), {parameter.name: text}))
    if 0 < getattr(enquiry.asked, "time_limit_s", 0.0) < longest_s:
        found.append(build(f"as it is, with more time: {longest_s:g} s", {"time_limit": f"{longest_s:g}"}))
    return found


def describe_computing(view: ComputingView, enquiry: Enquiry) -> Page:
    """Return the page."""
    trail: tuple[Crumb, ...] = list_trail(enquiry)
    return Page("computing.html", {"view": view}, way=find_way(enquiry), trail=trail)
