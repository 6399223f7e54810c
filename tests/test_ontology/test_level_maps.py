"""Levels of one scale read on another: maps, what is wrong with one, replacement and carrying across scales."""

from __future__ import annotations

import pytest
from two_scales import ON, build_graph, build_works, make, map_rows, replaced, retired

from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.levels import get_level
from ontology.checks.framework import check_framework
from ontology.errors import InputError, InUseError
from ontology.live.live_graph import Change
from ontology.live.retiring import Taker, plan_retirement
from ontology.snapshot.level_maps import find_level_map
from ontology.snapshot.snapshot import Snapshot


def list_faults(state: Snapshot) -> list[tuple[str, str]]:
    return [(f.column, f.value) for f in check_framework(state) if f.about[0] == "level_maps" and f.severity == "error"]


def test_all_faults_of_a_map_are_addressed() -> None:
    assert list_faults(build_works(*map_rows("craft", "short", (0, 1, 2)))) == []
    rows = map_rows("craft", "short", (2, 1, 3, 1))
    faults = [("to_rank", "1"), ("to_rank", "3"), ("from_rank", "4"), ("to_rank", "1")]
    assert list_faults(build_works(*rows)) == faults
    gap = build_works(*map_rows("long", "short", (0, 1, 1, 2, 2))[1:4:2])
    assert list_faults(gap) == [("from_rank", "1"), ("from_rank", "3"), ("from_rank", "5")]
    assert find_level_map(gap, "long", "short") is None
    itself = build_works(*map_rows("short", "short", (1, 1)))
    assert list_faults(itself) == [("to_scale", "short"), ("to_scale", "short")]


def test_what_is_carried_to_another_scale_is_read_by_the_maps_of_the_chain() -> None:
    maps = [*map_rows("craft", "short", (1, 1, 2)), *map_rows("short", "long", (3, 5))]
    state = build_works(*maps, make("requirements", role="rigger", competency="lever", level=5))
    gone = [retired(state, i) for i in ("pump", "drum")]
    after = state.with_changes(put=[*gone, replaced("pump", "drum"), replaced("drum", "lever")])
    known = get_level(after, "p1", after.competencies["lever"], ON)
    # 3 on craft is 2 on short, and that is 5 on long
    assert (known.level, known.carried_from) == (5, "pump")
    (row,) = (row for row in compute_gap(after, "rigger", person_id="p1", on=ON).gaps if row.competency == "lever")
    assert (row.have, row.gap, row.carried_from) == (5, 0, "pump")
    without = after.with_changes(remove=[("level_maps", ("short", "long", 2))])
    assert get_level(without, "p1", without.competencies["lever"], ON).level is None
    wrong = [f for f in check_framework(without) if f.about[0] == "replacements"]
    assert [(f.about[2:], f.column) for f in wrong] == [(("drum", "lever"), "new")]


def test_what_names_a_retired_competency_names_the_other_at_the_level_of_the_map() -> None:
    law = make("obligations", id="law", label="Law", competency="hoist", level=1, rule="role", of="rigger")
    state = build_works(*map_rows("craft", "short", (0, 1, 1)), law)
    change = plan_retirement(state, "competencies", "hoist", [Taker("drum")], "Drums.", ON)
    after = state.with_changes(change.put, change.remove)
    (asked,) = (row for row in after.get_requirements("operator") if row.competency == "drum")
    assert (asked.level, asked.entry_level, asked.unsupervised_level) == (1, 0, 1)
    assert [(row.competency, row.level) for row in after.get_outcomes("hoisting")] == [("drum", 1)]
    assert after.get_entry_conditions("hoisting") == ()  # below the first rank nothing is asked
    assert [(n.competency, n.level, n.minimum) for n in after.get_cover_needs("works")] == [("drum", 1, 2)]
    assert after.obligations["law"].level == 1  # the law is not mapped away
    with pytest.raises(InputError, match="no whole map") as refused:
        plan_retirement(state, "competencies", "hoist", [Taker("lever")], "", ON)
    assert refused.value.context["parameter"] == "replaced_by"


def test_a_map_that_levels_are_read_by_stays_whole() -> None:
    state = build_works(*map_rows("craft", "short", (0, 1, 1)))
    gone = [retired(state, "hoist"), replaced("hoist", "drum")]
    changed = state.with_changes(put=gone)
    # what names the retired one goes with it
    rows = [
        (name, key)
        for name in ("requirements", "outcomes", "entry_conditions", "cover_needs")
        for key, row in changed.get_table(name).items()
        if row.competency == "hoist"
    ]
    graph = build_graph(*map_rows("craft", "short", (0, 1, 1)))
    graph.apply(Change(put=tuple(gone), remove=tuple(rows)), who="t", why="w")
    one = ("level_maps", ("craft", "short", 1))
    with pytest.raises(InUseError, match="hoist~drum"):
        graph.apply(Change(remove=(one,)), who="t", why="w")
    graph.apply(Change(remove=(("replacements", ("competencies", "hoist", "drum")),)), who="t", why="w")
    whole = tuple(("level_maps", ("craft", "short", rank)) for rank in (1, 2, 3))
    graph.apply(Change(remove=whole), who="t", why="w")
    assert not graph.get_snapshot().get_table("level_maps")
