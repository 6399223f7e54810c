"""What is to mend and what stands out in the framework: the first of each, with why it matters and one act."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from api.desk.desk import Answer
from api.desk.sheet import Cell, Ref
from api.pages.addresses import build_address, build_record_address
from api.pages.page import Link
from api.questions.company import framework_review as review
from api.questions.framework._to_mend_sheet import name_record

__all__ = ["FIRST_SHOWN", "Asked", "MendList", "MendRow", "build_mend_list", "list_standing_out", "list_to_mend"]

#: Rows of a list that stand on a page; the rest is linked.
FIRST_SHOWN: Final = 5


@dataclass(frozen=True, slots=True)
class Asked:
    """An answer, or None while it is worked out, which `waiting` tells the address of."""

    answer: Answer | None
    waiting: str = ""


@dataclass(frozen=True, slots=True)
class MendRow:
    """One thing to mend: what it is, where, why it matters, and one act."""

    rule: str
    where: Cell
    why: str
    act: Link


@dataclass(frozen=True, slots=True)
class MendList:
    """The first rows of a list, and where all of it stands; `waiting` leads to where it is still worked out.

    `what` heads the first column; `is_final`: whether more time would find no more.
    """

    heading: str
    what: str
    rows: tuple[MendRow, ...]
    all_of_it: Link
    empty: str
    waiting: Link | None = None
    is_final: bool = True


def build_mend_list(
    heading: str, what: str, empty: str, address: str, asked: Asked, rows: Sequence[MendRow], total: int
) -> MendList:
    """Return a list of the first rows, of so many in all."""
    words = f"All {total:,}" if total > FIRST_SHOWN else "See all of it"
    return MendList(
        heading=heading,
        what=what,
        rows=tuple(rows[:FIRST_SHOWN]),
        all_of_it=Link(words, address),
        empty=empty,
        waiting=Link("See how far it is", asked.waiting) if asked.waiting else None,
        is_final=asked.answer is None or asked.answer.is_final,
    )


def list_to_mend(answer: Answer | None) -> tuple[MendRow, ...]:
    """Return what is to mend, in the order of its effect."""
    if answer is None:
        return ()
    return tuple(
        MendRow(row.rule, name_record(row, answer.names), row.reason, Link(row.mend.words, row.mend.address))
        for row in answer.result.rows
    )


def list_standing_out(answer: Answer | None) -> tuple[MendRow, ...]:
    """Return what stands out, what holds most people up first, each with what one would do first."""
    found = () if answer is None else review.list_standing_out(answer.result, answer.names)
    return tuple(MendRow(one.what, one.where, one.why, _ACTS[one.what](one.where)) for one in found)


def _edit_requirements(where: Ref) -> Link:
    return Link("Edit what it asks", f"/edit{build_record_address('roles', where.id)}/requirements")


def _add_outcome(where: Ref) -> Link:
    return Link("Say what teaches it", f"/new/outcomes?{urlencode({'competency': where.id})}")


#: What stands out -> what one would do about it first.
_ACTS: Final[Mapping[str, Callable[[Ref], Link]]] = {
    review.NOBODY_REACHES: _edit_requirements,
    review.HIGH_ENTRY: _edit_requirements,
    review.DEAD_END: lambda where: Link("See roles like it", build_address("roles", where.id, "similar")),
    review.UNTAUGHT: _add_outcome,
    review.UNTAUGHT_ON_JOB: _add_outcome,
    review.UNUSED_COURSE: lambda where: Link("Edit the course", f"/edit{build_record_address('courses', where.id)}"),
}
