"""Who may do what: one table of kinds of things by who one is to them, read by the check and printed as it stands.

The letters of a cell: r see, w make and change, x remove, f figures without persons, n name and id alone; what follows
"p:" needs a purpose that was stated; "-" is nothing. Who is several things to a subject may what any of them may.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from typing import Final

__all__ = [
    "COLUMNS",
    "OF_EVERYONE",
    "TOLD_IN_FIGURES",
    "Cell",
    "Kind",
    "Right",
    "Standpoint",
    "Verb",
    "get_cell",
    "print_matrix",
]


class Verb(Enum):
    """What one does."""

    SEE = "r"
    CHANGE = "w"
    REMOVE = "x"


class Standpoint(Enum):
    """What one is to what is asked about."""

    READER = "reader"
    SELF = "employee, self"
    COLLEAGUE = "employee, others"
    OWN_LEAD = "lead, own team"
    OTHER_LEAD = "lead, other team"
    ASSESSOR = "assessor"
    ARCHITECT = "architect"
    ADMINISTRATOR = "administrator"


class Kind(Enum):
    """What is asked for."""

    FRAMEWORK = "framework and offers"
    REVIEW = "framework review, findings, effect of a draft"
    TEAMS = "teams, shifts"
    COVER_NEEDS = "cover needs, places"
    PERSON = "person record"
    ABSENCES = "absences"
    ASSESSMENTS = "assessments"
    OWN_RATINGS = "own ratings"
    STANDING = "standing"
    EXPLORATION = "exploration"
    TEAM_ANSWERS = "team answers"
    COMPANY_COVER = "company cover"
    LOAD_FRAMEWORK = "load: framework tables"
    LOAD_PEOPLE = "load: tables of people"
    EXPORT_FRAMEWORK = "export: framework"
    EXPORT_TEAM = "export: of a team"
    EXPORT_ALL = "export: everything"
    EXPORT_PERSON = "export: about one person"
    HISTORY_FRAMEWORK = "history: framework"
    HISTORY_PEOPLE = "history: of people"
    LOOKS = "log of looks"
    PURPOSES = "purposes stated"
    ADMINISTRATION = "accounts, rights, settings, retention, erasure"
    OWN_ACCOUNT = "own account, sessions, tokens, shares"


@dataclass(frozen=True, slots=True)
class Right:
    """What is wanted: a verb on a kind of thing, of teams or of a person, or of neither.

    `teams` of a person are those they belong to; `competency` is that of an assessment.
    """

    kind: Kind
    verb: Verb = Verb.SEE
    teams: frozenset[str] = frozenset()
    person: str = ""
    competency: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """What a standpoint may with a kind: outright, with a purpose, and whether figures or the name alone."""

    verbs: frozenset[Verb] = frozenset()
    with_purpose: frozenset[Verb] = frozenset()
    has_figures: bool = False
    has_name: bool = False


#: Columns as `Standpoint`; of a kind the cells in that order.
_MATRIX: Final[Mapping[Kind, tuple[str, ...]]] = {
    #                        reader self   others own    other assess architect admin
    Kind.FRAMEWORK: ("r", "r", "r", "r", "r", "r", "rwx", "r"),
    Kind.REVIEW: ("-", "-", "-", "-", "-", "-", "f p:r", "-"),
    Kind.TEAMS: ("-", "r", "r", "rw", "r", "-", "rwx", "r"),
    Kind.COVER_NEEDS: ("-", "r", "-", "rwx", "-", "-", "rwx", "-"),
    Kind.PERSON: ("-", "rw", "-", "rw", "-", "n", "f p:rwx", "n"),
    Kind.ABSENCES: ("-", "r", "-", "rwx", "-", "-", "f", "-"),
    Kind.ASSESSMENTS: ("-", "r", "-", "rwx", "-", "rw", "f p:rwx", "-"),
    Kind.OWN_RATINGS: ("-", "rwx", "-", "r", "-", "-", "-", "-"),
    Kind.STANDING: ("-", "r", "-", "r", "-", "-", "f p:r", "-"),
    Kind.EXPLORATION: ("-", "r", "-", "-", "-", "-", "-", "-"),
    Kind.TEAM_ANSWERS: ("-", "-", "-", "r", "-", "-", "f p:r", "-"),
    Kind.COMPANY_COVER: ("-", "-", "-", "r", "f", "-", "f p:r", "-"),
    Kind.LOAD_FRAMEWORK: ("-", "-", "-", "-", "-", "-", "w", "-"),
    Kind.LOAD_PEOPLE: ("-", "-", "-", "-", "-", "-", "p:w", "-"),
    Kind.EXPORT_FRAMEWORK: ("r", "r", "-", "r", "r", "-", "r", "r"),
    Kind.EXPORT_TEAM: ("-", "-", "-", "r", "-", "-", "f", "-"),
    Kind.EXPORT_ALL: ("-", "-", "-", "-", "-", "-", "p:r", "-"),
    Kind.EXPORT_PERSON: ("-", "r", "-", "-", "-", "-", "p:r", "-"),
    Kind.HISTORY_FRAMEWORK: ("r", "r", "-", "r", "-", "-", "r", "r"),
    Kind.HISTORY_PEOPLE: ("-", "r", "-", "r", "-", "-", "p:r", "-"),
    Kind.LOOKS: ("-", "r", "-", "-", "-", "-", "-", "f"),
    Kind.PURPOSES: ("-", "-", "-", "-", "-", "-", "r", "r"),
    Kind.ADMINISTRATION: ("-", "-", "-", "-", "-", "-", "-", "rwx"),
    Kind.OWN_ACCOUNT: ("rwx", "rwx", "-", "rwx", "-", "-", "rwx", "rwx"),
}
#: What may be changed of a record by whom, where that is not all of it.
COLUMNS: Final[Mapping[tuple[Kind, Standpoint], frozenset[str]]] = {
    (Kind.PERSON, Standpoint.SELF): frozenset({"study_hours_per_week"}),
    (Kind.PERSON, Standpoint.OWN_LEAD): frozenset({"shift", "study_hours_per_week"}),
}
#: What can be asked for without naming a team or a person.
OF_EVERYONE: Final = frozenset(
    {Kind.FRAMEWORK, Kind.REVIEW, Kind.TEAMS, Kind.COMPANY_COVER, Kind.LOAD_FRAMEWORK, Kind.EXPORT_FRAMEWORK}
    | {Kind.EXPORT_ALL, Kind.HISTORY_FRAMEWORK, Kind.PURPOSES, Kind.ADMINISTRATION, Kind.OWN_ACCOUNT}
)
#: Kinds whose answers are told whole to who sees figures: their people go as of any answer, and no figure is of few.
TOLD_IN_FIGURES: Final = frozenset({Kind.REVIEW})
_FIGURES: Final = "f"
_NAME: Final = "n"


@cache
def get_cell(kind: Kind, standpoint: Standpoint) -> Cell:
    """Return what a standpoint may with a kind of thing."""
    text = _MATRIX[kind][tuple(Standpoint).index(standpoint)]
    outright, _, purpose = text.replace("-", "").partition("p:")
    return Cell(
        frozenset(verb for verb in Verb if verb.value in outright),
        frozenset(verb for verb in Verb if verb.value in purpose),
        _FIGURES in outright,
        _NAME in outright,
    )


def print_matrix() -> Iterator[str]:
    """Yield the table as lines of text."""
    width = max(len(kind.value) for kind in Kind)
    columns = [max(len(standpoint.value), 7) for standpoint in Standpoint]
    heads = (standpoint.value.ljust(size) for standpoint, size in zip(Standpoint, columns, strict=True))
    yield f"{''.ljust(width)}  {'  '.join(heads)}".rstrip()
    for kind, cells in _MATRIX.items():
        row = (cell.ljust(size) for cell, size in zip(cells, columns, strict=True))
        yield f"{kind.value.ljust(width)}  {'  '.join(row)}".rstrip()
