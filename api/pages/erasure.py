"""Erasing a person, for who administers: what would go, counted, and afterwards what is left for the company to do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from api.access.erasing import ErasurePlan
from api.access.erasure import Copy
from api.access.erasure_requests import WAITS_S, ErasureAsked
from api.desk.names import count
from api.desk.sheet import Column, Table
from api.pages.account_words import tell_moment, to_moment
from api.pages.page import Link, Page
from ontology.model.tables import TABLES

__all__ = [
    "ErasureView",
    "WaitingRow",
    "build_done",
    "build_plan",
    "build_waiting",
    "describe_confirmation",
    "describe_erasure",
    "list_gone",
    "list_left",
    "name_person",
]

_TRAIL = (Link("Accounts", "/accounts"),)
_SHOWN = 5
_ELSEWHERE = "Copies and exports that were made or taken elsewhere: yours to delete."


@dataclass(frozen=True, slots=True)
class WaitingRow:
    """An erasure that waits to be confirmed: for whom, where that is told, who asked for it, and until when."""

    person: str
    by: str
    until: str


@dataclass(frozen=True, slots=True)
class ErasureView:
    """What stands on the page; `gone` is None before a person was named, and after they were erased.

    `needs_second`: somebody else has to confirm it; `waiting` are those that wait for that.
    """

    lead: str
    person: str = ""
    gone: Table | None = None
    left: tuple[str, ...] = ()
    wrong: str = ""
    is_done: bool = False
    needs_second: bool = False
    waiting: tuple[WaitingRow, ...] = ()


def name_person(plan: ErasurePlan) -> str:
    """Return "p002 (Ada Example)": the id and every name they had."""
    return f"{plan.person} ({', '.join(plan.names)})" if plan.names else plan.person


def list_gone(plan: ErasurePlan) -> tuple[tuple[str, str], ...]:
    """Return what goes and how much of it, in words."""
    about = plan.about
    beside = (
        count(about.accounts, "account"),
        count(about.sessions, "session"),
        count(about.tokens, "token"),
        count(about.kept, "kept way"),
        count(about.shows, "page shown", "pages shown"),
        count(about.looks, "look at them", "looks at them"),
        count(about.purposes, "purpose about them", "purposes about them"),
    )
    rows = [
        ("records about them", _count_tables(plan.records) or "none now"),
        ('named in other records, where "erased" stands afterwards', _count_tables(plan.named)),
        ("their part of changes; how many rows each changed stays known", count(plan.commits, "change")),
        ("kept beside the store", ", ".join(part for part in beside if not part.startswith("0 ")) or "nothing"),
        ("files that were sent to be loaded", "all of them"),
    ]
    return tuple((what, much) for what, much in rows if much)


def list_left(plan: ErasurePlan) -> tuple[str, ...]:
    """Return, in sentences, what stays and is the company's to see to."""
    left = list(_tell_copies(plan.copies))
    if not plan.has_left:
        left.insert(
            0,
            "No last day is said of them: from now on no answer about cover or places counts on them.",
        )
    if plan.spoken:
        shown = ", ".join(f"{name} {key}" for name, key in plan.spoken[:_SHOWN])
        more = f" and {len(plan.spoken) - _SHOWN} more" if len(plan.spoken) > _SHOWN else ""
        left.insert(0, f"Their name is a part of other texts, which you change by hand: {shown}{more}.")
    return tuple(left)


def build_waiting(asked: Iterable[ErasureAsked], *, is_named: bool) -> tuple[WaitingRow, ...]:
    """Return the erasures that wait; `is_named`: with the ids of whom they are."""
    return tuple(
        WaitingRow(one.person if is_named else "", one.by, tell_moment(to_moment(one.at + WAITS_S))) for one in asked
    )


def describe_confirmation(rows: tuple[WaitingRow, ...], person: str = "", wrong: str = "", *, is_done: bool) -> Page:
    """Return the page on which somebody else confirms an erasure: it names nobody who is to go."""
    lead = f"{count(len(rows), 'erasure waits', 'erasures wait')} to be confirmed by somebody else than who asked."
    if is_done:
        lead = "The person is erased."
    elif not rows:
        lead = "No erasure waits to be confirmed."
    values = {"rows": rows, "lead": lead, "person": person, "wrong": wrong}
    return Page("erasures.html", values, trail=(Link("Your account", "/account"),))


def build_plan(plan: ErasurePlan, *, needs_second: bool = False) -> ErasureView:
    """Return the page that counts what would go."""
    n_records = sum(n for _, n in plan.records)
    lead = f"{count(n_records, 'record')} about {name_person(plan)} would go, and all that the past holds of them."
    columns = (Column("What goes"), Column("How much"))
    rows = tuple((f"{what[:1].upper()}{what[1:]}", much) for what, much in list_gone(plan))
    table = Table("What would go", columns, rows, "")
    return ErasureView(lead, plan.person, table, list_left(plan), needs_second=needs_second)


def build_done(revision: int, copies: Sequence[Copy]) -> ErasureView:
    """Return the page after an erasure: it does not say of whom."""
    lead = f"The person is erased. The data are at revision {revision}, and no state before holds them either."
    return ErasureView(lead, left=tuple(_tell_copies(copies)), is_done=True)


def describe_erasure(view: ErasureView) -> Page:
    """Return the page."""
    return Page("erasure.html", {"view": view}, trail=_TRAIL)


def _tell_copies(copies: Iterable[Copy]) -> Iterable[str]:
    for copy in copies:
        day = dt.datetime.fromtimestamp(copy.at, dt.UTC).date()
        yield f"A copy of {day.day} {day:%B %Y} (revision {copy.revision}), yours to delete: {copy.path}"
    yield _ELSEWHERE


def _count_tables(counts: Iterable[tuple[str, int]]) -> str:
    words = ((TABLES[name].segment.replace("-", " "), name.replace("_", " "), n) for name, n in counts)
    return ", ".join(count(n, one, many) for one, many, n in words)
