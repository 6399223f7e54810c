"""Worked queries: each answers a question that somebody who keeps a framework asks, on whatever framework there is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from textwrap import dedent
from typing import Final

from ontology.rdf import namespaces as ns

__all__ = ["EXAMPLES", "Example"]

_PREFIX: Final = re.compile(r"\b([a-z]+):")


@dataclass(frozen=True, slots=True)
class Example:
    """A query: its id in addresses, what it asks, what it shows of the language, and its text with its prefixes."""

    id: str
    asks: str
    shows: str
    text: str


def _make(example_id: str, asks: str, shows: str, body: str) -> Example:
    text = dedent(body).strip().replace("<@", f"<{ns.GRAPH}")
    return Example(example_id, asks, shows, "\n".join((*_list_prefixes(text), text)) + "\n")


def _list_prefixes(text: str) -> Iterator[str]:
    used = set(_PREFIX.findall(text))
    return (f"PREFIX {name}: <{iri}>" for name, iri in ns.PREFIXES.items() if name in used)


EXAMPLES: Final = (
    _make(
        "how-much",
        "How much is there of each kind?",
        "Counting, a named graph.",
        """
        SELECT ?kind (COUNT(?record) AS ?records) WHERE {
          VALUES ?graph { <@framework> <@offers> }
          GRAPH ?graph { ?record a ?kind }
          FILTER(STRSTARTS(STR(?kind), STR(nw:)))
        }
        GROUP BY ?kind ORDER BY DESC(?records) ?kind
        """,
    ),
    _make(
        "asked-most",
        "Which competencies do most roles ask?",
        "Counting what points at something; texts in the main language have no tag.",
        """
        SELECT ?competency ?label (COUNT(DISTINCT ?role) AS ?roles) WHERE {
          ?requirement a nw:Requirement ; nw:role ?role ; nw:competency ?competency .
          ?competency skos:prefLabel ?label . FILTER(LANG(?label) = "")
        }
        GROUP BY ?competency ?label ORDER BY DESC(?roles) ?label LIMIT 20
        """,
    ),
    _make(
        "what-a-role-asks",
        "What does each role ask, at which level?",
        "Joining; a level is a number on the scale of its competency.",
        """
        SELECT ?role ?asks ?level ?called WHERE {
          ?requirement a nw:Requirement ; nw:role/skos:prefLabel ?role ; nw:competency ?competency ; nw:level ?level .
          ?competency skos:prefLabel ?asks ; nw:scale ?scale .
          ?step a nw:Level ; nw:scale ?scale ; nw:rank ?level ; skos:prefLabel ?called .
          FILTER(LANG(?role) = "" && LANG(?asks) = "" && LANG(?called) = "")
        }
        ORDER BY ?role ?asks LIMIT 200
        """,
    ),
    _make(
        "levels",
        "Which levels has each scale, in their order?",
        "Ordering.",
        """
        SELECT ?scale ?rank ?level ?seen WHERE {
          ?step a nw:Level ; nw:scale ?scale ; nw:rank ?rank ; skos:prefLabel ?level . FILTER(LANG(?level) = "")
          OPTIONAL { ?step skos:definition ?seen FILTER(LANG(?seen) = "") }
        }
        ORDER BY ?scale ?rank
        """,
    ),
    _make(
        "below",
        "What lies below each top competency, however deep?",
        "A path of any length.",
        """
        SELECT ?top ?below WHERE {
          ?one a nw:Competency ; skos:prefLabel ?top .
          FILTER NOT EXISTS { ?one skos:broader ?wider }
          ?narrower skos:broader+ ?one ; skos:prefLabel ?below .
          FILTER(LANG(?top) = "" && LANG(?below) = "")
        }
        ORDER BY ?top ?below LIMIT 200
        """,
    ),
    _make(
        "untaught",
        "Which competencies does a role ask and no course teach?",
        "What is not there.",
        """
        SELECT DISTINCT ?competency ?label WHERE {
          ?requirement a nw:Requirement ; nw:competency ?competency .
          ?competency skos:prefLabel ?label . FILTER(LANG(?label) = "")
          FILTER NOT EXISTS { ?outcome a nw:Outcome ; nw:competency ?competency }
        }
        ORDER BY ?label
        """,
    ),
    _make(
        "too-low",
        "Where does a role ask more than any course reaches?",
        "The greatest of a group, compared.",
        """
        SELECT ?role ?asks ?asked ?reached WHERE {
          { SELECT ?competency (MAX(?level) AS ?reached) WHERE {
              ?outcome a nw:Outcome ; nw:competency ?competency ; nw:level ?level } GROUP BY ?competency }
          ?requirement a nw:Requirement ; nw:role/skos:prefLabel ?role ; nw:competency ?competency ; nw:level ?asked .
          ?competency skos:prefLabel ?asks .
          FILTER(?asked > ?reached && LANG(?role) = "" && LANG(?asks) = "")
        }
        ORDER BY ?role ?asks
        """,
    ),
    _make(
        "courses-of",
        "What does each course teach, and in how many hours?",
        "Texts of a group put together.",
        """
        SELECT ?course ?hours (GROUP_CONCAT(?taught; separator=", ") AS ?teaches) WHERE {
          ?one a nw:Course ; skos:prefLabel ?course ; nw:hours ?hours .
          ?outcome a nw:Outcome ; nw:course ?one ; nw:competency/skos:prefLabel ?taught .
          FILTER(LANG(?course) = "" && LANG(?taught) = "")
        }
        GROUP BY ?course ?hours ORDER BY ?course
        """,
    ),
    _make(
        "expire",
        "What has to be renewed, and after how many months?",
        "A filter on a number.",
        """
        SELECT ?competency ?label ?months WHERE {
          ?competency a nw:Competency ; skos:prefLabel ?label ; nw:validityMonths ?months .
          FILTER(?months <= 60 && LANG(?label) = "")
        }
        ORDER BY ?months ?label
        """,
    ),
    _make(
        "in-common",
        "Which two roles have most in common?",
        "A pair, each once.",
        """
        SELECT ?one ?other (COUNT(?competency) AS ?both) WHERE {
          ?a a nw:Requirement ; nw:role ?first ; nw:competency ?competency .
          ?b a nw:Requirement ; nw:role ?second ; nw:competency ?competency .
          FILTER(STR(?first) < STR(?second))
          ?first skos:prefLabel ?one . ?second skos:prefLabel ?other .
          FILTER(LANG(?one) = "" && LANG(?other) = "")
        }
        GROUP BY ?one ?other ORDER BY DESC(?both) ?one ?other LIMIT 20
        """,
    ),
    _make(
        "no-definition",
        "What has no definition yet?",
        "Two kinds at once.",
        """
        SELECT ?kind ?record ?label WHERE {
          VALUES ?kind { nw:Competency nw:Role }
          ?record a ?kind ; skos:prefLabel ?label . FILTER(LANG(?label) = "")
          FILTER NOT EXISTS { ?record skos:definition ?text FILTER(LANG(?text) = "" && STRLEN(?text) > 0) }
        }
        ORDER BY ?kind ?label
        """,
    ),
    _make(
        "is-there",
        "Does any safety competency stand in no role?",
        "Yes or no.",
        """
        ASK {
          ?competency a nw:Competency ; nw:safety true .
          FILTER NOT EXISTS { ?requirement a nw:Requirement ; nw:competency ?competency }
        }
        """,
    ),
    _make(
        "words",
        "What do the words mean that are used here?",
        "The vocabulary, asked like the rest.",
        """
        SELECT ?word ?label ?meaning WHERE {
          GRAPH <@vocabulary> { ?word rdfs:label ?label ; rdfs:comment ?meaning }
          FILTER(STRSTARTS(STR(?word), STR(nw:)))
        }
        ORDER BY ?word
        """,
    ),
    _make(
        "as-skos",
        "Give me the hierarchy as a graph of its own.",
        "A graph instead of rows.",
        """
        CONSTRUCT { ?narrower a skos:Concept ; skos:prefLabel ?label ; skos:broader ?wider }
        WHERE {
          ?narrower a nw:Competency ; skos:prefLabel ?label .
          OPTIONAL { ?narrower skos:broader ?wider }
        }
        """,
    ),
)
