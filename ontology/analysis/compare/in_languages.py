"""Texts of two states in other languages: what differs."""

from __future__ import annotations

from ontology.model.changes import ColumnChange
from ontology.model.columns import Key
from ontology.model.keeping_records import SEVERAL, Translation
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.snapshot.snapshot import Snapshot

__all__ = ["compare_texts"]


def compare_texts(
    before: Snapshot | None, after: Snapshot, table: str, key: Key, new_key: Key
) -> tuple[ColumnChange, ...]:
    """Return how the texts of a record in other languages differ, by column and language; all where it is new (None).

    `key` is that of the record in the first state, `new_key` that in the second.
    """
    old, new = _read(before, table, key) if before is not None else {}, _read(after, table, new_key)
    order = [column.name for column in TRANSLATED.get(table, ())]
    changes = []
    for column, language in sorted({*old, *new}, key=lambda one: (order.index(one[0]), one[1])):
        was, now = old.get((column, language)), new.get((column, language))
        if was is not None and now is not None and was.joined == now.joined:
            continue
        name = f"{column}@{language}"
        if column in SEVERAL:
            gone, come = set(was.texts if was else ()), set(now.texts if now else ())
            changes.append(ColumnChange(name, tuple(sorted(gone - come)), tuple(sorted(come - gone)), True, None, True))
        else:
            changes.append(
                ColumnChange(name, was.joined if was else None, now.joined if now else None, False, None, True)
            )
    return tuple(changes)


def _read(state: Snapshot, table: str, key: Key) -> dict[tuple[str, str], Translation]:
    if table not in TRANSLATED or not state.get_table("translations"):
        return {}
    return {(row.column, row.language): row for row in state.get_translations((table, get_key_text(key)))}
