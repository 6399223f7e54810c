"""Names in the words of a call: an id is taken as it is, a name where it means one record. Imports the search."""

from __future__ import annotations

from collections.abc import Iterable

from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.search import Match, find_near, find_records
from ontology.snapshot.snapshot import Snapshot

_MOST_SHOWN = 10


def get_id(snapshot: Snapshot, table: str, text: str) -> str:
    """Return the id that a text means in a table: the id itself, else the one record with this name.

    A whole name goes before names that only begin so.

    Raises
    ------
    InputError
        Several records could be meant; they are listed.
    UnknownIdError
        None is; what is spelt nearly so is told.
    """
    if text in getattr(snapshot, table):
        return text
    matches = find_records(snapshot, text, (table,))
    whole = [match for match in matches if match.fit == "whole"]
    meant = whole or list(matches)
    if len(meant) == 1:
        return meant[0].id
    if meant:
        shown = "; ".join(f"{match.id} ({_tell(match)})" for match in meant[:_MOST_SHOWN])
        more = f"; and {len(meant) - _MOST_SHOWN} more" if len(meant) > _MOST_SHOWN else ""
        raise InputError(
            f"{text!r} could mean several of {table}: {shown}{more}. Give the id.",
            table=table,
            candidates=[match.id for match in meant],
        )
    near = find_near(snapshot, text, (table,))
    raise UnknownIdError(table, text, near=[(match.id, match.label) for match in near])


def _tell(match: Match) -> str:
    return match.label if match.name in (match.label, match.id) else f"{match.label}, also {match.name}"


def get_ids(snapshot: Snapshot, table: str, texts: Iterable[str]) -> frozenset[str]:
    """Return the ids that several texts mean; errors as `get_id`."""
    return frozenset(get_id(snapshot, table, text) for text in texts)
