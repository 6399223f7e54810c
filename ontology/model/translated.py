"""What can be said in several languages: which columns of which tables, and which node a translation stands on."""

from __future__ import annotations

from typing import Final

from ontology.model.columns import Column, Key
from ontology.model.keeping_tables import TRANSLATED_COLUMNS
from ontology.model.key_text import get_key_text, read_key
from ontology.model.tables import NODE_TABLES, PERSONAL_TABLES, TABLES
from ontology.rdf import namespaces as ns

__all__ = ["TRANSLATED", "find_node", "find_translated_column", "get_key_text", "parse_key_text"]

#: Table -> its columns that can be said in several languages; tables about people are not among them.
TRANSLATED: Final[dict[str, tuple[Column, ...]]] = {
    name: columns
    for name, table in NODE_TABLES.items()
    if name not in PERSONAL_TABLES
    and (columns := tuple(column for column in table.columns if column.name in TRANSLATED_COLUMNS))
}


def find_translated_column(table_name: str, column: str) -> Column | None:
    """Return the column of a table that can be said in several languages, or None where there is none."""
    return next((one for one in TRANSLATED.get(table_name, ()) if one.name == column), None)


def parse_key_text(table_name: str, text: str) -> Key | None:
    """Return the key that a text of joined parts is, or None where it is none of the table."""
    return read_key(TABLES[table_name], text)


def find_node(table_name: str, record_id: str) -> tuple[str, str] | None:
    """Return graph and subject (N-Triples text) of what a translation speaks of; None where that can be no record."""
    if table_name not in TRANSLATED or parse_key_text(table_name, record_id) is None:
        return None
    table = TABLES[table_name]
    return table.graph, ns.iri_term(ns.record_iri(table.segment, *record_id.split("~")))
