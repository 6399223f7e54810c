"""Stand-ins, fragile needs and the company's cover against plain counting on random companies of three teams."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import timedelta
from itertools import combinations, pairwise
from typing import Any

from effort import draws
from few_teams import TEAMS, few_teams_rows
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import Rows, assess, build_team
from team_over_time import DAYS, team_over_time_rows
from what_holds import get_holding

from ontology.analysis.cover.coverage import STATES, NeedScope, build_need_scopes, compute_coverage
from ontology.analysis.cover.fragile_needs import compute_fragile_needs
from ontology.analysis.cover.holders import build_company_levels, iterate_holders
from ontology.analysis.cover.presence import get_presence, is_absent, is_employed
from ontology.analysis.outlook.company_cover import CompanyCoverResult, build_company_day, compute_company_cover
from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.places.stand_ins import StandIn, find_stand_ins
from ontology.analysis.profiles.levels import get_level
from ontology.analysis.profiles.profile import build_profile
from ontology.snapshot.snapshot import Snapshot

MANY = settings(max_examples=draws(50), deadline=None)


class Plain:
    """A company as sets, worked out from the rows again."""

    def __init__(self, rows: Rows, away: frozenset[str] = frozenset()) -> None:
        self.rows = rows
        self.people = {row["id"]: row for row in rows["people"]}
        employed = {p for p, row in self.people.items() if row.get("end_date") is None}
        self.there = employed - {row["person"] for row in rows["absences"]} - away
        self.employed = employed
        self.levels = {(row["person"], row["competency"]): row["level"] for row in rows["assessments"]}

    def get_qualified(self, competency: str, level: int) -> set[str]:
        return {p for p in self.there if self.levels.get((p, competency), 0) >= level}

    def is_able(self, person: str) -> bool:
        return all(self.levels.get((person, c), 0) >= 1 for c in "ab")


def draw_away(data: st.DataObject, rows: Rows) -> frozenset[str]:
    return data.draw(st.frozensets(st.sampled_from([row["id"] for row in rows["people"]]), max_size=1))


def build_scopes(snapshot: Snapshot, away: frozenset[str] = frozenset()) -> list[NeedScope]:
    """Return every team's needs, asked for team by team."""
    return [s for team in snapshot.teams for s in build_need_scopes(get_presence(snapshot, team, ON, away))]


@MANY
@given(few_teams_rows(), st.data())
def test_stand_ins_are_all_who_qualify_and_are_there(rows: Rows, data: st.DataObject) -> None:
    away = draw_away(data, rows)
    plain, snapshot = Plain(rows, away), build_team(rows)
    for person in sorted(plain.employed):
        team = plain.people[person]["team"]
        result = find_stand_ins(snapshot, team, ON, person_id=person, away=away)
        counted = [
            scope for scope in build_need_scopes(get_presence(snapshot, team, ON, away)) if person in scope.qualified
        ]
        assert [(n.competency, n.level, n.shift) for n in result.needs] == [
            (s.need.competency, s.need.level, s.shift) for s in counted
        ]
        for need, scope in zip(result.needs, counted, strict=True):
            expected = plain.get_qualified(need.competency, need.level) - {person}
            order = sorted(expected, key=lambda p: (plain.people[p]["team"] != team, plain.people[p]["team"], p))
            assert [row.person for row in need.stand_ins] == order
            assert need.found == len(order)
            assert need.depth_without == len(set(scope.present) - {person})
            assert need.is_short_without == (need.depth_without < need.minimum)
            for row in need.stand_ins:
                assert row.counts_already == (row.person in scope.present)
                assert row.is_own_team == (plain.people[row.person]["team"] == team)
                (basis,) = row.levels
                assert (basis.have, basis.source) == (plain.levels[row.person, need.competency], "assessor")
        for place in result.places:
            assert plain.is_able(person)
            able = {p for p in plain.there if plain.is_able(p)} - {person}
            assert {row.person for row in place.stand_ins} == able
        shifts = [row["shift"] for row in rows["places"] if row["team"] == team]
        in_shift = any(shift in ("", plain.people[person]["shift"]) for shift in shifts)
        assert bool(result.places) == (plain.is_able(person) and in_shift)


def check_left(snapshot: Snapshot, row: StandIn, away: frozenset[str]) -> None:
    """What a stand-in leaves behind is what coverage and staffing of their team lose without them."""
    if not row.team:
        assert (row.leaves_needs, row.leaves_places, row.leaves_together) == ((), (), ())
        return
    before, after = (get_holding(snapshot, row.team, gone) for gone in (away, away | {row.person}))
    assert {(n.competency, n.level, n.applies, n.shift) for n in row.leaves_needs} == before[0] - after[0]
    assert Counter(row.leaves_places) == before[1] - after[1]
    told = Counter({(n.competency, n.level, n.shift, n.together): n.slots for n in row.leaves_together})
    assert told == before[2] - after[2]


