"""The examples of the SKOS Reference (W3C Recommendation, 18 August 2009) with the status it prints for each.

The shared file holds a selection as facts of the Recommendation; where it is absent, inline graphs of our own with
the same statuses still run.
"""

from __future__ import annotations

import json
from typing import Any

import pytest
from rdflib import Graph
from small_company import NO_REFERENCE, REFERENCE

from ontology.checks.skos import check_skos
from ontology.rdf import namespaces as ns
from ontology.rdf.entailment import entail
from ontology.rdf.terms import Triple, iterate_triples

FILE = REFERENCE / "skos_examples.json"
PREFIXES = f"@base <http://own.example/> . @prefix skos: <{ns.SKOS}> . @prefix rdf: <{ns.RDF}> .\n"

#: Invented, one for each kind of status: (premise, conclusion, whether it is entailed, violated conditions).
OWN_EXAMPLES = [
    ("<Reading> a skos:Concept ; skos:broader <Literacy> .", None, True, []),
    ("<Scheme1> a skos:ConceptScheme , skos:Concept .", None, True, ["S9"]),
    ('<Sew> skos:altLabel "stitch"@en ; skos:hiddenLabel "stitch"@en .', None, True, ["S13"]),
    ('<Sew> skos:prefLabel "stitch"@en , "sew"@en .', None, True, ["S14"]),
    ("<Lift> skos:narrower <Rig> . <Rig> skos:related <Lift> .", None, True, ["S27"]),
    ("<Tools> skos:member <Saw> ; skos:related <Saw> .", None, True, ["S37"]),
    ("<Lift> skos:exactMatch <Hoist> . <Hoist> skos:broadMatch <Lift> .", None, True, ["S46"]),
    ("<Saw> skos:narrowMatch <Jigsaw> .", "<Jigsaw> skos:broader <Saw> ; a skos:Concept .", True, []),
    ("<Saw> skos:related <Cut> . <Cut> skos:related <Burn> .", "<Saw> skos:related <Burn> .", False, []),
]


def load_examples() -> list[dict[str, Any]]:
    if not FILE.is_file():
        return []
    examples: list[dict[str, Any]] = json.loads(FILE.read_text(encoding="utf-8"))["examples"]
    return examples


def load_prefixes() -> str:
    return str(json.loads(FILE.read_text(encoding="utf-8"))["prefixes"])


EXAMPLES = load_examples()
CONCLUSIONS = [example for example in EXAMPLES if example["conclusion"]]
needs_file = pytest.mark.skipif(not EXAMPLES, reason=NO_REFERENCE)


def parse(text: str) -> set[Triple]:
    return set(iterate_triples(Graph().parse(data=text, format="turtle")))


def name(example: dict[str, Any]) -> str:
    return f"example {example['example']}"


@needs_file
def test_all_51_examples_are_there() -> None:
    assert len(EXAMPLES) == 51


@needs_file
@pytest.mark.parametrize("example", EXAMPLES, ids=name)
def test_reported_conditions_are_those_the_recommendation_names(example: dict[str, Any]) -> None:
    found = {finding.column for finding in check_skos(parse(load_prefixes() + example["premise"]))}
    assert found == set(example["violates"])
    if example["status"] == "consistent":
        assert found == set()
    if example["status"] == "not consistent":
        assert found != set()


@needs_file
@pytest.mark.parametrize("example", CONCLUSIONS, ids=name)
def test_printed_conclusion_is_drawn_or_not_as_printed(example: dict[str, Any]) -> None:
    known = entail(parse(load_prefixes() + example["premise"]))
    conclusion = parse(load_prefixes() + example["conclusion"])
    assert (conclusion <= known) == example["status"].startswith("entailment")


@pytest.mark.parametrize(("premise", "conclusion", "is_entailed", "violates"), OWN_EXAMPLES)
def test_own_examples_of_each_status(
    premise: str, conclusion: str | None, is_entailed: bool, violates: list[str]
) -> None:
    triples = parse(PREFIXES + premise)
    assert [finding.column for finding in check_skos(triples)] == violates
    if conclusion is not None:
        assert (parse(PREFIXES + conclusion) <= entail(triples)) == is_entailed
