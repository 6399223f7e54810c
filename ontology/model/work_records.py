"""Records of the weekly work: where people belong when, what they must hold, what they do and have done, sessions."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final

MEMBERSHIP_KINDS: Final = ("own", "lent", "contractor")
OBLIGATION_RULES: Final = ("everyone", "role", "place", "team", "site")
ORIENTATION_RULES: Final = ("everyone", "role", "team", "site")
SESSION_STATES: Final = ("planned", "confirmed", "cancelled", "held")
BOOKING_STATES: Final = ("asked", "waiting", "booked", "attended", "missed", "cancelled")


@dataclass(frozen=True, slots=True)
class Site:
    """Where teams work."""

    id: str
    label: str


@dataclass(frozen=True, slots=True)
class Equivalence:
    """Who holds `competency` at `level` counts as `as_level` in `counts_as`: one direction, one step."""

    competency: str
    counts_as: str
    level: int
    as_level: int
    from_date: dt.date | None
    to_date: dt.date | None


@dataclass(frozen=True, slots=True)
class Membership:
    """Days in a team, role and shift other than one's own; `to_date` None: open, empty role: the person's own."""

    person: str
    from_date: dt.date
    team: str
    to_date: dt.date | None
    role: str
    shift: str
    kind: str


@dataclass(frozen=True, slots=True)
class Duty:
    """Days on which a person stood or will stand at a place, perhaps watched over by another."""

    person: str
    place: str
    from_date: dt.date
    to_date: dt.date
    supervised_by: str
    recorded_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Appointment:
    """The employer's appointment of a person for a competency; level None: at any level."""

    person: str
    competency: str
    from_date: dt.date
    to_date: dt.date | None
    level: int | None
    appointed_by: str
    recorded_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Practice:
    """How often a person did on a day what a competency is about."""

    person: str
    competency: str
    date: dt.date
    count: int
    recorded_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Obligation:
    """What everyone, or whoever holds a role, stands at a place, belongs to a team or site (`of`), must hold."""

    id: str
    label: str
    competency: str
    level: int
    rule: str
    of: str
    days_after: int
    from_date: dt.date | None
    to_date: dt.date | None
    legal_basis: str
    change: str


@dataclass(frozen=True, slots=True)
class Session:
    """A course held on some days; seats None: those of the course, `book_by` None: as its lead weeks say."""

    id: str
    course: str
    from_date: dt.date
    to_date: dt.date
    seats: int | None
    site: str
    where: str
    state: str
    book_by: dt.date | None
    fixed_cost: float
    trip_cost: float


@dataclass(frozen=True, slots=True)
class Booking:
    """A person's seat in a session, or the wish for one."""

    session: str
    person: str
    state: str
    booked_on: dt.date | None
    recorded_on: dt.date | None


@dataclass(frozen=True, slots=True)
class OrientationItem:
    """What a newcomer meets: `offset_days` from the start date, by whom, perhaps shown by a competency."""

    id: str
    label: str
    rule: str
    of: str
    owner: str
    offset_days: int
    before_work: bool
    competency: str
    level: int
    hours: float | None


@dataclass(frozen=True, slots=True)
class OrientationDone:
    """The day on which a newcomer was through an item."""

    person: str
    item: str
    date: dt.date
    done_by: str
    recorded_on: dt.date | None
