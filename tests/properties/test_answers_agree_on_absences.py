"""What falls without someone: single points, stand-ins and company cover against asking coverage and staffing.

Each answer is taken at its word: the people it speaks of are supposed away, and the other answers are asked.
"""

from __future__ import annotations

from collections import Counter
from itertools import combinations
from typing import Any

import pytest
from agreeing_companies import Company, Key, count_together, get_company, list_seeds

SEEDS = list_seeds(14, 8)


def get_key(row: dict[str, Any]) -> Key:
    return row["competency"], row["level"], row["applies"], row["shift"]


@pytest.mark.parametrize("seed", SEEDS)
def test_single_points_are_those_without_whom_coverage_or_staffing_finds_less(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        for away in ("", f"{team}p0"):
            points = {p["id"]: p for p in company.ask(f"teams/{team}/single-points-of-failure", away=away)["people"]}
            members = company.find_members(team)
            for person in company.people:
                if person not in members:
                    assert person not in points
                    continue
                short, empty = company.find_fallen(team, [person], away=away)
                told = points.get(person, {"needs": [], "places": [], "together": []})
                assert {get_key(need) for need in told["needs"]} == short, person
                assert Counter(told["places"]) + count_together(told["together"]) == empty, person


@pytest.mark.parametrize("seed", SEEDS)
def test_stand_ins_leave_behind_what_coverage_and_staffing_miss_without_them(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        needs = {row["competency"] for row in company.rows["cover_needs"] if row["team"] == team}
        answers = [company.ask(f"teams/{team}/stand-ins", competency=competency) for competency in sorted(needs)]
        answers += [
            company.ask(f"teams/{team}/stand-ins", person=person) for person in [*company.find_members(team)][:2]
        ]
        for answer in answers:
            for row in (*answer["needs"], *answer["places"]):
                for stand_in in row["stand_ins"]:
                    check_left(company, stand_in)


def check_left(company: Company, stand_in: dict[str, Any]) -> None:
    """Whoever comes leaves all behind that falls in their own team without them, be it the team asked about."""
    short, empty = company.find_fallen(stand_in["team"], [stand_in["person"]])
    assert {get_key(need) for need in stand_in["leaves_needs"]} == short, stand_in
    told = Counter(stand_in["leaves_places"]) + count_together(stand_in["leaves_together"])
    assert told == empty, stand_in


@pytest.mark.parametrize("seed", SEEDS)
def test_could_be_lent_is_the_most_who_can_leave_at_once_without_breaking_anything(seed: int) -> None:
    company = get_company(seed)
    for need in company.ask("company-cover", limit=100)["needs"]:
        for lender in need["lenders"]:
            team = lender["team"]
            qualified = find_qualified(company, team, need["competency"], need["level"])
            assert lender["qualified"] == len(qualified)
            most = find_most(company, team, qualified)
            spare = [row["person"] for row in lender["people"] if row["is_spare"]]
            assert lender["spare"] == most, (need["team"], need["competency"], lender)
            told = ask_could_be_lent(company, need, team)
            assert len(told) == most
            assert set(spare) <= set(told) <= set(qualified)
            assert company.find_fallen(team, told) == (set(), Counter())
            # one more than can be lent always breaks something
            more = combinations(qualified, most + 1)
            assert all(company.find_fallen(team, list(some)) != (set(), Counter()) for some in more)


def ask_could_be_lent(company: Company, need: dict[str, Any], team: str) -> list[str]:
    """Return whom the stand-ins of a need name as who could be lent by another team at once."""
    answer = company.ask(f"teams/{need['team']}/stand-ins", competency=need["competency"], level=need["level"])
    rows = [row for row in answer["needs"] if get_key(row) == get_key(need)]
    return [person for row in rows for one in row["lending"] if one["team"] == team for person in one["could_be_lent"]]


def find_qualified(company: Company, team: str, competency: str, level: int) -> list[str]:
    """Return who of a team could stand in elsewhere, as the stand-ins of the other teams name them."""
    for other in "tu":
        for row in company.rows["cover_needs"]:
            if other != team and row["team"] == other and (row["competency"], row["level"]) == (competency, level):
                answer = company.ask(f"teams/{other}/stand-ins", competency=competency, level=level)
                return sorted({s["person"] for need in answer["needs"] for s in need["stand_ins"] if s["team"] == team})
    raise AssertionError("asked for a need that no other team has")


def find_most(company: Company, team: str, people: list[str]) -> int:
    for size in range(len(people), 0, -1):
        for some in combinations(people, size):
            if company.find_fallen(team, list(some)) == (set(), Counter()):
                return size
    return 0


@pytest.mark.parametrize("seed", SEEDS)
def test_who_fills_the_places_is_who_staffing_says(seed: int) -> None:
    company = get_company(seed)
    for team in "tu":
        for away in ("", f"{team}p0", "tp1,up1"):
            filled = company.ask(f"teams/{team}/filled-places", away=away)
            staffing = company.ask(f"teams/{team}/staffing", away=away)
            own = filled.keys() - {"cautions"}
            assert {"assignment", "unfilled", "unfilled_before", "bottleneck", "only_one_can"} < own
            assert {name: staffing[name] for name in own} == {name: filled[name] for name in own}
            nobody_away = company.ask(f"teams/{team}/filled-places")
            assert filled["unfilled_before"] == nobody_away["unfilled"]
