"""What was kept for long enough goes: from the store and its past, and from the database beside it.

How long is set; 0 months or days keep without end. That something went stays known by counts and years.
"""

from __future__ import annotations

import datetime as dt
import time
from collections import Counter
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import ColumnElement, delete, func, select

from api.access.accounts import Clock
from api.access.database import Database
from api.access.erasing import erase
from api.access.tables import ATTEMPTS, EVENTS, LOOKED_AT, LOOKS, PURPOSES
from api.settings import Settings
from ontology.analysis.profiles.overdue import Overdue, find_overdue
from ontology.erasure import remove_records
from ontology.errors import ConflictError
from ontology.live.live_graph import LiveGraph
from ontology.model.validity import add_months
from ontology.plurals import format_count

__all__ = ["RetentionPlan", "carry_out_retention", "plan_retention"]

_DAY_S: Final = 86_400.0
#: What tells of tries to sign in that failed.
_TRIES: Final = ("wrong password", "stopped")


@dataclass(frozen=True, slots=True)
class RetentionPlan:
    """What goes.

    Attributes
    ----------
    overdue : people and assessments of the store
    years : (year, how many) of these assessments, by the day they were made
    looks : (account, kind, moment) that somebody was looked at, and whom
    tries : of signing in, that failed
    """

    overdue: Overdue
    years: tuple[tuple[int, int], ...]
    looks: int
    tries: int

    @property
    def is_empty(self) -> bool:
        """Whether nothing goes."""
        return not (self.overdue.people or self.overdue.assessments or self.looks or self.tries)


def plan_retention(
    graph: LiveGraph, database: Database, settings: Settings, today: dt.date, clock: Clock = time.time
) -> RetentionPlan:
    """Return what would go today. O(assessments + looks)."""
    overdue = find_overdue(
        graph.get_snapshot(),
        today,
        people_months=settings.retention_people_months,
        assessments_months=settings.retention_assessments_months,
    )
    years = Counter(one.date.year for one in overdue.assessments)
    counts = {table: _count(database, table, condition) for table, condition in _list_old(settings, today, clock)}
    looks = counts.pop(LOOKS, 0)
    return RetentionPlan(overdue, tuple(sorted(years.items())), looks, sum(counts.values()))


def carry_out_retention(
    graph: LiveGraph, database: Database, settings: Settings, today: dt.date, who: str, clock: Clock = time.time
) -> RetentionPlan:
    """Let go of what is due and return what it was; a person with the last account that administers others stays.

    Raises
    ------
    StorageFullError
        There is no room to write the store anew.
    """
    plan = plan_retention(graph, database, settings, today, clock)
    for table, condition in _list_old(settings, today, clock):
        database.change(delete(table).where(condition))
    database.change(delete(PURPOSES).where(_is_unused(settings, today)))
    records = [("assessments", one) for one in plan.overdue.assessments]
    told = format_count(len(records), "assessment that has", "assessments that have")
    # before people are erased: then what they assessed is called otherwise
    remove_records(graph, records, who=who, why=f"removed {told} long ceased to count")
    for person in plan.overdue.people:
        try:
            erase(graph, database, [person], who)
        except ConflictError:
            continue  # an administrator sees to it
    if plan.looks or plan.tries:
        database.compact()
    return plan


def _list_old(settings: Settings, today: dt.date, clock: Clock) -> list[tuple[Any, ColumnElement[bool]]]:
    """Return the tables with rows that are too old, each with the condition that tells which."""
    found: list[tuple[Any, ColumnElement[bool]]] = []
    if settings.retention_looks_months:
        found.append((LOOKS, LOOKS.c.at < _get_moment(today, settings.retention_looks_months)))
    if settings.retention_attempts_days:
        before = clock() - settings.retention_attempts_days * _DAY_S
        found.append((ATTEMPTS, ATTEMPTS.c.at < before))
        found.append((EVENTS, (EVENTS.c.at < before) & EVENTS.c.what.in_(_TRIES)))
    return found


def _is_unused(settings: Settings, today: dt.date) -> ColumnElement[bool]:
    """Return which purposes are as old as looks that are no longer kept, and of no look that is."""
    before = _get_moment(today, settings.retention_looks_months or 12 * 9999)
    used = select(LOOKS.c.purpose).where(LOOKS.c.purpose.is_not(None))
    return (PURPOSES.c.ends_at < before) & PURPOSES.c.number.not_in(used)


def _get_moment(today: dt.date, months: int) -> float:
    """Return the beginning of the day so many months ago, in seconds since 1970."""
    try:
        day = add_months(today, -months)
    except OverflowError:
        return 0.0
    return dt.datetime(day.year, day.month, day.day, tzinfo=dt.UTC).timestamp()


def _count(database: Database, table: Any, condition: ColumnElement[bool]) -> int:
    if table is LOOKS:  # each person who was looked at
        rows = select(func.count()).select_from(LOOKED_AT.join(LOOKS, LOOKS.c.number == LOOKED_AT.c.look))
    else:
        rows = select(func.count()).select_from(table)
    return int(database.ask(rows.where(condition))[0][0])
