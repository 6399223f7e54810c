"""One record class per table: a row with every default filled in."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final, Literal

CompetencyKind = Literal["knowledge", "skill", "behaviour", "certificate"]
Necessity = Literal["blocking", "essential", "desirable"]
Source = Literal["certificate", "assessor", "manager", "self", "unstated"]

KINDS: Final = ("knowledge", "skill", "behaviour", "certificate")
EXPIRIES: Final = ("hard", "review")
VALIDITY_RULES: Final = ("same-day", "end-of-month")
NECESSITIES: Final = ("blocking", "essential", "desirable")
STRANDS: Final = ("experience", "social", "formal")
SOURCES: Final = ("certificate", "assessor", "manager", "self", "unstated")
APPLIES_TEAM: Final = "team"
APPLIES_EACH_SHIFT: Final = "each-shift"


def _put_in_order(record: object, *names: str) -> None:
    """Order the values of fields that hold several: a graph keeps no order, and what says the same must be equal."""
    for name in names:
        values = getattr(record, name)
        if len(values) > 1:
            object.__setattr__(record, name, tuple(sorted(set(values))))


@dataclass(frozen=True, slots=True)
class ScaleLevel:
    """One level of an ordered proficiency scale; ranks run 1..n without a hole."""

    scale: str
    rank: int
    label: str
    description: str


@dataclass(frozen=True, slots=True)
class Competency:
    """Knowledge, skill, behaviour or certificate, measured on exactly one scale."""

    id: str
    label: str
    scale: str
    definition: str
    broader: tuple[str, ...]
    kind: str
    expiry: str
    validity_months: int | None
    validity_rule: str
    refresher_months: int | None
    safety: bool
    assessment_hours: float | None
    alt_labels: tuple[str, ...]
    exact_match: tuple[str, ...]
    practices_per_year: float | None
    renewal_window_months: int | None
    holds_while: tuple[str, ...]
    appointment: bool
    retired_on: dt.date | None

    def __post_init__(self) -> None:
        _put_in_order(self, "broader", "alt_labels", "exact_match", "holds_while")

    @property
    def is_certificate(self) -> bool:
        """Whether only the source "certificate" counts."""
        return self.kind == "certificate"


@dataclass(frozen=True, slots=True)
class Role:
    """A role; `months_to_full` is the time in it until its full levels are normally reached."""

    id: str
    label: str
    family: str
    definition: str
    months_to_full: int
    exact_match: tuple[str, ...]
    retired_on: dt.date | None

    def __post_init__(self) -> None:
        _put_in_order(self, "exact_match")


@dataclass(frozen=True, slots=True)
class Requirement:
    """What a role asks of a competency: the full, first-day and unsupervised level, weight and necessity.

    `learned_on_job` is None where the default holds: yes unless desirable or a certificate.
    """

    role: str
    competency: str
    level: int
    entry_level: int
    unsupervised_level: int
    weight: float
    necessity: str
    learned_on_job: bool | None
    measured_level: float | None
    remark: str


@dataclass(frozen=True, slots=True)
class Course:
    """Any learning activity, off or on the job; hours are the learner's.

    `is_block`: it is held in one piece, and takes its own weeks whatever the learner's hours a week.
    """

    id: str
    label: str
    hours: float
    coach_hours: float
    cost: float
    weeks: float | None
    method: str
    strand: str
    seats: int | None
    lead_weeks: float
    is_block: bool
    group_minimum: int
    pass_share: float
    retired_on: dt.date | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """The level of a competency that a course reaches; `renews`: only for those who hold it or lost it lately."""

    course: str
    competency: str
    level: int
    renews: bool


@dataclass(frozen=True, slots=True)
class EntryCondition:
    """The level of a competency that a course asks of its learners."""

    course: str
    competency: str
    level: int


@dataclass(frozen=True, slots=True)
class Team:
    """A team, perhaps part of another; members of a part do not count in the whole."""

    id: str
    label: str
    part_of: str
    absence_rate: float | None
    site: str


@dataclass(frozen=True, slots=True)
class Shift:
    """A crew of a team that works together."""

    id: str
    team: str
    label: str


@dataclass(frozen=True, slots=True)
class Person:
    """A member of a team and perhaps of a shift."""

    id: str
    name: str
    team: str
    shift: str
    role: str
    study_hours_per_week: float
    start_date: dt.date | None
    end_date: dt.date | None


@dataclass(frozen=True, slots=True)
class Absence:
    """Days on which a person is away, both inclusive; never a reason."""

    person: str
    from_date: dt.date
    to_date: dt.date


@dataclass(frozen=True, slots=True)
class Assessment:
    """A level of a person seen on a day by a source; `valid_until` is the last day it counts, or None.

    `evidence` says where it can be seen; once `withdrawn_on` is set it counts nowhere, for no day.
    """

    person: str
    competency: str
    level: int
    date: dt.date
    source: str
    valid_until: dt.date | None
    assessor: str
    recorded_on: dt.date | None
    evidence: str
    withdrawn_on: dt.date | None


@dataclass(frozen=True, slots=True)
class CoverNeed:
    """How many members must be able to do something: present at least `minimum`, qualified `target`."""

    team: str
    competency: str
    level: int
    minimum: int
    target: int
    criticality: int
    applies: str
    together: str
    occasions_per_year: float | None
    hours_per_year: float | None


@dataclass(frozen=True, slots=True)
class Place:
    """`count` posts that must be filled by someone able to do the role, in a shift or the team; a label is optional.

    Up to `trainees` people may learn there beside them, `trainees_per_able` for each who fills a post.
    """

    id: str
    team: str
    role: str
    label: str
    shift: str
    count: int
    hours_per_year: float | None
    strain: int
    trainees: int
    trainees_per_able: int
