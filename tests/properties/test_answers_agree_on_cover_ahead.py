"""From which day on something that is short holds again, against cover asked for every day; who can, against cover."""

from __future__ import annotations

from datetime import timedelta

import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import load_scenario
from small_company import ON
from small_team import build_team
from team_over_time import team_over_time_rows

from ontology.analysis.cover.coverage import CoverageResult, compute_coverage
from ontology.analysis.cover.who_can import find_who_can
from ontology.analysis.outlook.cover_of_day import DAYS_LOOKED_AHEAD, compute_cover_of_day

Scope = tuple[str, int, str, str | None]


def list_states(result: CoverageResult) -> dict[Scope, str]:
    return {
        (need.competency, need.level, need.applies, row.shift): row.state
        for need in result.needs
        for row in need.shifts or (need,)
    }


@settings(max_examples=draws(60), deadline=None)
@given(st.data())
def test_what_is_short_holds_again_on_the_first_day_that_cover_says_so(data: st.DataObject) -> None:
    rows = data.draw(team_over_time_rows())
    snapshot = build_team(rows)
    ids = [row["id"] for row in rows["people"]]
    away = data.draw(st.frozensets(st.sampled_from(ids), max_size=1)) if ids else frozenset()
    # what is kept for a day with nobody supposed away is not told of another question
    compute_cover_of_day(snapshot, "t", ON)
    result = compute_cover_of_day(snapshot, "t", ON, away)
    assert list_states(result) == list_states(compute_coverage(snapshot, "t", ON, away))
    days = [ON + timedelta(days=n) for n in range(1, DAYS_LOOKED_AHEAD + 1)]
    by_day = [(day, list_states(compute_coverage(snapshot, "t", day, away))) for day in days]
    for need in result.needs:
        for row in need.shifts or (need,):
            key = need.competency, need.level, need.applies, row.shift
            first = next((day for day, states in by_day if states[key] != "short"), None)
            assert row.holds_again == (first if row.state == "short" else None)
        if need.shifts:
            assert need.holds_again == next(row for row in need.shifts if row.shift == need.shift).holds_again


@pytest.mark.parametrize("days", [0, 13, 60])
def test_who_can_do_what_a_team_needs_are_those_that_cover_calls_qualified(days: int) -> None:
    snapshot, on = load_scenario(), ON + timedelta(days=days)
    seen = 0
    for team in snapshot.teams:
        for need in compute_coverage(snapshot, team, on).needs:
            rows = find_who_can(snapshot, on, team=team, competency=need.competency, level=need.level).people
            if need.shift is not None:
                rows = tuple(row for row in rows if row.shift == need.shift)
            assert sorted(row.person for row in rows) == list(need.qualified)
            there = [row.person for row in rows if not row.is_absent and row.is_appointed is not False]
            assert sorted(there) == list(need.present)
            seen += len(rows)
    assert seen > 100


def test_who_is_supposed_away_is_so_on_every_day_that_comes() -> None:
    # Goran Adeyemi alone of the night crew holds the certificate: without him nothing brings it back
    snapshot, night = load_scenario(), ("cert-chlorine", 1, "each-shift", "treat-night")

    def find_day(away: frozenset[str]) -> object:
        result = compute_cover_of_day(snapshot, "treatment", ON, away)
        need = next(need for need in result.needs if (need.competency, need.applies) == (night[0], night[2]))
        days = {row.shift: row.holds_again for row in need.shifts}
        assert need.holds_again == days[need.shift]
        assert all(row.state == "short" for row in need.shifts if row.holds_again), "it holds on other crews now"
        return days[night[3]]

    assert find_day(frozenset()) == ON + timedelta(days=13)
    assert find_day(frozenset({"p013"})) is None
    assert find_day(frozenset({"p001"})) == ON + timedelta(days=13)
