"""Two states compared: what is the same, what came, went and changed, what may have become of the rest."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from compared_states import build_framework, edit_records, renumber

from ontology.analysis.compare import candidates
from ontology.analysis.compare.comparison import Comparison, compare_states
from ontology.snapshot.snapshot import Snapshot

HERE, THERE = ("http://x.example/1",), ("http://x.example/2",)


def tell_rows(found: Comparison) -> list[tuple[str, str, str, list[str]]]:
    return [
        (one.row.table, one.row.id, one.row.change, [change.column for change in one.row.columns]) for one in found.rows
    ]


def edit_one(state: Snapshot, table: str, record_id: str, **values: Any) -> Snapshot:
    return edit_records(state, table, lambda one: replace(one, **values) if one.id == record_id else one)


def tell(found: Comparison) -> list[tuple[str, str, tuple[str, ...], tuple[str, ...]]]:
    return [(one.table, one.kind, one.before, one.after) for one in found.suggestions]


def test_a_state_and_itself_differ_in_nothing() -> None:
    state = build_framework()
    found = compare_states(state, state)
    assert not found.rows
    assert not found.suggestions
    assert not found.identities
    assert all(one.before == one.after and not one.added + one.removed + one.changed for one in found.tables)


def test_what_changed_is_told_column_by_column() -> None:
    before = build_framework()
    after = edit_records(
        before, "requirements", lambda one: replace(one, level=3, entry_level=3) if one.role == "r0" else one
    )
    after = edit_one(after, "competencies", "c0", definition="Starts and stops them.", alt_labels=("Run pumps",))
    found = compare_states(before, after)
    (first, *others) = found.rows
    assert (first.row.id, [c.column for c in first.row.columns]) == ("c0", ["definition", "alt_labels"])
    assert (first.row.columns[1].before, first.row.columns[1].after) == ((), ("Run pumps",))
    assert [one.row.id for one in others] == ["r0~c1", "r0~c3", "r0~c5"]
    level, entry = others[0].row.columns
    assert (level.before, level.after, level.direction, level.stated) == (2, 3, "raised", True)
    # the first-day level is said nowhere: it followed the full level; the level to work alone stays, and is said now
    assert (entry.column, entry.stated) == ("entry_level", False)
    counts = {one.table: one for one in found.tables}
    assert counts["requirements"].changed == 3
    assert counts["requirements"].columns["level"] == 3


def test_a_record_of_one_id_that_is_another_concept_is_another_record() -> None:
    before = edit_one(build_framework(), "competencies", "c0", exact_match=HERE)
    after = edit_one(before, "competencies", "c0", exact_match=THERE, label="Sail boats")
    by_ids, known = compare_states(before, after, "ids"), compare_states(before, after)
    assert tell_rows(by_ids) == [("competencies", "c0", "changed", ["label", "exact_match"])]
    assert [
        (one.row.id, one.row.change, one.is_id_reused) for one in known.rows if one.row.table == "competencies"
    ] == [
        ("c0", "removed", True),
        ("c0", "added", True),
    ]
    # what asked the old one does not ask the new one
    asked = [(one.row.id, one.row.change) for one in known.rows if one.row.table == "requirements"]
    assert asked == [(f"{role}~c0", change) for role in ("r1", "r3") for change in ("removed", "added")]


def test_a_role_of_one_id_that_is_another_occupation_is_another_role() -> None:
    before = edit_one(build_framework(), "roles", "r0", exact_match=HERE)
    after = edit_one(before, "roles", "r0", exact_match=THERE)
    roles = [one for one in compare_states(before, after).rows if one.row.table == "roles"]
    assert [(one.row.id, one.row.change, one.is_id_reused) for one in roles] == [
        ("r0", "removed", True),
        ("r0", "added", True),
    ]


def test_a_renumbered_record_takes_all_that_names_it_along() -> None:
    before = edit_one(build_framework(), "competencies", "c0", exact_match=HERE)
    after = renumber(before, "competencies", {"c0": "n0"})
    found = compare_states(before, after)
    assert not found.rows
    assert [(one.table, one.before, one.after, one.by) for one in found.identities] == [
        ("competencies", "c0", "n0", "exact-match")
    ]
    assert {one.table: one.renumbered for one in found.tables if one.renumbered} == {
        "competencies": 1,
        "requirements": 2,
        "outcomes": 1,
    }
    assert len(compare_states(before, after, "ids").rows) == 2 + 4 + 2


def test_ids_that_change_places_are_read_through_their_concepts() -> None:
    before = edit_one(build_framework(), "competencies", "c0", exact_match=HERE)
    before = edit_one(before, "competencies", "c1", exact_match=THERE)
    after = renumber(before, "competencies", {"c0": "c1", "c1": "c0"})
    assert not compare_states(before, after).rows


def test_a_concept_that_two_records_tell_pairs_nobody() -> None:
    before = edit_one(build_framework(), "competencies", "c0", exact_match=HERE)
    after = renumber(before, "competencies", {"c0": "n0"})
    again = replace(after.competencies["n0"], id="z9", label="Sail boats")
    after = after.with_changes(put=[("competencies", again)])
    assert not compare_states(before, after).identities
    assert not compare_states(after, before).identities


def test_another_id_and_nearly_the_label_is_suggested_and_read_so_where_asked() -> None:
    before = build_framework()
    after = edit_one(renumber(before, "competencies", {"c1": "n1"}), "competencies", "n1", label="Repairing valves")
    found = compare_states(before, after)
    ((suggestion),) = found.suggestions
    assert (suggestion.kind, suggestion.before, suggestion.after) == ("same", ("c1",), ("n1",))
    assert suggestion.overlap == 1
    # rapidfuzz 3: indel similarity of "repair valves" (13) and "repairing valves" (16): 1 - 3 / 29
    assert suggestion.label_score == round(1 - 3 / 29, 4)
    assert suggestion.score == round(0.7 * (1 - 3 / 29) + 0.3, 4)
    assert tell_rows(compare_states(before, after, "suggested")) == [("competencies", "n1", "changed", ["label"])]


def test_one_label_for_several_is_told_apart_by_what_hangs_on_them() -> None:
    before = build_framework()
    before = edit_one(edit_one(before, "competencies", "c0", label="Work"), "competencies", "c1", label="Work")
    after = renumber(before, "competencies", {"c0": "n1", "c1": "n0"})
    assert tell(compare_states(before, after)) == [
        ("competencies", "same", ("c0",), ("n1",)),
        ("competencies", "same", ("c1",), ("n0",)),
    ]


def test_a_competency_whose_roles_go_to_two_is_split() -> None:
    before = build_framework(
        requirements=[{"role": f"r{r}", "competency": "c0", "level": 2} for r in range(4)], outcomes=[]
    )
    after = build_framework(
        competencies=[
            *({"id": f"c{i}", "label": before.competencies[f"c{i}"].label, "scale": "s5"} for i in range(1, 6)),
            {"id": "p1", "label": "Wash", "scale": "s5"},
            {"id": "p2", "label": "Rinse", "scale": "s5"},
        ],
        requirements=[{"role": f"r{r}", "competency": f"p{1 + r // 2}", "level": 2} for r in range(4)],
        outcomes=[],
    )
    assert tell(compare_states(before, after)) == [("competencies", "split", ("c0",), ("p1", "p2"))]
    assert tell(compare_states(after, before)) == [("competencies", "merge", ("p1", "p2"), ("c0",))]
    assert [one.score for one in compare_states(before, after).suggestions] == [1.0]


def test_a_part_that_leaves_a_record_behind_is_a_split_with_it() -> None:
    before = build_framework(
        requirements=[{"role": f"r{r}", "competency": "c0", "level": 2} for r in range(4)], outcomes=[]
    )
    after = before.with_changes(
        put=[
            ("competencies", replace(before.competencies["c0"], id="p1", label="Wash")),
            *(
                ("requirements", replace(one, competency="p1"))
                for one in before.get_requirements_of_competency("c0")[:2]
            ),
        ],
        remove=[("requirements", (f"r{r}", "c0")) for r in range(2)],
    )
    assert tell(compare_states(before, after)) == [("competencies", "split", ("c0",), ("c0", "p1"))]
    assert tell(compare_states(after, before)) == [("competencies", "merge", ("c0", "p1"), ("c0",))]


def test_what_takes_the_place_of_one_thing_alone_replaces_it() -> None:
    before = build_framework()
    after = edit_one(renumber(before, "competencies", {"c1": "w"}), "competencies", "w", label="Quite another thing")
    ((suggestion),) = compare_states(before, after).suggestions
    assert (suggestion.kind, suggestion.before, suggestion.after, suggestion.score) == (
        "replaced",
        ("c1",),
        ("w",),
        1.0,
    )


def test_one_thing_below_makes_no_part() -> None:
    before = build_framework(requirements=[{"role": "r0", "competency": "c1", "level": 2}])
    after = edit_one(renumber(before, "competencies", {"c1": "w"}), "competencies", "w", label="Quite another thing")
    assert not compare_states(before, after).suggestions


def test_another_name_counts_nearly_as_the_label() -> None:
    before = edit_one(build_framework(), "competencies", "c2", alt_labels=("Fetch probes",))
    after = edit_one(renumber(before, "competencies", {"c2": "w"}), "competencies", "w", label="Fetch probes")
    ((suggestion),) = compare_states(before, after).suggestions
    assert (suggestion.label_score, suggestion.score) == (0.95, round(0.7 * 0.95 + 0.3, 4))


def test_what_mostly_came_from_elsewhere_is_no_part() -> None:
    before = build_framework(
        requirements=[{"role": f"r{r}", "competency": "c0", "level": 2} for r in range(4)], outcomes=[]
    )
    newcomer = replace(before.competencies["c0"], id="p1", label="Wash")
    others = [replace(before.roles["r0"], id=f"n{i}", label=f"Newcomer {i}") for i in range(3)]
    asked = replace(before.get_requirements("r0")[0], competency="p1")
    after = before.with_changes(
        put=[
            ("competencies", newcomer),
            *(("roles", role) for role in others),
            *(("requirements", replace(asked, role=role)) for role in ("r0", "r1", "n0", "n1", "n2")),
        ],
        remove=[("requirements", (f"r{r}", "c0")) for r in range(2)],
    )
    assert not compare_states(before, after).suggestions
    # one newcomer fewer, and half of it is from there
    assert tell(compare_states(before, after.with_changes(remove=[("requirements", ("n2", "p1"))])))


@pytest.mark.parametrize("few", [50, 0])
def test_of_many_those_that_share_a_word_or_a_neighbour_are_looked_at(
    monkeypatch: pytest.MonkeyPatch, few: int
) -> None:
    before = build_framework()
    after = renumber(before, "competencies", {"c0": "n0", "c1": "n1"})
    # asked by nobody now: only its words tell what it was
    gone = [("requirements", key) for key in after.get_table("requirements") if key[1] == "n1"]
    after = after.with_changes(remove=gone)
    monkeypatch.setattr(candidates, "_MOST_PAIRS", 0)
    monkeypatch.setattr(candidates, "_FEW", few)
    by_words = [("competencies", "same", ("c1",), ("n1",))] if few else []
    assert tell(compare_states(before, after)) == [("competencies", "same", ("c0",), ("n0",)), *by_words]


def test_equal_labels_weigh_more_than_another_name() -> None:
    before = edit_one(build_framework(), "competencies", "c0", alt_labels=("Operate pumps",))
    after = renumber(before, "competencies", {"c0": "n0"})
    (found,) = compare_states(before, after).suggestions
    assert found.label_score == 1.0


@pytest.mark.parametrize("few", [1, 2])
def test_a_word_that_more_labels_hold_brings_nothing_together(monkeypatch: pytest.MonkeyPatch, few: int) -> None:
    before = edit_one(build_framework(), "competencies", "c0", label="Repair valves")
    after = renumber(before, "competencies", {"c1": "n1"})
    gone: list[tuple[str, tuple[str, ...]]] = [("competencies", ("c0",)), ("outcomes", ("k0", "c0"))]
    gone += [("requirements", key) for key in after.get_table("requirements") if key[1] in ("c0", "n1")]
    after = after.with_changes(remove=gone)
    monkeypatch.setattr(candidates, "_MOST_PAIRS", 0)
    monkeypatch.setattr(candidates, "_FEW", few)
    assert [kind for _, kind, _, _ in tell(compare_states(before, after))] == ["same"] * (few - 1)


@pytest.mark.parametrize(("roles", "is_told"), [(8, True), (9, False)])
def test_a_split_is_told_where_its_parts_have_half_of_what_the_whole_had(roles: int, is_told: bool) -> None:
    names = [{"id": f"r{r}", "label": f"Role {r}"} for r in range(roles)]
    before = build_framework(
        roles=names, requirements=[{"role": f"r{r}", "competency": "c0", "level": 2} for r in range(roles)], outcomes=[]
    )
    parts = [replace(before.competencies["c0"], id=f"p{n}", label=label) for n, label in enumerate(("Wash", "Rinse"))]
    asked = [replace(before.get_requirements(f"r{r}")[0], competency=f"p{r // 2}") for r in range(4)]
    after = before.with_changes(
        put=[*(("competencies", part) for part in parts), *(("requirements", row) for row in asked)],
        remove=[("competencies", ("c0",)), *(("requirements", (f"r{r}", "c0")) for r in range(roles))],
    )
    expected = [("competencies", "split", ("c0",), ("p0", "p1"))] if is_told else []
    assert tell(compare_states(before, after)) == expected
    mirrored = [("competencies", "merge", ("p0", "p1"), ("c0",))] if is_told else []
    assert tell(compare_states(after, before)) == mirrored