@MANY
@given(few_teams_rows(), st.data())
def test_what_stand_ins_leave_behind_and_who_could_be_lent_is_what_the_other_answers_find(
    rows: Rows, data: st.DataObject
) -> None:
    away, snapshot = draw_away(data, rows), build_team(rows)
    for person in snapshot.people.values():
        if not is_employed(person, ON):
            continue
        result = find_stand_ins(snapshot, person.team, ON, person_id=person.id, away=away)
        for asked in (*result.needs, *result.places):
            others = [row for row in asked.stand_ins if not row.is_own_team]
            for row in asked.stand_ins:
                check_left(snapshot, row, away)
            assert [lent.team for lent in asked.lending] == sorted({row.team for row in others})
            for lent in asked.lending:
                there = [row.person for row in others if row.team == lent.team]
                assert lent.qualified == len(there)
                check_lent(snapshot, lent.team, there, lent.could_be_lent, away)


def check_lent(
    snapshot: Snapshot, team: str, people: Iterable[str], lent: tuple[str, ...], away: frozenset[str]
) -> None:
    """Lending the people named breaks nothing, and every larger set of those who qualify breaks something."""
    before = get_holding(snapshot, team, away)
    assert set(lent) <= set(people)
    assert get_holding(snapshot, team, away | set(lent)) == before
    for group in combinations(sorted(people), len(lent) + 1):
        assert get_holding(snapshot, team, away | set(group)) != before


@MANY
@given(few_teams_rows(), st.sampled_from(["criticality", "chance", "distance"]), st.sampled_from([None, 0.0, 0.2]))
def test_fragile_needs_are_all_needs_with_the_nearest_person_by_hours(rows: Rows, order: Any, rate: Any) -> None:
    snapshot = build_team(rows)
    for team in TEAMS:
        result = compute_fragile_needs(snapshot, team, ON, absence_rate=rate, order_by=order)
        presence = get_presence(snapshot, team, ON)
        scopes = {(s.need.competency, s.need.level, s.need.applies, s.shift): s for s in build_need_scopes(presence)}
        assert {(n.competency, n.level, n.applies, n.shift) for n in result.needs} == set(scopes)
        for need in result.needs:
            scope = scopes[need.competency, need.level, need.applies, need.shift]
            people = [p.id for p in presence.get_scope(scope.shift) if p.id not in scope.qualified]
            paths = {
                p: find_path_to_levels(snapshot, build_profile(snapshot, p, ON), {need.competency: need.level})
                for p in (people if scope.has_scope else [])
            }
            hours = {p: path.study_hours for p, path in paths.items() if path.status != "unreachable"}
            if hours:
                assert need.next_best is not None
                assert (need.next_best.study_hours, need.next_best.person) == min((h, p) for p, h in hours.items())
            else:
                assert need.next_best is None
                assert need.reason
        check_order(order, result.needs)


def check_order(order: str, needs: Any) -> None:
    """Neighbours of the list never stand the other way round in what comes first."""
    for before, after in pairwise(needs):
        if order == "criticality":
            assert before.criticality >= after.criticality
        if order == "chance":
            if before.chance is None:
                assert before.depth - before.minimum <= after.depth - after.minimum
            else:
                assert before.chance <= after.chance
        if order == "distance" and before.next_best and after.next_best:
            assert before.next_best.study_hours >= after.next_best.study_hours


@MANY
@given(few_teams_rows(), st.sampled_from([*TEAMS]), st.sampled_from([0.0, 0.1, 0.9]))
def test_another_qualified_person_never_lowers_depth_or_chance(rows: Rows, team: str, rate: float) -> None:
    shifts = [row["id"] for row in rows["shifts"] if row["team"] == team]
    more = {
        "people": [{"id": "z", "name": "z", "team": team, "shift": shifts[0] if shifts else ""}],
        "assessments": [assess("z", c, 5) for c in "ab"],
    }
    results = [compute_fragile_needs(build_team(rows, **extra), team, ON, absence_rate=rate) for extra in ({}, more)]
    before, after = ({(n.competency, n.level, n.applies, n.shift): n for n in r.needs} for r in results)
    for key, need in before.items():
        assert after[key].depth >= need.depth
        assert need.chance is not None
        assert (after[key].chance or 0.0) >= need.chance - 1e-12


@MANY
@given(few_teams_rows(), st.data())
def test_company_cover_is_that_of_every_team(rows: Rows, data: st.DataObject) -> None:
    away = draw_away(data, rows)
    snapshot = build_team(rows)
    scopes = list(build_company_day(snapshot, ON, away).scopes)
    assert scopes == build_scopes(snapshot, away)
    result = compute_company_cover(snapshot, ON, away=away, limit=200)
    assert result.needs_found == len(scopes) == len(result.needs)
    assert {row.state: row.needs for row in result.states} == {
        state: sum(scope.state == state for scope in scopes) for state in STATES
    }
    keys = [(STATES.index(need.state), -need.criticality) for need in result.needs]
    assert keys == sorted(keys)
    for need in result.needs:
        (row,) = [
            row
            for row in compute_coverage(snapshot, need.team, ON, away).needs
            if (row.competency, row.level, row.applies) == (need.competency, need.level, need.applies)
        ]
        told = {shift.shift: (shift.depth, shift.state) for shift in row.shifts} or {row.shift: (row.depth, row.state)}
        assert told[need.shift] == (need.depth, need.state)
    check_holding(Plain(rows, away), scopes, result)
    check_lenders(Plain(rows, away), snapshot, result)
    check_near(snapshot, Plain(rows, away), result)


