"""The framework itself, as one row: what it is called, whose it is, in which language, under which licence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ontology.model.columns import ID_COLUMN, Column, Table, make_own
from ontology.rdf import namespaces as ns

#: The id of its one row.
THIS: Final = "this"
#: The language of the columns' own texts, where no row says another.
MAIN_LANGUAGE: Final = "en"


@dataclass(frozen=True, slots=True)
class Framework:
    """What is said of the framework as a whole."""

    id: str
    title: str
    description: str
    creator: str
    publisher: str
    language: str
    licence: str
    homepage: str


FRAMEWORK: Final = Table(
    "framework",
    Framework,
    "framework",
    ns.NW + "Framework",
    ns.GRAPH_FRAMEWORK,
    (
        ID_COLUMN,
        Column("title", "text", ns.DCTERMS + "title", "What the framework is called."),
        Column("description", "text", ns.DCTERMS + "description", "What it is for.", "", is_long=True),
        make_own("creator", "text", "Who wrote it: an office, no person's name is needed.", default=""),
        make_own("publisher", "text", "Who gives it out.", default=""),
        make_own(
            "language", "text", "The language of its texts, as a tag (RFC 5646): en, de, pt-br.", default=MAIN_LANGUAGE
        ),
        make_own("licence", "text", "Under which terms others may use it: an address, or words.", default=""),
        make_own("homepage", "text", "Where one reads about it: an address.", default=""),
    ),
    ("id",),
)
