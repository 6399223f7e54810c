"""Rules on texts in other languages: of what is there, in a column that has them, not in the main language."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.keeping_records import Translation
from ontology.model.keeping_tables import TRANSLATED_COLUMNS
from ontology.model.translated import TRANSLATED, find_translated_column, parse_key_text
from ontology.rdf.literals import is_language_tag
from ontology.snapshot.languages import get_main_language
from ontology.snapshot.snapshot import Snapshot


def _check_translation(snapshot: Snapshot, record: Translation) -> Iterator[Problem]:
    """Yield the first thing that is wrong: one error for each row."""
    about = describe("translations", record)
    if record.table not in TRANSLATED or record.column not in TRANSLATED_COLUMNS:
        return  # that is said of the columns themselves
    key = parse_key_text(record.table, record.id)
    if key is None or key not in snapshot.get_all(record.table):
        yield Problem("id", record.id, f"{about} names {record.id!r}, but {record.table} has no row with this id")
    elif find_translated_column(record.table, record.column) is None:
        names = ", ".join(column.name for column in TRANSLATED[record.table])
        yield Problem("column", record.column, f"{about}: column must be one of those with translations here: {names}")
    elif not is_language_tag(record.language):
        reason = f"{about}: {record.language!r} is no tag of a language (RFC 5646), as de and pt-br are"
        yield Problem("language", record.language, reason)
    elif record.language == get_main_language(snapshot):
        reason = (
            f"{about}: {record.language} is the main language of the framework; "
            f"write the text into the column {record.column} of the record itself"
        )
        yield Problem("language", record.language, reason)
    elif not record.joined.strip():
        yield Problem("text", "", f"{about} has no text; write one, or leave the row out")


def _check_names(snapshot: Snapshot, record: Translation) -> Iterator[Problem]:
    if record.column != "alt_labels":
        return
    key = (record.table, record.id, "label", record.language)
    label = snapshot.get_table("translations").get(key)
    if label is not None and label.joined in record.texts:
        reason = (
            f"{describe('translations', record)}: the label in {record.language} is among the alt_labels in "
            f"{record.language}; the two are disjoint (SKOS S13)"
        )
        yield Problem("text", label.joined, reason)


RULES: Final = (
    Rule("translations of what is there", "error", "translations", _check_translation),
    Rule("names in a language differ", "error", "translations", _check_names),
)
