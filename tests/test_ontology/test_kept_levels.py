"""Levels kept with a Snapshot are those that would be computed afresh."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import pytest
from companies import build_company

from ontology.analysis.profiles import own_levels as levels
from ontology.analysis.profiles.levels import _DATES_KEPT, get_level, get_ranks
from ontology.errors import UnknownIdError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

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


def test_on_the_days_around_every_change_the_levels_are_those_computed_afresh() -> None:
    """The day before, the day itself and the day after: of assessments, of ends of validity and of renewal."""
    for seed in (3, 8, 21):
        snapshot = Snapshot(build_company(seed))
        for record in snapshot.get_table("assessments").values():
            competency = snapshot.competencies[record.competency]
            days = levels.find_own_days(snapshot, record.person, competency)
            for day in sorted({day + step for day in days for step in (-1, 0, 1)}, key=lambda day: (day % 7, day)):
                on = date.fromordinal(day)
                known = levels._compute_level(snapshot, record.person, competency, on)
                assert get_level(snapshot, record.person, competency, on) == known
                assert get_level(snapshot, record.person, competency, on) is get_level(
                    snapshot, record.person, competency, on
                )


def test_the_ranks_of_a_date_are_its_levels_and_those_of_few_dates_are_kept() -> None:
    snapshot = Snapshot(build_company(3))
    for on in [ON + timedelta(days=200 * step) for step in range(-4, 5)] * 2:
        ranks = get_ranks(snapshot, on)
        for pair, known in ask_all(snapshot, on).items():
            assert ranks[pair] == ranks[pair] == (known.level or 0)
        assert get_ranks(snapshot, on) is ranks
        assert len(snapshot.keep("ranks by date", dict)) <= _DATES_KEPT
    with pytest.raises(UnknownIdError):
        get_ranks(snapshot, ON)[next(iter(snapshot.people)), "no-such"]


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
