"""How far a slow answer is, as a page: whose turn it is, how long it computes, what a cancelled one had found."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.desk.computation import Progress
from api.desk.desk import Answer, Enquiry
from api.desk.names import Names, count
from api.desk.sheet import Cell, Quantity, Refs, Sheet
from api.pages.page import Link, Page
from api.pages.sheet_page import find_way_of, list_trail_of
from api.pages.smaller import list_smaller

__all__ = ["ComputingView", "build_view", "describe_computing", "get_address", "tell_progress"]


@dataclass(frozen=True, slots=True)
class ComputingView:
    """What stands on the page.

    `elapsed_s` of `limit_s` are whole seconds, None while nothing computes; `own` are the numbers of computations of
    the same person that have to end first; `found` is the sheet of the best so far of a cancelled one, `bound` what no
    answer is below.
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
    bound: Cell | None
    smaller: tuple[Link, ...]


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
        case "cancelled" if progress.elapsed_s:
            return f"Cancelled after {count(elapsed, 'second')}: nothing had been found by then."
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
        bound=_get_bound(progress.answer) if is_cancelled and progress.answer is not None else None,
        smaller=list_smaller(enquiry, longest_s) if is_cancelled else (),
    )


def _get_bound(answer: Answer) -> Cell | None:
    """Return what no answer is below, in the unit of what is asked; None where none is known."""
    bound: float | dt.date | None = getattr(answer.record, "lower_bound", None)
    return Quantity(bound) if isinstance(bound, int | float) else bound


def describe_computing(view: ComputingView, enquiry: Enquiry) -> Page:
    """Return the page."""
    way = find_way_of(enquiry.subject, enquiry.question)
    trail = list_trail_of(enquiry.subject, Names(enquiry.state.snapshot))
    facts = () if view.found is None else view.found.facts
    # a list of names can be longer than this page
    pairs: list[tuple[str, Cell]] = [(fact.name, fact.value) for fact in facts if not isinstance(fact.value, Refs)]
    if view.bound is not None:
        pairs.insert(0, ("Proved so far: nothing below", view.bound))
    return Page("computing.html", {"view": view, "pairs": pairs}, way=way, trail=trail)
