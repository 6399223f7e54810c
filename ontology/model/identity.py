"""Whose id a text is, beside the type of a field: so that an answer can be told to who may not see everyone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

__all__ = ["AnyId", "IdOf", "PersonId"]


@dataclass(frozen=True, slots=True)
class IdOf:
    """A mark: the text is the id of a record of this table; "": of the one that another field names."""

    table: str


#: The id of a person. A field that holds one, several, or one as the key of a mapping has it in its type.
PersonId = Annotated[str, IdOf("people")]
#: The id of a record of a table that a field beside it names: it may be a person's.
AnyId = Annotated[str, IdOf("")]
