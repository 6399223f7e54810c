"""Each rule on what is to mend, on a small company where it must speak and where it must not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.health.faults import Limits
from ontology.analysis.health.to_mend import list_to_mend
from ontology.analysis.health.word_lists import get_own_lists, parse_word_lists
from ontology.analysis.likeness.labels import find_alike, find_alike_pairs, normalise

Rows = Mapping[str, Sequence[Mapping[str, Any]]]
DAY = {"date": dt.date(2026, 1, 1), "source": "assessor"}


def find(rule: str, rows: Rows, **limits: Any) -> list[tuple[str, str | None, str | None]]:
    """Return what a rule says of a company with one scale: table, id, other."""
    rows = {"scales": build_scale(), **rows}
    found = list_to_mend(build_snapshot(**rows), ON, limits=Limits(**limits), words=get_own_lists(), rules=(rule,))
    assert {one.fault.rule for one in found.rows} <= {rule}
    return [(one.fault.table, one.fault.id, one.fault.other) for one in found.rows]


def name(*labels: str, **more: Any) -> list[dict[str, Any]]:
    """Return competencies a, b, c ... of these labels."""
    return [{"id": i, "label": label, "scale": "s5"} | more for i, label in zip("abcdef", labels, strict=False)]


def ask(role: str, *competencies: str, **more: Any) -> list[dict[str, Any]]:
    """Return what a role asks."""
    return [{"role": role, "competency": one, "level": 2} | more for one in competencies]


ROLE = [{"id": "r", "label": "R"}]
NEED = {"team": "t", "competency": "a", "level": 2, "minimum": 1}
TEAM = [{"id": "t", "label": "T"}]
COURSE = [{"id": "k", "label": "K", "hours": 1}]
CREW = [{"id": f"p{n}", "name": f"P{n}", "team": "t", "role": "r"} for n in range(5)]


def assess(level: int, *people: str) -> list[dict[str, Any]]:
    return [{"person": one, "competency": "a", "level": level} | DAY for one in people]


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
    found = list_to_mend(build_snapshot(**rows), ON, words=lists, rules=("no observable act",)).rows
    assert not found
    no_english = parse_word_lists("vague.de: rules; acts.de: prüft")
    assert not list_to_mend(build_snapshot(**rows), ON, words=no_english, rules=("no observable act",)).rows


def test_needed_is_what_something_names_and_all_above_it() -> None:
    tree = [one | {"broader": up} for one, up in zip(name("A", "B", "C"), (("b",), (), ()), strict=True)]
    rows: Rows = {"competencies": tree, "roles": ROLE, "requirements": ask("r", "a")}
    assert find("needed by none", rows) == [("competencies", "c", None)]
    entry: Rows = {**rows, "courses": COURSE, "entry_conditions": [{"course": "k", "competency": "c", "level": 1}]}
    assert find("needed by none", entry) == []


def test_what_an_obligation_speaks_for_is_not_given_up_unseen() -> None:
    bound = {"id": "o", "label": "O", "competency": "a", "level": 1, "rule": "everyone"}
    snapshot = build_snapshot(scales=build_scale(), competencies=name("A"), obligations=[bound])
    (row,) = list_to_mend(snapshot, ON, words={}, rules=("needed by none",)).rows
    assert row.fault.bound_by == "obligations"
    assert row.fault.reason.endswith("But 1 obligation names it: look there first.")


def test_what_another_counts_only_with_is_not_given_up_unseen() -> None:
    one, other = name("A", "B")
    snapshot = build_snapshot(scales=build_scale(), competencies=[one, other | {"holds_while": ("a",)}])
    first, second = sorted(
        list_to_mend(snapshot, ON, words={}, rules=("needed by none",)).rows, key=lambda row: row.fault.id or ""
    )
    assert (first.fault.bound_by, second.fault.bound_by) == ("competencies", "")
    assert "1 other competency counts only while it is held: look there first." in first.fault.reason


@pytest.mark.parametrize(
    ("more", "taught", "speaks"),
    [
        ({"learned_on_job": False}, {"level": 1}, True),
        ({"learned_on_job": False}, {"level": 2}, False),
        ({"learned_on_job": False}, {"level": 3, "renews": True}, True),
        ({"learned_on_job": True}, {"level": 1}, False),
        ({"necessity": "desirable"}, {"level": 1}, True),
    ],
)
def test_taught_by_none(more: dict[str, Any], taught: dict[str, Any], speaks: bool) -> None:
    rows: Rows = {"competencies": name("A"), "roles": ROLE, "requirements": ask("r", "a", **more), "courses": COURSE}
    outcomes = [{"course": "k", "competency": "a"} | taught]
    assert bool(find("taught by none", {**rows, "outcomes": outcomes})) == speaks
    assert find("taught by none", {"competencies": name("A"), "teams": TEAM, "cover_needs": [NEED]})


def test_what_is_taught_may_count_as_what_is_asked() -> None:
    asked: Rows = {"competencies": name("A", "B"), "roles": ROLE, "requirements": ask("r", "a", learned_on_job=False)}
    outcomes = [{"course": "k", "competency": "b", "level": 3}]
    rows: Rows = {**asked, "courses": COURSE, "outcomes": outcomes}
    assert find("taught by none", rows)
    for level, speaks in ((2, False), (1, True)):
        counts = [{"competency": "b", "level": 3, "counts_as": "a", "as_level": level}]
        assert bool(find("taught by none", {**rows, "equivalences": counts})) == speaks


def test_held_by_none_counts_what_counts_and_only_of_roles_people_hold() -> None:
    rows: Rows = {
        **{"competencies": name("A"), "roles": ROLE, "teams": TEAM, "requirements": ask("r", "a")},
        "people": [*CREW[:1], {"id": "x", "name": "X", "team": "t"}],
    }
    told = [("competencies", "a", None)]
    assert find("held by none", rows) == told
    assert find("held by none", {**rows, "people": []}) == []
    assert find("held by none", {**rows, "requirements": ask("r", "a", necessity="desirable")}) == []
    own = [{"person": "p0", "competency": "a", "level": 2} | DAY | {"source": "self"}]
    assert find("held by none", {**rows, "assessments": own}) == told
    # someone else of the company, at no level: that is known
    assert find("held by none", {**rows, "assessments": assess(0, "x")}) == []
    left = [rows["people"][0], rows["people"][1] | {"end_date": dt.date(2026, 2, 1)}]
    assert find("held by none", {**rows, "people": left, "assessments": assess(2, "x")}) == told


@pytest.mark.parametrize(
    ("levels", "more", "rule"),
    [
        ((2, 2, 3, 2, 5), {}, "met by all"),
        ((2, 2, 3, 2, 1), {}, ""),
        ((2, 2, 3, 2, 5), {"necessity": "blocking"}, ""),
        ((0, 1, 1, 1, 1), {}, "met by none"),
        ((0, 1, 1, 1, 1), {"entry_level": 1}, ""),
        ((0, 0, 0, 0, 0), {"entry_level": 0}, ""),
        ((2, 2, 2, 2), {}, ""),
    ],
)
def test_met_by_all_or_none_of_five(levels: tuple[int, ...], more: dict[str, Any], rule: str) -> None:
    people = CREW[: len(levels)]
    rows: Rows = {
        **{"competencies": name("A"), "roles": ROLE, "teams": TEAM, "requirements": ask("r", "a", **more)},
        "people": people,
        "assessments": [row for one, n in zip(people, levels, strict=True) for row in assess(n, one["id"])],
    }
    for one in ("met by all", "met by none"):
        assert find(one, rows) == ([("requirements", "r~a", None)] if one == rule else [])
        assert find(one, rows, least_people=6) == []


def test_roles_alike_ask_the_same_at_three_levels() -> None:
    roles = [{"id": i, "label": i} for i in ("r", "s", "q")]
    rows: Rows = {"competencies": name("A"), "roles": roles, "requirements": [*ask("r", "a"), *ask("s", "a", weight=5)]}
    assert find("roles alike", rows) == [("roles", "r", "s")]
    for other in ({"unsupervised_level": 1}, {"entry_level": 1}, {"necessity": "blocking"}, {"level": 3}):
        assert find("roles alike", {**rows, "requirements": [*ask("r", "a"), *ask("s", "a", **other)]}) == []


def test_roles_that_ask_nothing_are_not_alike() -> None:
    assert find("roles alike", {"roles": [{"id": i, "label": i} for i in "rs"]}) == []


def test_a_profile_has_three_to_twenty_five_parts() -> None:
    ids = [f"c{n}" for n in range(26)]
    competencies = build_competencies(" ".join(ids))
    for n, few, many in ((0, True, False), (2, True, False), (3, False, False), (25, False, False), (26, False, True)):
        rows: Rows = {"competencies": competencies, "roles": ROLE, "requirements": ask("r", *ids[:n])}
        assert bool(find("too few", rows)) == few
        assert bool(find("too many", rows)) == many
    assert find("too few", {"roles": ROLE}, fewest_requirements=0) == []


def test_a_course_nothing_asks_for_has_no_purpose() -> None:
    outcome = [{"course": "k", "competency": "a", "level": 2}]
    rows: Rows = {"competencies": name("A"), "courses": COURSE, "outcomes": outcome}
    assert find("course without purpose", rows) == [("courses", "k", None)]
    assert find("course without purpose", {**rows, "roles": ROLE, "requirements": ask("r", "a")}) == []
