"""Records of what people ask for and what is agreed with them: wishes, who may assess, plans and their courses."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Request:
    """A person's wish for a course, without a session yet; `by` None: no day is named."""

    person: str
    course: str
    by: dt.date | None
    asked_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Assessor:
    """Who may assess others: no competencies: what they hold; no teams: everyone."""

    person: str
    competencies: tuple[str, ...]
    teams: tuple[str, ...]
    hours_per_round: float
    from_date: dt.date | None
    to_date: dt.date | None

    def __post_init__(self) -> None:
        # a graph keeps no order of several values: two records that say the same must be equal
        for name in ("competencies", "teams"):
            values = getattr(self, name)
            if len(values) > 1:
                object.__setattr__(self, name, tuple(sorted(set(values))))


@dataclass(frozen=True, slots=True)
class AgreedPlan:
    """What was agreed with a person about the way into a role; `ended_on` None: it is open."""

    id: str
    person: str
    role: str
    agreed_on: dt.date
    agreed_with: str
    note: str
    ended_on: dt.date | None


@dataclass(frozen=True, slots=True)
class AgreedCourse:
    """A course of an agreed plan, with the days agreed for it."""

    plan: str
    course: str
    first_day: dt.date
    last_day: dt.date