def check_holding(plain: Plain, scopes: list[NeedScope], result: CompanyCoverResult) -> None:
    expected: dict[str, set[tuple[str, str, str | None, bool]]] = {}
    for scope in scopes:
        need = scope.need
        if scope.depth > need.minimum:
            continue
        others = plain.get_qualified(need.competency, need.level) - set(scope.present)
        holders = {(p, True) for p in scope.present} if scope.depth == need.minimum else set()
        if len(others) == 1 and plain.people[min(others)]["team"] != need.team:
            holders.add((min(others), False))
        for person, as_member in holders:
            expected.setdefault(person, set()).add((need.team, need.competency, scope.shift, as_member))
    several = {p: holds for p, holds in expected.items() if len({team for team, *_ in holds}) > 1}
    assert [person.id for person in result.holding] == sorted(several)
    for person in result.holding:
        assert {(h.team, h.competency, h.shift, h.as_member) for h in person.holds} == several[person.id]
        assert person.teams == tuple(sorted({h.team for h in person.holds}))


def check_lenders(plain: Plain, snapshot: Snapshot, result: CompanyCoverResult) -> None:
    for need in result.needs:
        qualified = plain.get_qualified(need.competency, need.level)
        teams = {plain.people[p]["team"] for p in qualified} - {need.team}
        for lender in need.lenders:
            mine = {p for p in qualified if plain.people[p]["team"] == lender.team}
            spare = tuple(row.person for row in lender.people if row.is_spare)
            assert (lender.qualified, lender.spare) == (len(mine), len(spare))
            assert {row.person for row in lender.people} == mine
            away = frozenset(result.away)
            check_lent(snapshot, lender.team, mine, spare, away)
            short = {
                (s.need.competency, s.need.level, s.need.applies, s.shift)
                for s in build_need_scopes(get_presence(snapshot, lender.team, ON, away))
                if s.is_short and set(spare) & set(s.present)
            }
            assert {(n.competency, n.level, n.applies, n.shift) for n in lender.worsens} == short
            assert all(row.study_hours <= result.within_hours for row in lender.near_people)
            assert all(plain.people[row.person]["team"] == lender.team for row in lender.near_people)
            assert lender.near == len(lender.near_people)
        assert teams <= {lender.team for lender in need.lenders}
        assert need.lenders_found == len(need.lenders)
    spare_of = {(lender.team, need.team) for need in result.needs for lender in need.lenders if lender.spare}
    pairs = sorted({(a, b) for a, b in spare_of if a < b and (b, a) in spare_of})
    assert [(pair.team, pair.other) for pair in result.exchanges] == pairs


def check_near(snapshot: Snapshot, plain: Plain, result: CompanyCoverResult) -> None:
    for need in result.needs:
        near = {}
        for person in plain.there:
            if plain.people[person]["team"] == need.team:
                continue
            if 1 <= plain.levels.get((person, need.competency), 0) < need.level:
                profile = build_profile(snapshot, person, ON)
                path = find_path_to_levels(snapshot, profile, {need.competency: need.level})
                if path.status != "unreachable" and path.study_hours <= result.within_hours:
                    near[person] = path.study_hours
        told = {row.person: row.study_hours for lender in need.lenders for row in lender.near_people}
        assert told == near


@MANY
@given(team_over_time_rows(other_people=2), st.integers(-45, DAYS), st.data())
def test_levels_of_all_at_once_are_those_of_each(rows: Rows, days: int, data: st.DataObject) -> None:
    for row in rows["assessments"]:
        if data.draw(st.integers(0, 3)) == 0:
            row["source"] = data.draw(st.sampled_from(["certificate", "assessor", "manager", "self", "unstated"]))
    snapshot, on = build_team(rows), ON + timedelta(days=days)
    asked = data.draw(st.sets(st.sampled_from(sorted(snapshot.competencies))))
    levels = build_company_levels(snapshot, on, asked)
    assert levels == {
        competency: {
            person: level
            for person in snapshot.people
            if (level := get_level(snapshot, person, snapshot.competencies[competency], on).level)
        }
        for competency in asked
    }
    for competency, held in levels.items():
        there = [
            person
            for person, level in held.items()
            if level >= 2 and is_employed(snapshot.people[person], on) and not is_absent(snapshot, person, on)
        ]
        assert [person.id for person, _ in iterate_holders(snapshot, competency, 2, on)] == there
