"""An ordered scale from a SKOS scheme, its levels in the order of skos:notation."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from typing import Final

from loaders.linked_data.records import make_id
from loaders.report import Loaded
from ontology.errors import Finding
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import SCHEME, TYPE, saturate, skos
from ontology.rdf.terms import Triple, get_language, get_plain_value

_NUMBER: Final = re.compile(r"[+-]?\d+(\.\d+)?")


def add_scale(triples: Iterable[Triple], scheme: str, into: Loaded) -> None:
    """Make a scale of a scheme's concepts and add its levels to `into`.

    Parameters
    ----------
    triples : iterable of triples in N-Triples text
    scheme : str
        IRI of the scheme. The scale's id is its last part.
    into : Loaded
        Receives the levels, an exactMatch from each to its concept, and findings: an unknown scheme, a concept
        without a notation, two with the same.

    Notes
    -----
    Concepts are those in the scheme, top concepts included (S7, S8). Notations are compared as numbers where all of
    them are numbers, otherwise as text (A1 < A2 < B1).
    """
    node = scheme if scheme.startswith("<") else ns.iri_term(scheme)
    facts = saturate(triples)
    values: defaultdict[tuple[str, str], list[str]] = defaultdict(list)
    concepts: set[str] = set()
    for s, p, o in facts:
        values[s, p].append(o)
        if p == skos("inScheme") and o == node:
            concepts.add(s)
    if not concepts:
        _refuse(into, scheme, _explain_unknown(facts))
        return
    notations: dict[str, str] = {}
    for concept in sorted(concepts):
        given = sorted({get_plain_value(term) for term in values[concept, skos("notation")]})
        if len(given) != 1:
            reason = f"{get_plain_value(concept)} has {len(given) or 'no'} notations; a level needs exactly one"
            _refuse(into, ", ".join(given), reason)
        else:
            notations[concept] = given[0]
    doubled = sorted(text for text in set(notations.values()) if list(notations.values()).count(text) > 1)
    for text in doubled:
        _refuse(into, text, "several concepts have this notation; each level needs its own")
    if doubled or len(notations) < len(concepts):
        return
    scale = make_id(get_plain_value(node))
    for rank, concept in enumerate(_order(notations), start=1):
        label = _choose(values[concept, skos("prefLabel")]) or notations[concept]
        description = _choose(values[concept, skos("definition")]) or _choose(values[concept, skos("scopeNote")])
        level = ScaleLevel(scale, rank, label, description)
        into.records.setdefault("scales", []).append(level)
        into.origins.add("scales", (scale, rank), into.label, 0)
        own = ns.iri_term(TABLES["scales"].get_iri(level))
        into.extra.append((ns.GRAPH_FRAMEWORK, own, skos("exactMatch"), concept))


def _order(notations: dict[str, str]) -> list[str]:
    if all(_NUMBER.fullmatch(text) for text in notations.values()):
        return sorted(notations, key=lambda concept: (float(notations[concept]), concept))
    return sorted(notations, key=lambda concept: (notations[concept], concept))


def _choose(terms: Iterable[str]) -> str:
    """Return the English text, else the one without a language, else the first by language."""
    ranked = sorted((_rank_language(get_language(term)), get_plain_value(term)) for term in terms)
    return ranked[0][1] if ranked else ""


def _rank_language(tag: str) -> tuple[int, str]:
    if tag == "en" or tag.startswith("en-"):
        return 0, tag
    return (1 if not tag else 2), tag


def _explain_unknown(facts: Iterable[Triple]) -> str:
    schemes = sorted({get_plain_value(s) for s, p, o in facts if p == TYPE and o == SCHEME})
    return f"has no concepts of this scheme; its schemes are: {', '.join(schemes) or 'none'}"


def _refuse(into: Loaded, value: str, reason: str) -> None:
    into.findings.append(Finding("error", into.label, 0, "skos:notation", value, reason))
