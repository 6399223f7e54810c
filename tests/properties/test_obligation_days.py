"""Days on which something must be held or is met, and what is counted of rows, each found in two ways."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from datetime import timedelta
from typing import Any

import pytest
from obligation_companies import ON, build_company

from ontology.analysis.obligations.company_dues import count_company_obligations
from ontology.analysis.obligations.due_lists import find_person_obligations, find_team_obligations
from ontology.analysis.obligations.met import Evidence
from ontology.analysis.obligations.must_hold import find_days, find_must_hold
from ontology.analysis.obligations.rows import ObligationRow, sort_rows
from ontology.analysis.obligations.spans import find_span
from ontology.analysis.profiles.levels import find_ways

_SEEDS = 300
_BUNDLE = 50


@pytest.mark.parametrize("first", range(0, _SEEDS, _BUNDLE))
def test_days_counted_by_the_company_are_those_that_a_person_is_told(first: int) -> None:
    """The quick way for who belongs alike on all days says what the general one says."""
    for seed in range(first, first + _BUNDLE):
        snapshot = build_company(seed)
        for person_id in snapshot.people:
            told = {key: must.days for key, must in find_must_hold(snapshot, person_id).items() if must.days}
            assert dict(find_days(snapshot, person_id)) == told, (seed, person_id)


@pytest.mark.parametrize("first", range(0, _SEEDS, _BUNDLE))
def test_a_level_is_met_on_the_days_on_which_its_ways_say_so(first: int) -> None:
    """Own brute force: the level of every day of three years."""
    for seed in range(first, first + _BUNDLE, 25):
        snapshot = build_company(seed)
        days = [ON + timedelta(days=i) for i in range(-550, 600)]
        for person_id in snapshot.people:
            evidence = Evidence(snapshot, person_id)
            for competency in snapshot.competencies.values():
                ways = [find_ways(snapshot, person_id, competency, day) for day in days]
                for level in (1, 2):
                    met = evidence.find_met(competency.id, level)
                    told = [find_span(met, day.toordinal()) is not None for day in days]
                    assert told == [way.is_met(level) for way in ways], (seed, person_id, competency.id, level)


@pytest.mark.parametrize("first", range(0, _SEEDS, _BUNDLE))
def test_team_rows_are_those_of_its_people_and_the_company_counts_them_all(first: int) -> None:
    for seed in range(first, first + _BUNDLE):
        snapshot = build_company(seed)
        rows = [row for person in snapshot.people for row in find_person_obligations(snapshot, person, on=ON).rows]
        teams = {team: find_team_obligations(snapshot, team, on=ON) for team in snapshot.teams}
        of_teams = [row for result in teams.values() for row in result.rows]
        assert sort_rows(of_teams) == sort_rows(row for row in rows if row.team)
        assert all(row.team == team for team, result in teams.items() for row in result.rows)
        whole = find_team_obligations(snapshot, "t0", on=ON, parts=True)
        assert list(whole.rows) == sort_rows([*teams["t0"].rows, *teams["t1"].rows])
        company = count_company_obligations(snapshot, on=ON)
        by_team = {result.team or "": result for result in company.teams}
        by_competency = {result.competency: result for result in company.competencies}
        assert set(by_team) == {row.team or "" for row in rows}
        assert set(by_competency) == {row.competency for row in rows}
        for team, dues in by_team.items():
            assert get_figures(dues) == count_figures(row for row in rows if (row.team or "") == team)
        for competency, figures in by_competency.items():
            assert get_figures(figures) == count_figures(row for row in rows if row.competency == competency)
        assert (company.people, company.people_overdue) == count_figures(rows)[:2]


def get_figures(dues: Any) -> tuple[int, ...]:
    """Return what a row of the company's answer counts."""
    return tuple([getattr(dues, field.name) for field in dataclasses.fields(dues)][1:])


def count_figures(rows: Iterable[ObligationRow]) -> tuple[int, ...]:
    """Return the same counted from rows."""
    listed = list(rows)
    people = {row.person for row in listed}
    overdue = {row.person for row in listed if row.state == "overdue"}
    states = ("overdue", "within-30", "within-60", "within-90", "current", "later")
    return (len(people), len(overdue), *(sum(row.state == state for row in listed) for state in states))
