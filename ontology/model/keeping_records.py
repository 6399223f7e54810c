"""Records of how the framework is kept: what took the place of what was retired, texts in other languages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ontology.model.several import join_values, split_values

#: The columns of which a translation holds several values.
SEVERAL: Final = ("alt_labels",)


@dataclass(frozen=True, slots=True)
class Replacement:
    """What took the place of a competency, role or course, and how recorded levels of a competency are read for it.

    One old and several new: it was split; several old and one new: they were merged.
    """

    table: str
    old: str
    new: str
    carry: str
    reason: str


@dataclass(frozen=True, slots=True)
class LevelMap:
    """Which rank of one scale a rank of another is read as; 0 = below its first.

    From a scale to itself: how its ranks became others. That is said once, with the change, and not kept.
    """

    from_scale: str
    from_rank: int
    to_scale: str
    to_rank: int


@dataclass(frozen=True, slots=True)
class Translation:
    """The text of one column of a record in another language than the main one.

    Attributes
    ----------
    table, id, column : of what; the id is the key of the record, its parts joined by ~
    language : its tag (RFC 5646), in lower case: tags are compared so
    joined : the text; of a column that holds several values all of them, joined by |
    """

    table: str
    id: str
    column: str
    language: str
    joined: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "language", self.language.lower())
        if self.column in SEVERAL:
            # a graph keeps no order: what says the same must be equal
            object.__setattr__(self, "joined", join_values(split_values(self.joined)))

    @property
    def text(self) -> str | tuple[str, ...]:
        """The value of the column: a text, or several."""
        return self.texts if self.column in SEVERAL else self.joined

    @property
    def texts(self) -> tuple[str, ...]:
        """The texts, one or several."""
        return tuple(split_values(self.joined)) if self.column in SEVERAL else (self.joined,)
