"""A key as a text, as addresses and translations name a record: its parts joined by a tilde; and back."""

from __future__ import annotations

import datetime as dt
from typing import Any

from ontology.model.columns import Key, Table

__all__ = ["get_key_text", "read_key"]


def get_key_text(key: Key) -> str:
    """Return the parts of a key joined by ~."""
    return "~".join(map(str, key))


def read_key(table: Table, item_id: str) -> Key | None:
    """Return the key that a text (percent-decoded) is, or None where it can be none of a table.

    Only an assessor or an IRI may hold ``~`` itself; all parts beside it cannot, so the id stays unambiguous.
    """
    kinds = [next(c.kind for c in table.columns if c.attribute == a) for a in table.key]
    pieces = item_id.split("~")
    surplus = len(pieces) - len(kinds)
    if surplus < 0:
        return None
    if surplus:
        at = next((n for n, kind in enumerate(kinds) if kind in ("text", "iri")), None)
        if at is None:
            return None
        pieces[at : at + surplus + 1] = ["~".join(pieces[at : at + surplus + 1])]
    try:
        parts = [_parse_part(kind, piece) for kind, piece in zip(kinds, pieces, strict=True)]
    except ValueError:
        return None
    return tuple(parts)


def _parse_part(kind: str, piece: str) -> Any:
    if kind == "integer":
        number = int(piece) if piece.isascii() and len(piece) < 12 else -1
        if str(number) != piece:
            raise ValueError(piece)
        return number
    if kind == "date":
        day = dt.date.fromisoformat(piece)
        if day.isoformat() != piece:
            raise ValueError(piece)
        return day
    return piece
