"""Levels kept with a Snapshot are those that would be computed afresh."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

from companies import build_company

from ontology.analysis import levels
from ontology.analysis.levels import get_level
from ontology.graph.live import Change, LiveGraph
from ontology.graph.snapshot import Snapshot
from ontology.tables import TABLES

ON = date(2026, 11, 24)


def ask_all(snapshot: Snapshot, on: date) -> dict[tuple[str, str], levels.LevelOnDate]:
    return {
        (person, competency.id): get_level(snapshot, person, competency, on)
        for person in snapshot.people
        for competency in snapshot.competencies.values()
    }


def compute_all(snapshot: Snapshot, on: date) -> dict[tuple[str, str], levels.LevelOnDate]:
    return {
        (person, competency.id): levels._compute_level(snapshot, person, competency, on)
        for person in snapshot.people
        for competency in snapshot.competencies.values()
    }


def test_asked_again_on_many_dates_the_levels_stay_the_same() -> None:
    snapshot = Snapshot(build_company(3))
    dates = [ON + timedelta(days=200 * step) for step in range(-4, 5)]
    for on in dates + dates[::-1] + dates:
        assert ask_all(snapshot, on) == compute_all(snapshot, on)
    assert len(levels._kept[snapshot]) <= levels._DATES_KEPT


def test_a_changed_graph_has_levels_of_its_own() -> None:
    graph = LiveGraph.in_memory()
    graph.load(build_company(3), who="test", why="start")
    before = graph.get_snapshot()
    held = ask_all(before, ON)
    person, competency = (
        next(iter(before.people)),
        next(c for c in before.competencies.values() if not c.is_certificate),
    )
    record = TABLES["assessments"].build(
        person=person, competency=competency.id, level=1, date=ON, source="certificate", assessor="x"
    )
    graph.apply(Change(put=(("assessments", record),)), who="test", why="assessed")
    after = graph.get_snapshot()
    assert get_level(after, person, competency, ON).basis == record
    assert ask_all(after, ON) == compute_all(after, ON)
    assert ask_all(before, ON) == held


def test_a_competency_that_is_not_the_graphs_own_is_judged_by_itself() -> None:
    snapshot = Snapshot(build_company(3))
    for (person, competency_id), known in ask_all(snapshot, ON).items():
        own = snapshot.competencies[competency_id]
        other = dataclasses.replace(own, kind="knowledge" if own.is_certificate else "certificate")
        assert get_level(snapshot, person, other, ON) == levels._compute_level(snapshot, person, other, ON)
        assert get_level(snapshot, person, own, ON) == known
