"""Which records of two states are probably the same: what hangs on them, who is looked at, who wins, in which order."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from compared_states import build_framework, edit_records, renumber
from small_company import build_scale, build_snapshot

from ontology.analysis.compare import candidates
from ontology.analysis.compare.candidates import find_candidates, rate_pair
from ontology.analysis.compare.neighbours import list_below, list_near
from ontology.analysis.compare.pairs import find_pairs
from ontology.analysis.compare.same import find_likely
from ontology.analysis.likeness.labels import rate_labels
from ontology.model.framework_itself import THIS
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def build_around() -> Snapshot:
    """Return a competency with everything that can hang on one, and what hangs on its role and its courses."""
    names = {"top": (), "mid": ("top",), "low": ("mid",)}
    return build_snapshot(
        scales=build_scale(),
        competencies=[{"id": i, "label": i, "scale": "s5", "broader": above} for i, above in names.items()],
        roles=[{"id": "op", "label": "Operator", "family": "Plant, NORTH"}, {"id": "hand", "label": "Hand"}],
        requirements=[{"role": "op", "competency": "mid", "level": 2}],
        courses=[{"id": "k", "label": "School", "hours": 8.0}, {"id": "l", "label": "Class", "hours": 8.0}],
        outcomes=[{"course": "k", "competency": "mid", "level": 2}],
        entry_conditions=[{"course": "l", "competency": "mid", "level": 1}],
    )


def list_likely(before: Snapshot, after: Snapshot) -> list[tuple[str, str, str]]:
    found = find_likely(before, after, find_pairs(before, after, "known"))
    return [(one.table, one.before, one.after) for one in found]


@pytest.mark.parametrize(
    ("table", "record_id", "below", "more"),
    [
        (
            "competencies",
            "mid",
            {("narrower", "competencies", "low"), ("asked", "roles", "op"), ("taught", "courses", "k")},
            {("broader", "competencies", "top")},
        ),
        ("competencies", "top", {("narrower", "competencies", "mid")}, set()),
        ("roles", "op", {("asks", "competencies", "mid")}, {("family", "", "plant north")}),
        ("roles", "hand", set(), set()),
        ("courses", "k", {("teaches", "competencies", "mid")}, set()),
        ("courses", "l", set(), {("presumes", "competencies", "mid")}),
    ],
)
def test_what_hangs_on_a_record_and_what_below_it(
    table: str, record_id: str, below: set[tuple[str, str, str]], more: set[tuple[str, str, str]]
) -> None:
    state = build_around()
    assert list_below(state, table, record_id) == below
    assert list_near(state, table, record_id) == below | more


@pytest.mark.parametrize("most_pairs", [4_000_000, 0])
def test_labels_are_looked_at_from_the_least_on(monkeypatch: pytest.MonkeyPatch, most_pairs: int) -> None:
    """Whether all pairs are rated or those that share a word: what is as alike as asked is in, less is not."""
    labels = {"a": "repair valves", "b": "repair old valves", "c": "valves"}
    before = build_snapshot(
        scales=build_scale(), competencies=[{"id": i, "label": label, "scale": "s5"} for i, label in labels.items()]
    )
    after = renumber(before, "competencies", {one: one.upper() for one in labels})
    alone: Any = [
        {("competencies", key[0]): frozenset() for key in state.get_table("competencies")} for state in (before, after)
    ]
    monkeypatch.setattr(candidates, "_MOST_PAIRS", most_pairs)
    least = rate_labels(labels["a"], labels["b"])
    found = set(find_candidates(before, after, find_pairs(before, after, "known"), "competencies", tuple(alone), least))
    assert found == {
        (one, other.upper(), score)
        for one in labels
        for other in labels
        if (score := rate_labels(labels[one], labels[other])) >= least
    }
    assert {(one, other) for one, other, _ in found} >= {("a", "B"), ("b", "A")}
    assert not {("a", "C"), ("c", "A"), ("b", "C")} & {(one, other) for one, other, _ in found}


def test_of_few_all_pairs_are_rated_whether_or_not_they_share_a_word() -> None:
    before = build_framework()
    after = edit_records(
        renumber(before, "competencies", {"c2": "w"}),
        "competencies",
        lambda one: replace(one, label="Taking sample") if one.id == "w" else one,
    )
    assert min(rate_both_ways(before, after)) > 0.7


@pytest.mark.parametrize("few", [1, 2])
def test_a_word_that_many_of_either_side_hold_brings_nothing_together(
    monkeypatch: pytest.MonkeyPatch, few: int
) -> None:
    before = build_snapshot(scales=build_scale(), competencies=[{"id": "a", "label": "Valves", "scale": "s5"}])
    rows = [{"id": i, "label": label, "scale": "s5"} for i, label in (("b", "Valves"), ("c", "Repair valves"))]
    after = build_snapshot(scales=build_scale(), competencies=rows)
    monkeypatch.setattr(candidates, "_MOST_PAIRS", 0)
    monkeypatch.setattr(candidates, "_FEW", few)
    assert list_likely(before, after) == [("competencies", "a", "b")] * (few - 1)
    assert list_likely(after, before) == [("competencies", "b", "a")] * (few - 1)


def test_who_wins_at_once_wins_by_what_was_known_before() -> None:
    """A competency and the role that asks it find their counterparts in one round: neither counts for the other yet."""
    before = build_framework(requirements=[{"role": "r0", "competency": "c0", "level": 2}], outcomes=[])
    after = renumber(renumber(before, "competencies", {"c0": "n0"}), "roles", {"r0": "m0"})
    found = find_likely(before, after, find_pairs(before, after, "known"))
    assert [(one.table, one.after, one.score, one.overlap) for one in found] == [
        ("competencies", "n0", 1.0, None),
        ("roles", "m0", 1.0, None),
    ]


def test_of_equals_the_first_by_table_and_id_comes_first_and_decides_for_the_others() -> None:
    asked = {"r0": "c0", "r1": "c1"}
    before = build_framework(
        requirements=[{"role": role, "competency": one, "level": 2} for role, one in asked.items()], outcomes=[]
    )
    for table, ids in (("competencies", ("c0", "c1")), ("roles", ("r0", "r1"))):
        before = edit_records(before, table, lambda one, ids=ids: replace(one, label="Work") if one.id in ids else one)
    after = renumber(renumber(before, "competencies", {"c0": "n1", "c1": "n0"}), "roles", {"r0": "m0", "r1": "m1"})
    # nothing tells the two competencies apart, so that n0 goes to c0; then r0 is the one that asks n0
    assert list_likely(before, after) == [
        ("competencies", "c0", "n0"),
        ("competencies", "c1", "n1"),
        ("roles", "r0", "m1"),
        ("roles", "r1", "m0"),
    ]


def say(state: Snapshot, competency: str, language: str, **texts: str) -> Snapshot:
    """Return a state in which a competency is called something in another language, several names with | between."""
    build = TABLES["translations"].build
    rows = [
        build(table="competencies", id=competency, column=column, language=language, joined=text)
        for column, text in texts.items()
    ]
    return state.with_changes([("translations", row) for row in rows])


def speak(state: Snapshot, language: str) -> Snapshot:
    """Return a state with a main language."""
    return state.with_changes([("framework", TABLES["framework"].build(id=THIS, title="Works", language=language))])


def rate_both_ways(before: Snapshot, after: Snapshot) -> list[float]:
    """Return how alike the labels of c2 and w are, as candidates and as a pair, there and back."""
    found = []
    for one, other, ids in ((before, after, ("c2", "w")), (after, before, ("w", "c2"))):
        pairs = find_pairs(one, other, "known")
        alone: Any = [
            {("competencies", key[0]): frozenset() for key in state.get_table("competencies")} for state in (one, other)
        ]
        rated = {(a, b): score for a, b, score in find_candidates(one, other, pairs, "competencies", tuple(alone), 0.6)}
        found += [rated.get(ids, 0.0), rate_pair(one, other, "competencies", *ids)]
    return found


def test_another_name_in_a_language_that_both_have_counts_as_it_does_in_the_main_one() -> None:
    before = build_framework()
    after = edit_records(
        renumber(before, "competencies", {"c2": "w"}),
        "competencies",
        lambda one: replace(one, label="Quite something") if one.id == "w" else one,
    )
    assert max(rate_both_ways(before, after)) < 0.6
    called = say(before, "c2", "de", label="Proben nehmen")
    assert rate_both_ways(called, say(after, "w", "de", alt_labels="Ziehen|Proben-NEHMEN")) == [0.95] * 4
    assert rate_both_ways(called, say(after, "w", "de", label="Nehmen Proben")) == [1.0] * 4
    # in another language it is another name; so it is where only one of them has names in it
    assert max(rate_both_ways(called, say(after, "w", "fr", label="Proben nehmen"))) < 0.6
    # what is written in the main language of one stands among the translations of the other
    german = speak(edit_records(after, "competencies", lambda one: replace(one, alt_labels=("Proben nehmen",))), "de")
    assert rate_both_ways(called, german) == [0.95] * 4


def test_names_of_signs_alone_are_no_names() -> None:
    before = edit_records(build_framework(), "competencies", lambda one: replace(one, label="--", alt_labels=("-!-",)))
    after = renumber(before, "competencies", {"c2": "w"})
    assert rate_both_ways(before, after) == [0.0] * 4


def test_of_several_that_nothing_tells_apart_the_most_alike_come_first() -> None:
    """Two groups of equals: those of one label decide for those that share another name, whatever their ids are."""
    rows = [
        {"id": "c0", "label": "Fit", "alt_labels": ("Fix",), "broader": ("c2",)},
        {"id": "c1", "label": "Fit", "alt_labels": ("Fix",), "broader": ("c3",)},
        {"id": "c2", "label": "Work"},
        {"id": "c3", "label": "Work"},
    ]
    later = [
        {"id": "n0", "label": "Fix", "broader": ("n3",)},
        {"id": "n1", "label": "Fix", "broader": ("n2",)},
        {"id": "n2", "label": "Work"},
        {"id": "n3", "label": "Work"},
    ]
    before, after = (
        build_snapshot(scales=build_scale(), competencies=[{"scale": "s5"} | row for row in group])
        for group in (rows, later)
    )
    assert list_likely(before, after) == [
        ("competencies", one, other) for one, other in (("c0", "n1"), ("c1", "n0"), ("c2", "n2"), ("c3", "n3"))
    ]


def build_asked(role: str, names: tuple[str, str], others: tuple[str, str], *, crossed: bool = False) -> Snapshot:
    """Return a role that asks two competencies of one name, each above one of two of another name."""
    (one, name), (other, below) = names, others
    rows = [{"id": f"{one}{n}", "label": name, "alt_labels": ("Fix",) if one == "c" else ()} for n in range(2)]
    rows += [{"id": f"{other}{n}", "label": below, "broader": (f"{one}{n ^ crossed}",)} for n in range(2)]
    return build_snapshot(
        scales=build_scale(),
        competencies=[{"scale": "s5"} | row for row in rows],
        roles=[{"id": role, "label": "Operator"}],
        requirements=[{"role": role, "competency": f"{one}{n}", "level": 2} for n in range(2)],
    )


def test_a_score_that_rises_in_a_later_round_counts_in_its_order() -> None:
    """By the role that asks them the two called Fit and Fix pass those whose names are more alike."""
    assert 0.95 < rate_labels("abcdefghijklm", "abcdefghijkl") < 0.7 * 0.95 + 0.3
    before = build_asked("r", ("c", "Fit"), ("k", "abcdefghijklm"))
    after = build_asked("m", ("n", "Fix"), ("w", "abcdefghijkl"), crossed=True)
    assert list_likely(before, after) == [
        *(("competencies", one, other) for one, other in (("c0", "n0"), ("c1", "n1"), ("k0", "w1"), ("k1", "w0"))),
        ("roles", "r", "m"),
    ]


def test_what_falls_below_the_least_score_is_no_candidate_any_more() -> None:
    """Until the role that asks the two is known they are alike enough; it asks nothing of the kind now."""
    before = build_asked("r", ("c", "Take samples"), ("k", "Wash"))
    after = build_asked("m", ("n", "Take simples"), ("w", "Paint")).with_changes(
        remove=[("requirements", ("m", f"n{n}")) for n in range(2)]
    )
    assert 0.7 < rate_labels("take samples", "take simples") < 1.0
    assert list_likely(before, after) == [("roles", "r", "m")]


def test_all_who_win_in_a_round_count_for_the_next() -> None:
    """Two roles are found at once, and both no longer ask what they did: neither pair is alike enough then."""
    labels = ("Take samples", "Take simples", "Fit valves", "Fit values")
    rows = {
        "r": ({"c0": labels[0], "c1": labels[0], "k0": labels[2], "k1": labels[2]}, ("Operator", "Fitter")),
        "m": ({"n0": labels[1], "n1": labels[1], "w0": labels[3], "w1": labels[3]}, ("Operator", "Fitter")),
    }
    before, after = (
        build_snapshot(
            scales=build_scale(),
            competencies=[{"id": i, "label": label, "scale": "s5"} for i, label in called.items()],
            roles=[{"id": f"{role}{n}", "label": name} for n, name in enumerate(names)],
            requirements=[
                {"role": f"{role}{n}", "competency": one, "level": 2}
                for n in range(2)
                for one in list(called)[2 * n : 2 * n + 2]
                if role == "r"
            ],
        )
        for role, (called, names) in rows.items()
    )
    assert min(rate_labels(*map(str.lower, pair)) for pair in (labels[:2], labels[2:])) > 0.7
    assert list_likely(before, after) == [("roles", "r0", "m0"), ("roles", "r1", "m1")]
