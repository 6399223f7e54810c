"""A competency that moves to another scale, and a scale with other ranks: drafted, published, undone, made directly."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from two_scales import ON, build_graph, make, map_rows

from ontology.analysis.profiles.levels import get_level
from ontology.errors import FindingsError, InUseError
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.publishing import publish_draft
from ontology.live.scale_changes import plan_move, plan_ranks
from ontology.snapshot.snapshot import Snapshot

TO_SHORT = {1: 0, 2: 1, 3: 2}


def draft(graph: LiveGraph, draft_id: str, change: Change | None = None, **begun: Any) -> Snapshot:
    graph.drafts.start(draft_id, "A draft", who="Ada", **begun)
    if change is not None:
        graph.drafts.edit(draft_id, change, who="Ada", why="scale")
    return graph.drafts.get_state(draft_id).snapshot


def publish(graph: LiveGraph, draft_id: str) -> Snapshot:
    publish_draft(graph, draft_id, f"v-{draft_id}", who="Ada", reason="Because.")
    return graph.get_snapshot()


def move(graph: LiveGraph, draft_id: str = "d", ranks: dict[int, int] | None = None) -> Snapshot:
    """Draft that hoists are measured on the short scale."""
    present = graph.get_snapshot()
    return draft(graph, draft_id, plan_move(present, present, "hoist", "short", TO_SHORT if ranks is None else ranks))


def list_levels(state: Snapshot, competency: str = "hoist") -> list[tuple[Any, ...]]:
    rows = [("needs", row.level, row.minimum) for row in state.get_cover_needs("works") if row.competency == competency]
    for name in ("requirements", "outcomes", "entry_conditions", "assessments"):
        found = [row for row in state.get_table(name).values() if row.competency == competency]
        rows += [(name, row.level, getattr(row, "person", "")) for row in found]
    return rows


def test_with_a_map_all_that_is_recorded_is_read_on_the_new_scale() -> None:
    graph = build_graph()
    before = graph.get_snapshot()
    view = move(graph)
    (asked,) = (row for row in view.get_requirements("operator") if row.competency == "hoist")
    assert (asked.level, asked.entry_level, asked.unsupervised_level) == (2, 0, 1)
    levels = [("needs", 1, 2), ("needs", 2, 1), ("requirements", 2, ""), ("outcomes", 1, "")]
    # the entry condition at the lowest rank asks nothing on the new scale; the draft shows people as they would be
    levels += [("assessments", 0, "p1"), ("assessments", 2, "p1"), ("assessments", 1, "p2")]
    assert list_levels(view) == levels
    assert graph.get_snapshot() == before
    after = publish(graph, "d")
    assert after == view
    assert get_level(after, "p1", after.competencies["hoist"], ON).level == 2
    assert not graph.drafts.list_all()[0].settled


def test_without_a_whole_map_it_is_refused_and_says_what_is_recorded() -> None:
    graph = build_graph()
    present = graph.get_snapshot()
    for ranks in (None, {1: 1, 2: 2}, {1: 2, 2: 1, 3: 2}, {1: 1, 2: 1, 3: 3}):
        with pytest.raises(InUseError) as refused:
            plan_move(present, present, "hoist", "short", ranks)
        assert ("requirements", "operator~hoist") in refused.value.users
        assert [name for name, _ in refused.value.users].count("assessments") == 3
    moved = replace(present.competencies["hoist"], scale="short")
    with pytest.raises(InUseError, match="whole map"):
        graph.apply(Change((("competencies", moved),)), who="Ada", why="w")
    # a draft takes it, and is not published so
    draft(graph, "d", Change((("competencies", moved),)))
    with pytest.raises(FindingsError) as faults:
        publish(graph, "d")
    assert {finding.about for finding in faults.value.findings} >= {("competencies", "hoist")}
    view = graph.drafts.get_state("d").snapshot
    graph.drafts.edit("d", plan_move(present, view, "hoist", "short", TO_SHORT), who="Ada", why="the map")
    assert list_levels(publish(graph, "d")) == list_levels(move_directly())


def move_directly() -> Snapshot:
    graph = build_graph(*map_rows("craft", "short", (0, 1, 2)))
    moved = replace(graph.get_snapshot().competencies["hoist"], scale="short")
    graph.apply(Change((("competencies", moved),)), who="Ada", why="w")
    return graph.get_snapshot()


def test_made_directly_it_is_the_same_as_drafted_and_published() -> None:
    graph = build_graph(*map_rows("craft", "short", (0, 1, 2)))
    move(graph)
    assert publish(graph, "d") == move_directly()


def test_an_undo_brings_back_what_nobody_changed_since() -> None:
    graph = build_graph()
    before = graph.get_snapshot()
    # 3 and 2 become 1 both: as two assessments of one day they would be one
    twin = make("assessments", person="p1", competency="hoist", level=2, date=date(2026, 5, 20), source="assessor")
    graph.apply(Change((twin,)), who="Ada", why="w")
    before = graph.get_snapshot()
    move(graph, ranks={1: 0, 2: 1, 3: 1})
    after = publish(graph, "d")
    assert list_levels(after)[-3:] == [("assessments", 0, "p1"), ("assessments", 1, "p1"), ("assessments", 1, "p2")]
    draft(graph, "back", undo_of="v-d")
    assert publish(graph, "back") == before
    draft(graph, "forth", undo_of=str(graph.get_snapshot().revision))
    assert publish(graph, "forth") == after


def test_for_what_came_since_an_undo_needs_a_map_back() -> None:
    graph = build_graph()
    move(graph)
    publish(graph, "d")
    late = make("assessments", person="p2", competency="hoist", level=2, date=date(2026, 11, 2), source="assessor")
    asked = make("requirements", role="rigger", competency="hoist", level=2)
    graph.apply(Change((late, asked)), who="Ada", why="w")
    view = draft(graph, "back", undo_of="v-d")
    with pytest.raises(FindingsError) as refused:
        publish(graph, "back")
    told = [f.reason for f in refused.value.findings if f.about == ("competencies", "hoist")]
    assert ["1 requirement, 1 assessment" in one for one in told] == [True]
    back = plan_move(graph.get_snapshot(), view, "hoist", "craft", {1: 2, 2: 3})
    graph.drafts.edit("back", back, who="Ada", why="the map back")
    after = publish(graph, "back")
    assert after.get_record("requirements", ("rigger", "hoist")).level == 3
    levels = [(row.person, row.level) for row in after.get_table("assessments").values() if row.competency == "hoist"]
    assert levels == [("p1", 1), ("p1", 3), ("p2", 2), ("p2", 3)]


def test_what_somebody_changed_since_is_read_back_and_not_brought_back() -> None:
    graph = build_graph()
    move(graph, ranks={1: 1, 2: 1, 3: 2})
    after = publish(graph, "d")
    (one,) = (row for row in after.get_assessments("p2", "hoist"))
    graph.apply(Change((("assessments", replace(one, evidence="file 7")),)), who="Ada", why="w")
    view = draft(graph, "back", undo_of="v-d")
    graph.drafts.edit("back", plan_move(graph.get_snapshot(), view, "hoist", "craft", {1: 1, 2: 3}), who="A", why="m")
    back = publish(graph, "back")
    # it was 2 before, and 1 is read as 1; what nobody touched is 1 and 3 again
    told = [(row.person, row.level, row.evidence) for row in back.get_table("assessments").values()]
    assert [row for row in told if row[0] == "p2"] == [("p2", 1, "file 7"), ("p2", 1, "")]
    assert [row.level for row in back.get_assessments("p1", "hoist")] == [1, 3]


def test_an_undo_leaves_what_the_commit_brought_itself() -> None:
    graph = build_graph(*map_rows("craft", "short", (0, 1, 2)), *map_rows("short", "craft", (2, 3)))
    before = graph.get_snapshot()
    moved = ("competencies", replace(before.competencies["hoist"], scale="short"))
    own = make("assessments", person="p2", competency="hoist", level=2, date=date(2026, 11, 2), source="assessor")
    graph.apply(Change((moved, own)), who="Ada", why="both at once")
    draft(graph, "back", undo_of=str(graph.get_snapshot().revision))
    after = publish(graph, "back")
    left = [row for key, row in after.get_table("assessments").items() if key not in before.get_table("assessments")]
    assert [(row.person, row.level, row.date) for row in left] == [("p2", 3, date(2026, 11, 2))]
    assert set(before.get_table("assessments")) < set(after.get_table("assessments"))


def test_what_others_ask_meanwhile_is_told_and_read_when_it_is_asked_again() -> None:
    graph = build_graph()
    move(graph)
    graph.apply(Change((make("requirements", role="rigger", competency="hoist", level=3),)), who="Ben", why="w")
    with pytest.raises(FindingsError) as refused:
        publish(graph, "d")
    assert ["1 requirement" in f.reason for f in refused.value.findings if f.about[0] == "competencies"] == [True]
    view = graph.drafts.get_state("d").snapshot
    graph.drafts.edit("d", plan_move(graph.get_snapshot(), view, "hoist", "short"), who="Ada", why="again")
    assert publish(graph, "d").get_record("requirements", ("rigger", "hoist")).level == 2


def list_ranks(graph: LiveGraph) -> list[Any]:
    return [row for _, row in (make("scales", scale="craft", rank=i, label=f"New {i}") for i in (1, 2))]


def test_ranks_of_a_scale_become_others_by_a_map_to_itself_that_is_not_kept() -> None:
    graph = build_graph()
    before = graph.get_snapshot()
    with pytest.raises(InUseError, match="level 3"):
        plan_ranks(before, before, "craft", list_ranks(graph))
    with pytest.raises(InUseError, match="rank 3 of scale craft is missing"):
        plan_ranks(before, before, "craft", list_ranks(graph), {1: 1, 2: 2})
    view = draft(graph, "d", plan_ranks(before, before, "craft", list_ranks(graph), TO_SHORT))
    assert view.get_record("level_maps", ("craft", "craft", 3)).to_rank == 2
    after = publish(graph, "d")
    assert not after.get_table("level_maps")
    assert [level.label for level in after.scales["craft"]] == ["New 1", "New 2"]
    assert list_levels(after, "pump") == [("requirements", 1, ""), ("assessments", 2, "p1"), ("assessments", 0, "p2")]
    draft(graph, "back", undo_of="v-d")
    assert publish(graph, "back") == before


def test_ranks_that_change_twice_in_a_draft_are_read_by_both_maps() -> None:
    graph = build_graph()
    before = graph.get_snapshot()
    view = draft(graph, "d", plan_ranks(before, before, "craft", list_ranks(graph), TO_SHORT))
    more = [row for _, row in (make("scales", scale="craft", rank=i, label=f"Newer {i}") for i in (1, 2, 3, 4))]
    again = plan_ranks(before, view, "craft", more, {1: 2, 2: 4})
    graph.drafts.edit("d", again, who="Ada", why="twice")
    after = publish(graph, "d")
    assert list_levels(after, "pump") == [("requirements", 2, ""), ("assessments", 4, "p1"), ("assessments", 0, "p2")]


def test_a_load_with_a_map_of_a_scale_to_itself_reads_levels_in_one_commit() -> None:
    graph = build_graph()
    records: dict[str, list[Any]] = {}
    for name, record in graph.get_snapshot().iterate_records():
        records.setdefault(name, []).append(record)
    more = [row for _, row in (make("scales", scale="craft", rank=i, label=f"Wide {i}") for i in (1, 2, 3, 4))]
    records["scales"] = [level for level in records["scales"] if level.scale != "craft"] + more
    records["level_maps"] = [row for _, row in map_rows("craft", "craft", (1, 2, 4))]
    graph.load(records, who="Ada", why="a load")
    after = graph.get_snapshot()
    assert not after.get_table("level_maps")
    assert list_levels(after, "pump") == [("requirements", 2, ""), ("assessments", 4, "p1"), ("assessments", 1, "p2")]
