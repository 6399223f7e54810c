"""What is to mend: one fault of a record, or of a pair of them; what is looked at; what a rule is."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from ontology.analysis.health.word_lists import WordLists
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "FEWEST_REQUIREMENTS",
    "LABELS_ALIKE",
    "LEAST_PEOPLE",
    "LEVELS_ALIKE",
    "MOST_REQUIREMENTS",
    "Fault",
    "HealthRule",
    "Limits",
    "Looked",
    "join_labels",
]

# common practice, no source
LABELS_ALIKE: Final = 92
LEVELS_ALIKE: Final = 95
FEWEST_REQUIREMENTS: Final = 3
MOST_REQUIREMENTS: Final = 25
LEAST_PEOPLE: Final = 5
_NAMED: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """From where on something is told.

    labels_alike, levels_alike: how alike two texts are, 0 to 100. least_people: the fewest people of whom a figure is
    told, and the fewest holders of a role whose levels tell something of a requirement.
    """

    labels_alike: int = LABELS_ALIKE
    levels_alike: int = LEVELS_ALIKE
    fewest_requirements: int = FEWEST_REQUIREMENTS
    most_requirements: int = MOST_REQUIREMENTS
    least_people: int = LEAST_PEOPLE


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing to mend: of which rule, how grave, of which record, and why in a sentence.

    `id` holds the parts of the record's key joined by ~; None where the sentence tells of several
    records that are not named. `other` is the second record of a pair. `bound_by`: the table of what
    speaks for it, which is looked at before anything is given up; "" where nothing does. `asks`: the
    column and the language of a text that is missing.
    """

    rule: str
    table: str
    id: str | None
    label: str
    reason: str
    other: str | None = None
    severity: Literal["error", "remark"] = "remark"
    bound_by: Literal["", "obligations", "competencies"] = ""
    asks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Looked:
    """What the rules look at: a state, a day, the limits, and word lists by language."""

    snapshot: Snapshot
    on: date
    limits: Limits
    words: Mapping[str, WordLists]


@dataclass(frozen=True, slots=True)
class HealthRule:
    """A rule: its name, and what finds its faults."""

    name: str
    find: Callable[[Looked], Iterator[Fault]]


def join_labels(labels: list[str]) -> str:
    """Return some labels as they are read, the first three by name.

    Examples
    --------
    >>> join_labels(["A"]), join_labels(["A", "B"]), join_labels(["A", "B", "C", "D", "E"])
    ('A', 'A and B', 'A, B, C and 2 more')
    """
    named, left = labels[:_NAMED], len(labels) - _NAMED
    if left > 0:
        return f"{', '.join(named)} and {left} more"
    return " and ".join(filter(None, (", ".join(named[:-1]), named[-1])))
