"""Records to choose from by their names."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, cast

from api.desk.names import Names
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOST_CHOICES", "list_choices"]

#: More records than these are typed, not chosen from a list.
MOST_CHOICES: Final = 200


def list_choices(snapshot: Snapshot, table: str) -> tuple[tuple[str, str], ...]:
    """Return id and name of every record of a table, by name; nothing where there are too many to choose from."""
    records = cast(Mapping[str, Any], getattr(snapshot, table))
    if len(records) > MOST_CHOICES:
        return ()
    names = Names(snapshot)
    pairs = ((one, names.get(table, one)) for one in records)
    return tuple(sorted(pairs, key=lambda pair: (pair[1].casefold(), pair[0])))
