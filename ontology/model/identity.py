"""What a field of an answer is beside its type: whose id a text is, how many people a number counts.

An answer can so be told to who may not see everyone, and figures about few people to nobody who may not see them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

__all__ = [
    "AnyId",
    "CountOf",
    "IdOf",
    "PeopleCount",
    "PeopleOfPart",
    "PeopleShort",
    "PeopleTogether",
    "PersonId",
    "TellsOf",
]


@dataclass(frozen=True, slots=True)
class IdOf:
    """A mark: the text is the id of a record of this table; "": of the one that another field names."""

    table: str


@dataclass(frozen=True, slots=True)
class CountOf:
    """A mark: the number counts people, or pairs or triples of them.

    `of` names the field beside it that counts all of whom these are some, `plus` the field that together with it tells
    how many there are. Rows of one list count parts of a whole (`parts`), or the same on days in a row (`days`), or
    sums of the parts above (`sums`).
    """

    what: Literal["people", "pairs", "triples"] = "people"
    of: str = ""
    plus: str = ""
    rows: Literal["", "parts", "sums", "together"] = ""


@dataclass(frozen=True, slots=True)
class TellsOf:
    """A mark: from it can be worked out how many people the field named counts; "": how many there are, at any rate."""

    field: str = ""


#: The id of a person. A field that holds one, several, or one as the key of a mapping has it in its type.
PersonId = Annotated[str, IdOf("people")]
#: The id of a record of a table that a field beside it names: it may be a person's.
AnyId = Annotated[str, IdOf("")]
#: How many people.
PeopleCount = Annotated[int, CountOf()]
#: How many people; with the rows beside it, all there are.
PeopleOfPart = Annotated[int, CountOf(rows="parts")]
#: How many people; told with the rows beside it, or not at all.
PeopleTogether = Annotated[int, CountOf(rows="together")]
#: How many people are missing from what is asked: with that it tells how many there are.
PeopleShort = Annotated[int, TellsOf()]
