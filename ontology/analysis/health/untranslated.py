"""What has no text in a language that is in use: labels, definitions and descriptions. Pure.

Readers of that language fall back to the main one there. What is not said in the main language is not missing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.model.columns import Key, Table
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.snapshot.languages import find_texts, get_main_language, list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RULES", "Untranslated", "count_texts", "find_untranslated"]

_NAME: Final = "translation missing"
#: What readers need; other names and the family of a role are no loss by themselves.
_NEEDED: Final = ("label", "definition", "description")
#: Names of crews and posts: they are no part of what the work asks, and not everyone may see them.
_APART: Final = ("teams", "shifts", "places")


@dataclass(frozen=True, slots=True)
class Untranslated:
    """A record in use with the columns that it says in the main language alone."""

    table: str
    id: str
    label: str
    columns: tuple[str, ...]


def find_untranslated(snapshot: Snapshot, language: str) -> list[Untranslated]:
    """Return what is missing in a language, in the order of tables and keys; nothing in the main one. O(records)."""
    if language == get_main_language(snapshot):
        return []
    return [
        Untranslated(table.name, get_key_text(key), _name(table, record), tuple(missing))
        for table, key, record in _iterate_records(snapshot)
        if (missing := list(_list_missing(snapshot, table, key, record, language)))
    ]


def count_texts(snapshot: Snapshot) -> int:
    """Return how many labels, definitions and descriptions there are in the main language. O(records)."""
    return sum(1 for table, _, record in _iterate_records(snapshot) for _ in _list_said(table, record))


def _iterate_records(snapshot: Snapshot) -> Iterator[tuple[Table, Key, Any]]:
    for name in (one for one in TRANSLATED if one not in _APART):
        for key, record in snapshot.get_table(name).items():
            yield TABLES[name], key, record


def _list_said(table: Table, record: Any) -> Iterator[str]:
    for column in TRANSLATED[table.name]:
        if column.name in _NEEDED and getattr(record, column.attribute).strip():
            yield column.name


def _list_missing(snapshot: Snapshot, table: Table, key: Key, record: Any, language: str) -> Iterator[str]:
    for column in _list_said(table, record):
        if not find_texts(snapshot, table.name, get_key_text(key), column, language):
            yield column


def _name(table: Table, record: Any) -> str:
    if table.name == "scales":
        return f"{record.scale} {record.rank}, {record.label}"
    return str(getattr(record, "label", "") or getattr(record, "title", "") or record.id)


def _find(looked: Looked) -> Iterator[Fault]:
    main = get_main_language(looked.snapshot)
    for language in list_languages(looked.snapshot):
        for one in find_untranslated(looked.snapshot, language):
            what = " and ".join(filter(None, (", ".join(one.columns[:-1]), one.columns[-1])))
            reason = f"It has no {what} in the language {language}: who reads it is shown the text in {main}."
            yield Fault(_NAME, one.table, one.id, one.label, reason, asks=(one.columns[0], language))


RULES: Final = (HealthRule(_NAME, _find),)
