"""One record class per table, and what each column means. Imports only namespaces.

A record is a row with every default filled in. `Table` and `Column` are the single description from which
the loaders parse rows, the writer makes triples, the reader finds them again and the API makes its schemas.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from ontology import namespaces as ns

ID_PATTERN: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")

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

    def __post_init__(self) -> None:
        # a graph keeps no order of several values: two records that say the same must be equal
        for name in ("broader", "alt_labels", "exact_match"):
            values = getattr(self, name)
            if len(values) > 1:
                object.__setattr__(self, name, tuple(sorted(set(values))))

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
    """Any learning activity, off or on the job; hours are the learner's."""

    id: str
    label: str
    hours: float
    coach_hours: float
    cost: float
    weeks: float | None
    method: str
    strand: str
    seats: int | None


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
    """A level of a person seen on a day by a source; `valid_until` is the last day it counts, or None."""

    person: str
    competency: str
    level: int
    date: dt.date
    source: str
    valid_until: dt.date | None
    assessor: str
    recorded_on: dt.date | None


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


@dataclass(frozen=True, slots=True)
class Place:
    """`count` posts that must be manned by someone able to do the role, in a shift or the team."""

    id: str
    team: str
    role: str
    shift: str
    count: int


Record = (
    ScaleLevel
    | Competency
    | Role
    | Requirement
    | Course
    | Outcome
    | EntryCondition
    | Team
    | Shift
    | Person
    | Absence
    | Assessment
    | CoverNeed
    | Place
)

ColumnKind = Literal["id", "ref", "refs", "text", "texts", "iris", "integer", "number", "flag", "date", "choice"]
Key = tuple[Any, ...]
_REQUIRED: Final = object()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its name there and in JSON, the record's field, the RDF property and the limits.

    `default` is a value, or a function of the values of the columns before it.
    """

    name: str
    kind: ColumnKind
    iri: str
    about: str
    default: Any = _REQUIRED
    refers_to: str = ""
    choices: tuple[str, ...] = ()
    minimum: float | None = None
    maximum: float | None = None
    field: str = ""

    @property
    def is_required(self) -> bool:
        """Whether an empty cell is an error."""
        return self.default is _REQUIRED

    @property
    def attribute(self) -> str:
        """Name of the record's field."""
        return self.field or self.name

    def get_default(self, values: Mapping[str, Any]) -> Any:
        """Return the value of an empty cell, given the columns before it by attribute name."""
        return self.default(values) if callable(self.default) else self.default


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its record, the RDF class and named graph, and its columns in order (the required ones first)."""

    name: str
    record: Callable[..., Any]
    segment: str
    class_iri: str
    graph: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]

    def get_key(self, record: Any) -> Key:
        """Return the values that tell this record from the others of its table."""
        return tuple(getattr(record, name) for name in self.key)

    def get_iri(self, record: Any) -> str:
        """Return the record's IRI: deterministic, so loading a row twice gives the same triples."""
        return ns.record_iri(self.segment, *(str(part) for part in self.get_key(record)))

    def get_column(self, name: str) -> Column:
        """Return the column of this name; KeyError where there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    def build(self, **values: Any) -> Any:
        """Return a record from values by attribute name, with every default filled in.

        Raises
        ------
        KeyError
            A required value is missing, or a name is not a column of this table.
        """
        complete: dict[str, Any] = {}
        for column in self.columns:
            attribute = column.attribute
            if attribute in values:
                complete[attribute] = values.pop(attribute)
            elif column.is_required:
                raise KeyError(f"{self.name}: {attribute} is missing")
            else:
                complete[attribute] = column.get_default(complete)
        if values:
            raise KeyError(f"{self.name}: unknown {', '.join(sorted(values))}")
        return self.record(**complete)

    @property
    def id_field(self) -> str:
        """Name of the single key field, or empty where the key has several parts."""
        return self.key[0] if len(self.key) == 1 else ""
