"""Levels, belonging, cover, staffing and trainees of random companies against plain loops, day by day."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date
from itertools import product

import networkx as nx
import pytest
from brute_meanings import TeamDay, find_levels, find_met, find_place_of
from drawn_companies import IDS, Rows
from rich_companies import draw_rich_rows, list_days_of_change
from small_company import ON, build_snapshot

from ontology.analysis.cover.coverage import CoverageRow, ShiftCover, compute_coverage
from ontology.analysis.cover.holders import build_company_levels
from ontology.analysis.cover.presence import is_employed
from ontology.analysis.places.staffing import StaffingResult, compute_staffing
from ontology.analysis.profiles.belonging import get_person_on, is_contractor
from ontology.analysis.profiles.levels import build_levels, find_ways, get_level
from ontology.snapshot.snapshot import Snapshot

#: Drawn in so many parts, so that what fails is found soon.
PARTS = 10
SEEDS_OF_PART = 30


def draw_case(seed: int) -> tuple[Rows, list[date]]:
    """Return a company and days to ask about: with several assessments of one day, of every source, in the rows."""
    rows = draw_rich_rows(seed)
    rng = random.Random(f"meanings {seed}")
    for person in rows["people"]:
        for competency in IDS:
            if rng.random() < 0.3:
                day = rng.choice([row["date"] for row in rows["assessments"]])
                sources = rng.sample(["certificate", "assessor", "manager", "self", "unstated"], 2)
                for source, assessor in product(sources, rng.choice([["e"], ["e", "f"]])):
                    row = {"person": person["id"], "competency": competency, "date": day, "source": source}
                    rows["assessments"].append(row | {"level": rng.randint(1, 3), "assessor": assessor})
    days = list_days_of_change(rows)
    return rows, sorted({ON, *rng.sample(days, min(len(days), 3))})


def list_cases(part: int) -> list[int]:
    return list(range(part * SEEDS_OF_PART, (part + 1) * SEEDS_OF_PART))


@pytest.mark.parametrize("part", range(PARTS))
def test_answers_of_a_day_are_what_plain_loops_find(part: int) -> None:
    for seed in list_cases(part):
        rows, days = draw_case(seed)
        snapshot = build_snapshot(**rows)
        for day in days:
            try:
                check_levels(rows, snapshot, day)
                check_belonging(rows, snapshot, day)
                for team in "tu":
                    check_team(rows, snapshot, team, day)
            except AssertionError as error:
                raise AssertionError(f"company {seed} on {day}") from error


def check_levels(rows: Rows, snapshot: Snapshot, day: date) -> None:
    of_all = build_company_levels(snapshot, day, IDS)
    for person in snapshot.people:
        ways, met = find_levels(rows, person, day), find_met(rows, person, day)
        known = {i: get_level(snapshot, person, snapshot.competencies[i], day) for i in IDS}
        for i, level in known.items():
            about = level.level, level.state, level.by_equivalence
            assert about in [(way.level, way.state, way.by) for way in ways[i]], (person, i)
            ends = {None if way.basis is None else way.basis.get("valid_until") for way in ways[i]}
            assert (None if level.basis is None else level.basis.valid_until) in ends, (person, i)
            assert of_all[i].get(person, 0) == (ways[i][0].level or 0)
            for asked in (1, 2, 3):
                told = find_ways(snapshot, person, snapshot.competencies[i], day).is_met(asked)
                assert told == (met[i] >= asked), (person, i, asked)
        every = build_levels(snapshot, person, day)
        assert all(every.get(i, level) == level for i, level in known.items())
        assert {i for i, level in known.items() if level.level is not None} <= every.keys()


def check_belonging(rows: Rows, snapshot: Snapshot, day: date) -> None:
    for person_id in snapshot.people:
        there = find_place_of(rows, person_id, day)
        person = get_person_on(snapshot, person_id, day)
        assert is_employed(person, day) == (there is not None)
        if there is not None:
            assert (person.team, person.shift, person.role) == (there.team, there.shift, there.role)
            assert is_contractor(snapshot, person_id, day) == (there.kind == "contractor")


def check_team(rows: Rows, snapshot: Snapshot, team: str, day: date) -> None:
    """Coverage of every need where it counts, and staffing: as many slots filled as can be, by those who can."""
    there = TeamDay(rows, team, day)
    coverage = compute_coverage(snapshot, team, day)
    assert set(coverage.absent) == set(there.shift_of) - set(there.present)
    needs = [need for need in rows["cover_needs"] if need["team"] == team]
    asked = {(need["competency"], need["level"], need["applies"]): need for need in needs}
    assert len(coverage.needs) == len(needs)
    for row in coverage.needs:
        need = asked[row.competency, row.level, row.applies]
        scopes: tuple[CoverageRow | ShiftCover, ...] = row.shifts or (row,)
        shifts = there.get_shifts(need)
        assert [scope.shift for scope in scopes] == (shifts or [None])
        judged = [there.judge_need(need, shift) for shift in shifts]
        for scope, told in zip(scopes, judged, strict=False):
            said = {name: getattr(scope, name) for name in told}
            assert said == {name: tuple(v) if isinstance(v, list) else v for name, v in told.items()}
        assert row.depth == min((told["depth"] for told in judged), default=0)
    check_staffing(there, compute_staffing(snapshot, team, day))


def check_staffing(there: TeamDay, staffing: StaffingResult) -> None:
    slots = there.list_slots()
    assert staffing.places + staffing.together_slots == len(slots)
    assert staffing.filled + staffing.together_filled == count_matched(slots)
    rows = there.rows
    for manned in staffing.assignment:
        place = next(row for row in rows["places"] if row["id"] == manned.place)
        assert manned.person in there.list_scope(place["shift"] or None)
        assert there.is_able(manned.person, place["role"])
    busy = [row.person for row in (*staffing.assignment, *staffing.together_assignment)]
    assert len(busy) == len(set(busy))
    check_trainees(there, staffing, set(busy))


def count_matched(slots: list[list[str]]) -> int:
    """Return the size of a maximum matching of slots and people, by an independent library."""
    graph = nx.Graph()
    graph.add_nodes_from(range(len(slots)))
    graph.add_edges_from((n, person) for n, people in enumerate(slots) for person in people)
    return len(nx.bipartite.maximum_matching(graph, range(len(slots)))) // 2


def check_trainees(there: TeamDay, staffing: StaffingResult, busy: set[str]) -> None:
    """The most who can learn somewhere, then the first ids, then the first places: of all ways to place them."""
    fillers: dict[str, list[str]] = {}
    for row in staffing.assignment:
        fillers.setdefault(row.place, []).append(row.person)
    places = [row for row in there.rows["places"] if row["team"] == there.team]
    room = {
        row["id"]: min(row["trainees"], row["trainees_per_able"] * len(fillers.get(row["id"], ()))) for row in places
    }
    choices = {}
    for person in there.present:
        fits = [
            row["id"]
            for row in places
            if person in there.list_scope(row["shift"] or None)
            if there.may_start(person, row["role"]) and not there.is_able(person, row["role"])
        ]
        if person not in busy and fits:
            choices[person] = ["", *sorted(fits)]
    ways = []
    for way in product(*choices.values()):
        placed = {person: place for person, place in zip(choices, way, strict=True) if place}
        if all(n <= room[place] for place, n in Counter(placed.values()).items()):
            ways.append((-len(placed), list(placed), list(placed.values())))
    _, people, at = min(ways)
    told = {row.person: row.place for row in staffing.trainees}
    assert told == dict(zip(people, at, strict=True))
    load: Counter[tuple[str, str]] = Counter()
    for row in sorted(staffing.trainees, key=lambda row: (row.place, row.person)):
        fewest = min(fillers[row.place], key=lambda who: (load[row.place, who], who))
        assert row.supervised_by == fewest
        load[row.place, fewest] += 1
