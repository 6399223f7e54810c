"""In which languages a state says its texts: the main one, and those of its translations."""

from __future__ import annotations

from typing import Any

from ontology.model.framework_itself import MAIN_LANGUAGE, THIS
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_texts", "get_main_language", "get_texts", "list_common_languages", "list_languages"]


def get_main_language(snapshot: Snapshot) -> str:
    """Return the language of the columns' own texts, as a tag in lower case."""
    row = snapshot.framework.get(THIS)
    return (row.language if row is not None else MAIN_LANGUAGE).lower()


def list_languages(snapshot: Snapshot) -> tuple[str, ...]:
    """Return the other languages in use, by tag: one text in it, and a language is. O(translations), once."""
    rows = snapshot.get_table("translations")
    return snapshot.keep("languages", lambda: tuple(sorted({row.language for row in rows.values()}))) if rows else ()


def find_texts(snapshot: Snapshot, table: str, record_id: str, column: str, language: str) -> tuple[str, ...]:
    """Return what a column of a record with one id says in another language than the main one, nothing as ()."""
    row = snapshot.get_table("translations").get((table, record_id, column, language))
    return row.texts if row is not None else ()


def get_texts(snapshot: Snapshot, table: str, record: Any, column: str, language: str) -> tuple[str, ...]:
    """Return what a column of a record with one id says in a language, the main one or another, nothing as ()."""
    if language != get_main_language(snapshot):
        return find_texts(snapshot, table, record.id, column, language)
    value = getattr(record, column, ())
    return tuple(filter(None, (value,))) if isinstance(value, str) else tuple(value)


def list_common_languages(one: Snapshot, other: Snapshot) -> tuple[str, ...]:
    """Return the languages that two states have, the one that is the main language of both left out, by tag."""
    mains = get_main_language(one), get_main_language(other)
    common = {mains[0], *list_languages(one)} & {mains[1], *list_languages(other)}
    return tuple(sorted(common - ({mains[0]} & {mains[1]})))
