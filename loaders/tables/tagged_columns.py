"""Columns of texts in other languages in a record's own sheet: `label@de`, `definition@pt-br`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ontology.model.columns import Column, Table
from ontology.model.keeping_records import Translation
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.several import join_values
from ontology.model.translated import TRANSLATED, find_translated_column, get_key_text
from ontology.rdf.literals import is_language_tag
from ontology.snapshot.languages import list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["TaggedColumn", "list_tagged_columns", "parse_tagged_column"]


@dataclass(frozen=True, slots=True)
class TaggedColumn:
    """A column of a table in a language other than the main one; `column` is called so in files, and may be empty."""

    column: Column
    name: str
    language: str

    def make(self, table: Table, record: Any, value: Any) -> Translation:
        """Return what a cell says of a record."""
        joined = join_values(value) if isinstance(value, tuple) else value
        return Translation(table.name, get_key_text(table.get_key(record)), self.name, self.language, joined)

    def format(self, snapshot: Snapshot, table: Table, record: Any) -> str:
        """Return the text of the cell of a record."""
        key = (table.name, get_key_text(table.get_key(record)), self.name, self.language)
        row = snapshot.get_table(TRANSLATIONS.name).get(key)
        return row.joined if row is not None else ""


def parse_tagged_column(table: Table, text: str) -> TaggedColumn | None:
    """Return what the name of a column in a file means, None where it is no text in a language."""
    name, _, tag = text.partition("@")
    column = find_translated_column(table.name, name)
    return _make(column, tag.lower()) if column is not None and is_language_tag(tag) else None


def list_tagged_columns(snapshot: Snapshot, table: Table) -> Sequence[TaggedColumn]:
    """Return the columns that a table has in the languages in use, by language; none where it has no records."""
    if not snapshot.get_all(table.name):
        return ()
    return tuple(_iterate(snapshot, table))


def _iterate(snapshot: Snapshot, table: Table) -> Iterator[TaggedColumn]:
    for language in list_languages(snapshot):
        for column in TRANSLATED.get(table.name, ()):
            yield _make(column, language)


def _make(column: Column, language: str) -> TaggedColumn:
    about = f"{column.about} In the language {language}."
    default: Any = () if column.kind == "texts" else ""
    return TaggedColumn(
        replace(column, name=f"{column.name}@{language}", about=about, default=default), column.name, language
    )
