"""Rules on what texts say, each on a small company where it must speak and where it must not."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import build_scale, build_snapshot
from to_mend_cases import NEED, ROLE, TEAM, Rows, ask, find, find_faults, name

from ontology.analysis.health.word_lists import parse_word_lists
from ontology.analysis.likeness.labels import find_alike, find_alike_pairs, normalise


@pytest.mark.parametrize(
    ("labels", "more", "speaks"),
    [
        (("Pump operation", "Operation: PUMP"), {}, True),
        (("Operate large pumps daily", "Operate large pump daily"), {}, True),
        (("Sawing techniques", "Sanding techniques"), {}, False),
        (("Pump", "Valve"), {"alt_labels": ("valve ",)}, True),
        (("Pump", "Valve"), {"alt_labels": ("seal", "pump")}, False),
        (("Pump work", "Pump works"), {"broader": ("b",)}, False),
    ],
)
def test_near_duplicate_labels(labels: tuple[str, str], more: dict[str, Any], speaks: bool) -> None:
    one, other = name(*labels)
    found = find("near-duplicate labels", {"competencies": [one | more, other]})
    assert found == ([("competencies", "a", "b")] if speaks else [])


def test_labels_of_what_is_broader_through_others_may_be_alike_and_those_of_two_tables() -> None:
    chain = [
        one | {"broader": up}
        for one, up in zip(name("Pump work", "X", "Pump works"), (("b",), ("c",), ()), strict=True)
    ]
    rows: Rows = {"competencies": chain, "roles": [{"id": "r", "label": "Pump work"}]}
    assert find("near-duplicate labels", rows) == []
    assert find("near-duplicate labels", {**rows, "competencies": name("Pump work", "X", "Pump works")}) != []
    assert find("near-duplicate labels", {"roles": [ROLE[0], {"id": "s", "label": "r"}]}) == [("roles", "r", "s")]


def test_what_took_the_place_of_another_may_be_called_alike() -> None:
    rows: Rows = {"competencies": name("Pump", "Pump")}
    for table, speaks in (("competencies", False), ("roles", True)):
        replaced = [{"table": table, "old": "b", "new": "a"}]
        assert bool(find("near-duplicate labels", {**rows, "replacements": replaced})) == speaks


@pytest.mark.parametrize(
    ("target", "more", "speaks"),
    [
        ("https://newel.example/id/competency/b", {}, False),
        ("urn:elsewhere:b", {}, False),
        ("urn:elsewhere:c", {}, True),
        ("urn:elsewhere:b", {"relation": "close"}, True),
        ("urn:elsewhere:b", {"status": "refused"}, True),
    ],
)
def test_what_is_marked_as_different_may_be_called_alike(target: str, more: dict[str, Any], speaks: bool) -> None:
    one, other = name("Pump", "Pump")
    rows: Rows = {
        "competencies": [one, other | {"exact_match": ("urn:elsewhere:b",)}],
        "mappings": [{"competency": "a", "target": target, "relation": "different"} | more],
    }
    assert bool(find("near-duplicate labels", rows)) == speaks


def test_pairs_of_alike_texts_are_those_of_comparing_all() -> None:
    texts = [normalise(f"{verb} the {size}{thing}") for verb in ("operate", "repair", "operates") for size in
             ("", "large ", "very small ") for thing in ("pump", "pumps", "valve", "pump valve")]  # fmt: skip
    texts += ["", "pump the operate"]
    for least in (0.7, 0.92, 1.0):
        pairs = sorted(find_alike_pairs(texts, least))
        assert pairs == sorted(one for one in find_alike(texts, texts, least) if one[0] < one[1])
        assert pairs


def test_a_definition_is_missing_only_where_something_asks() -> None:
    asked: Rows = {"competencies": name("A", "B"), "roles": ROLE, "requirements": ask("r", "a")}
    assert find("definition missing", asked) == [("competencies", "a", None)]
    needed: Rows = {"competencies": name("A", "B"), "teams": TEAM, "cover_needs": [NEED]}
    assert find("definition missing", needed) == [("competencies", "a", None)]
    said: Rows = {**asked, "competencies": name("A", definition="Runs it.")}
    assert find("definition missing", said) == []


@pytest.mark.parametrize(
    ("definition", "speaks"),
    [
        ("The ability of pump operation as such", True),
        ("Starts, stops and vents pumps", False),
        ("Runs the big old one", True),
        ("", False),
    ],
)
def test_a_definition_says_three_words_more_than_the_label(definition: str, speaks: bool) -> None:
    found = find("definition says nothing", {"competencies": name("Pump operation", definition=definition)})
    assert bool(found) == speaks


def test_two_definitions_that_name_each_other_are_a_circle() -> None:
    long = "whatever belongs under good practice elsewhere: {}."
    pair = [
        one | {"definition": long.format(text)}
        for one, text in zip(name("Pump work", "Valve care"), ("Valve care", "the pump work"), strict=True)
    ]
    assert find("definition says nothing", {"competencies": pair}) == [("competencies", "a", "b")]
    single = [
        one | {"definition": long.format(text)}
        for one, text in zip(name("Pump", "Valve"), ("valve", "pump"), strict=True)
    ]
    assert find("definition says nothing", {"competencies": single}) == []
    pair[1]["definition"] = long.format("work at the pump")
    assert find("definition says nothing", {"competencies": pair}) == []


def test_levels_are_described_and_differ() -> None:
    levels = build_scale(n=3)
    levels[0]["description"], levels[1]["description"] = "Does it with help.", "With help: does it!"
    rows: Rows = {"scales": levels}
    assert find("level not described", rows) == [("scales", "s5~3", None)]
    assert find("levels alike", rows) == [("scales", "s5~1", "s5~2")]
    levels[1]["description"] = "Does it alone and teaches others."
    assert find("levels alike", rows) == []


@pytest.mark.parametrize(
    ("definition", "speaks"),
    [
        ("Knows the rules", True),
        ("Shows awareness of rules", False),
        ("Has an awareness of rules", True),
        ("Names the rules and knows them", False),
        ("The rules of the house", False),
    ],
)
def test_what_is_vague_needs_an_act(definition: str, speaks: bool) -> None:
    rows: Rows = {"competencies": name("A", definition=definition)}
    assert bool(find("no observable act", rows)) == speaks
    lists = parse_word_lists("vague.en: house; acts.en: rules")
    found = find_faults("no observable act", build_snapshot(**rows), words=lists)
    assert not found
    no_english = parse_word_lists("vague.de: rules; acts.de: prüft")
    assert not find_faults("no observable act", build_snapshot(**rows), words=no_english)


@pytest.mark.parametrize(
    ("definition", "language", "speaks"),
    [
        ("Kennt die Regeln", "de-AT", True),
        ("Prüft die Regeln und kennt sie", "de", False),
        ("Kennt die Regeln", "en", False),
        ("Knows the rules", "de", False),
        ("Knows the rules", "fr", False),
    ],
)
def test_the_words_are_those_of_the_language_of_the_framework(definition: str, language: str, speaks: bool) -> None:
    framework = [{"id": "this", "title": "F", "language": language}]
    rows: Rows = {"competencies": name("A", definition=definition), "framework": framework}
    assert bool(find("no observable act", rows)) == speaks


def say(column: str, text: str, language: str = "de", one: str = "a") -> dict[str, str]:
    return {"table": "competencies", "id": one, "column": column, "language": language, "joined": text}


def test_translation_missing_where_a_language_is_in_use() -> None:
    one, other = name("Pump", "Valve")
    rows: Rows = {"competencies": [one | {"definition": "Runs it."}, other]}
    assert find("translation missing", rows) == []
    # one text in a language, and it is in use; what is not said in the main language is not missing
    rows["translations"] = [say("definition", "Fährt sie.")]
    assert [fault[:2] for fault in find("translation missing", rows) if fault[0] == "competencies"] == [
        ("competencies", "a"),
        ("competencies", "b"),
    ]
    rows["translations"] += [say("label", "Pumpe"), say("label", "Ventil", one="b")]
    assert [fault for fault in find("translation missing", rows) if fault[0] == "competencies"] == []


def test_labels_may_be_alike_in_another_language() -> None:
    rows: Rows = {"competencies": name("Pump", "Valve"), "translations": [say("label", "Pumpe bedienen")]}
    for text, column, speaks in (
        ("Bedienen: PUMPE", "label", True),
        ("Ventil", "label", False),
        ("pumpe bedienen", "alt_labels", True),
    ):
        more = {**rows, "translations": [*rows["translations"], say(column, text, one="b")]}
        assert bool(find("near-duplicate labels", more)) == speaks
        other = {**rows, "translations": [*rows["translations"], say(column, text, "fr", one="b")]}
        assert find("near-duplicate labels", other) == []
