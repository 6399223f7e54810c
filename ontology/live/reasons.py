"""Why a change was made, as the history of everything tells it: without a word about a person.

The history stays when a person is erased. So of a change of records about people it says how many of which kind were
made, replaced or removed; what was said of it stands in the part of the history that goes with the person.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from ontology.model.columns import Key
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Reason", "tell_reason"]

_VERBS: Final = ("made", "replaced", "removed")
#: What could be an id, and the pieces of it: of "p008.csv" the person too.
_WORDS: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_PIECES: Final = re.compile(r"[._-]+")


@dataclass(frozen=True, slots=True)
class Reason:
    """Why, for everyone; and what is kept with the personal history, "" where that is nothing more."""

    why: str
    personal: str = ""


#: Records that are put, or keys that are removed, each with its table's name.
Puts = Sequence[tuple[str, Any]]
Removals = Sequence[tuple[str, Key]]


def tell_reason(why: str, put: Puts, remove: Removals, present: Snapshot, *, is_load: bool) -> Reason:
    """Return why a change was made, in two parts.

    Parameters
    ----------
    why : str
        What was said of it. A load names its file and is kept as it is, unless a person's id stands in it.
    put, remove : sequences of (table, record) and of (table, key)
    present : Snapshot
        Before the change.

    Notes
    -----
    O(records of the change).
    """
    tables = {name for name, _ in (*put, *remove)}
    new_people = {record.id for name, record in put if name == "people"}
    if (is_load or tables.isdisjoint(PERSONAL_TABLES)) and not _names_someone(why, present.people, new_people):
        return Reason(why)
    return Reason(", ".join(_iterate_counts(put, remove, present)) or "changed nothing", why)


def _names_someone(why: str, *people: Collection[str]) -> bool:
    words = _WORDS.findall(why)
    pieces = {*words, *(piece for word in words for piece in _PIECES.split(word))}
    return any(piece in ids for ids in people for piece in pieces)


def _iterate_counts(put: Puts, remove: Removals, present: Snapshot) -> Iterator[str]:
    counts: Counter[tuple[str, str]] = Counter()
    for name, record in put:
        is_new = TABLES[name].get_key(record) not in present.get_all(name)
        counts["made" if is_new else "replaced", name] += 1
    for name, _ in remove:
        counts["removed", name] += 1
    for verb in _VERBS:
        for name, table in TABLES.items():
            if number := counts[verb, name]:
                yield f"{verb} {table.count(number)}"
