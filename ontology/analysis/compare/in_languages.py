"""Labels and texts of two states in other languages: what both have, and what differs."""

from __future__ import annotations

from ontology.analysis.likeness.labels import normalise
from ontology.model.changes import ColumnChange
from ontology.model.columns import Key
from ontology.model.keeping_records import SEVERAL, Translation
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.snapshot.languages import find_texts, get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["compare_texts", "get_label", "list_common_languages"]


def list_common_languages(before: Snapshot, after: Snapshot) -> tuple[str, ...]:
    """Return the languages that both states have, the one that is the main language of both left out."""
    mains = get_main_language(before), get_main_language(after)
    common = {mains[0], *list_languages(before)} & {mains[1], *list_languages(after)}
    return tuple(sorted(common - ({mains[0]} & {mains[1]})))


def get_label(state: Snapshot, table: str, record_id: str, language: str) -> str:
    """Return the label of a record in a language as it is compared; "" where there is none."""
    if language == get_main_language(state):
        return normalise(state.get_table(table)[record_id,].label)
    return "".join(map(normalise, find_texts(state, table, record_id, "label", language)))


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
