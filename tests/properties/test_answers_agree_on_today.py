"""Answers about one team on one day against each other: fragile needs, headcount, tolerance, places, company."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from fractions import Fraction
from itertools import combinations
from math import ceil, comb
from typing import Any

import pytest
from agreeing_companies import Company, Key, get_company, list_seeds
from brute_meanings import TeamDay
from drawn_companies import draw_rows
from small_company import ON

from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

SEEDS = list_seeds(12, 8)
RATE = 0.2


def get_key(row: dict[str, Any]) -> Key:
    return row["competency"], row["level"], row["applies"], row["shift"]


def compute_chance(present: int, minimum: int) -> float:
    """Return the chance that so many of those present are there, each absent with `RATE` by themselves (binomial)."""
    return sum(comb(present, n) * (1 - RATE) ** n * RATE ** (present - n) for n in range(minimum, present + 1))


@pytest.mark.parametrize("is_dated", [True, False])
def test_the_companies_are_sound(is_dated: bool) -> None:
    for seed in range(3):
        rows = draw_rows(seed, is_dated=is_dated)
        records = {name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}
        LiveGraph.in_memory().load(records, who="t", why="t")


@pytest.mark.parametrize("seed", SEEDS)
def test_fragile_needs_and_company_cover_count_as_coverage_does(seed: int) -> None:
    company = get_company(seed)
    whole = company.ask("company-cover", limit=100, absence_rate=RATE)
    states: Counter[str] = Counter()
    for team in "tu":
        needs = company.get_needs(team)
        states.update(row["state"] for row in needs.values())
        fragile = {get_key(r): r for r in company.ask(f"teams/{team}/fragile-needs", absence_rate=RATE)["needs"]}
        told = {get_key(row): row for row in whole["needs"] if row["team"] == team}
        assert fragile.keys() == told.keys() == needs.keys()
        for key, row in needs.items():
            for answer in (fragile[key], told[key]):
                assert (answer["depth"], answer["state"]) == (row["depth"], row["state"])
                assert answer["chance"] == pytest.approx(compute_chance(row["depth"], row["minimum"]))
    assert {row["state"]: row["needs"] for row in whole["states"] if row["needs"]} == dict(states)


@pytest.mark.parametrize("seed", SEEDS)
def test_tolerance_is_what_trying_every_absence_finds(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        answer = company.ask(f"teams/{team}/staffing")
        people = company.find_present(team)
        nothing: tuple[set[Key], Counter[Any]] = (set(), Counter())
        breaking = [pair for pair in combinations(people, 2) if company.find_fallen(team, list(pair)) != nothing]
        assert answer["pairs_breaking"]["pairs"] == comb(len(people), 2)
        assert answer["pairs_breaking"]["breaking"] == len(breaking)
        critical = answer["critical_absences"]
        if critical:
            assert company.find_fallen(team, critical) != nothing
            if answer["tolerance"]["overall"] is not None:
                assert len(critical) == answer["tolerance"]["overall"] + 1
        alone = [person for person in people if company.find_fallen(team, [person]) != nothing]
        assert bool(alone) == (len(critical) == 1)
        assert [row["id"] for row in company.ask(f"teams/{team}/single-points-of-failure")["people"]] == sorted(alone)
        for person in answer["cannot_be_spared"]:
            assert company.find_fallen(team, [person])[1], person


@pytest.mark.parametrize("seed", SEEDS)
def test_whoever_is_able_for_a_place_is_so_in_every_answer(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        there = TeamDay(company.rows, team, ON)
        present = set(there.present)
        rows = company.ask(f"teams/{team}/headcount", net_hours=1600, manned_hours=8760)["rows"]
        staffing = company.ask(f"teams/{team}/staffing")
        needs = company.get_needs(team)
        contractors = {person for person, there in company.find_members(team).items() if there.kind == "contractor"}
        for row in rows:
            if row["kind"] == "need":
                qualified = {p for key, need in needs.items() if key[:3] == get_key(row)[:3] for p in need["qualified"]}
                assert set(row["qualified"]) == qualified - contractors
                continue
            role = next(place["role"] for place in company.rows["places"] if place["id"] == row["place"])
            scope = there.list_scope(row["shift"])
            able = {person for person in scope if there.is_able(person, role)}
            assert set(row["qualified"]) & present == able - contractors
            filled = {a["person"] for a in staffing["assignment"] if a["place"] == row["place"]}
            assert filled <= able
            (count,) = [place.get("count", 1) for place in company.rows["places"] if place["id"] == row["place"]]
            assert len(filled) + staffing["unfilled"].count(row["place"]) == count
            only = [o["person"] for o in staffing["only_one_can"] if o["place"] == row["place"]]
            assert only == (sorted(able) if len(able) == 1 else [])
            for person in sorted(able)[:2]:
                places = company.ask(f"teams/{team}/stand-ins", person=person)["places"]
                (told,) = [place for place in places if place["place"] == row["place"]]
                assert {s["person"] for s in told["stand_ins"] if s["counts_already"]} == able - {person}
            for person in sorted(present - able)[:2]:
                places = company.ask(f"teams/{team}/stand-ins", person=person)["places"]
                assert row["place"] not in [place["place"] for place in places]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_person_counts_for_needs_and_places_as_their_gap_says(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        needs = company.get_needs(team)
        levels = {person: read_levels(company, person) for person in company.find_members(team)}
        for (competency, level, _, _), row in needs.items():
            for person, held in levels.items():
                if competency in held and person in row["qualified"]:
                    assert held[competency] >= level
        for place in company.ask(f"teams/{team}/staffing")["assignment"]:
            role = next(row["role"] for row in company.rows["places"] if row["id"] == place["place"])
            gap = company.ask(f"people/{place['person']}/gap", role=role)
            assert gap["standing"] in ("works-alone", "full"), place


def read_levels(company: Company, person: str) -> dict[str, int]:
    """Return the levels that gaps to all roles tell of."""
    return {
        row["competency"]: row["have"] or 0
        for role in ("r0", "r1", "r2")
        for row in company.ask(f"people/{person}/gap", role=role)["gaps"]
    }


@pytest.mark.parametrize("seed", SEEDS)
def test_nobody_is_counted_on_to_learn_who_leaves_before_the_courses_end(seed: int) -> None:
    company = get_company(seed)
    courses = {row["id"]: row for row in company.rows["courses"]}
    told = [
        near
        for need in company.ask("company-cover", limit=100)["needs"]
        for lender in need["lenders"]
        for near in lender["near_people"]
    ]
    for team in "tu":
        needs = company.ask(f"teams/{team}/fragile-needs", absence_rate=RATE)["needs"]
        told += [need["next_best"] for need in needs if need["next_best"] is not None]
    for row in told:
        end = Fraction(0)
        for course in row["courses"]:
            weeks = max(Fraction(str(courses[course]["weeks"] or 0)), Fraction(str(courses[course]["hours"])) / 40)
            end = max(end, Fraction(str(courses[course]["lead_weeks"]))) + weeks
        assert ON + timedelta(days=ceil(7 * end)) <= company.find_last_day(row["person"], ON), row
