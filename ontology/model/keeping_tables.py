"""The tables of how the framework is kept: replacements, maps between scales, translations."""

from __future__ import annotations

from typing import Final

from ontology.model import keeping_records as records
from ontology.model.columns import Column, Table, make_level, make_own, make_ref
from ontology.model.retirable import CARRIES, RETIRABLE
from ontology.rdf import namespaces as ns

#: The columns that can be said in several languages; what is called name is that of a person, and stays as it is.
TRANSLATED_COLUMNS: Final = ("label", "definition", "description", "alt_labels", "family")
#: The tables that have such a column, and are not about people (`ontology.model.translated` holds them to that).
TRANSLATED_TABLES: Final = (
    "framework",
    "scales",
    "competencies",
    "roles",
    "courses",
    "teams",
    "shifts",
    "places",
    "sites",
    "obligations",
    "orientation_items",
)

REPLACEMENTS: Final = Table(
    "replacements",
    records.Replacement,
    "replacement",
    ns.NW + "Replacement",
    ns.GRAPH_FRAMEWORK,
    (
        make_own("table", "choice", "What was replaced.", choices=RETIRABLE),
        Column("old", "text", ns.NW + "old", "Id of what went."),
        Column("new", "text", ns.NW + "new", "Id of what took its place."),
        make_own(
            "carry",
            "choice",
            "How levels recorded of the old competency are read for the new one: as held, as declared, not at all.",
            default="same",
            choices=CARRIES,
        ),
        # a property called reason is refused wherever it stands: that of an absence is nobody's business
        Column("reason", "text", ns.SKOS + "changeNote", "Why it took its place.", "", is_long=True),
    ),
    ("table", "old", "new"),
)

LEVEL_MAPS: Final = Table(
    "level_maps",
    records.LevelMap,
    "level-map",
    ns.NW + "LevelMap",
    ns.GRAPH_FRAMEWORK,
    (
        make_ref("from_scale", "scales", "The scale that is read.", ns.NW + "fromScale"),
        make_level("from_rank", "A rank of it."),
        make_ref("to_scale", "scales", "The scale it is read on.", ns.NW + "toScale"),
        make_level("to_rank", "The rank there that it counts as; 0 = below the first.", minimum=0),
    ),
    ("from_scale", "to_scale", "from_rank"),
)

#: No record of it is a node of its own, and no column a property: it is a literal with a language, of the property of
#: the column it names, on the node of the record it speaks of, in the graph of that.
TRANSLATIONS: Final = Table(
    "translations",
    records.Translation,
    "translation",
    ns.RDF + "langString",
    ns.GRAPH_FRAMEWORK,
    (
        Column("table", "choice", "", "Of what the text is.", choices=TRANSLATED_TABLES),
        Column("id", "text", "", "The id of the record; of a level its scale, ~ and its rank."),
        Column("column", "choice", "", "Which column is said in another language.", choices=TRANSLATED_COLUMNS),
        Column("language", "text", "", "The language, as a tag (RFC 5646): de, pt-br."),
        Column("text", "text", "", "The text; several other names with | between them.", field="joined", is_long=True),
    ),
    ("table", "id", "column", "language"),
)
