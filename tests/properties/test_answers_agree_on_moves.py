"""A move takes the same hours wherever one asks: routes, reach, the path to its first day, its calendar."""

from __future__ import annotations

from typing import Any

import pytest
from agreeing_companies import Company, get_company, list_seeds
from company_strategies import build_route_company

from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.moves import find_reachable_roles
from ontology.analysis.routes.routes import RoutesResult, find_routes
from ontology.snapshot.snapshot import Snapshot

SEEDS = list_seeds(6, 10)
TARGET = "r0"


def ask_entry(snapshot: Snapshot, profile: Profile, role: str, **options: Any) -> LearningPathResult:
    return find_learning_path(snapshot, profile, role, levels="entry", **options)


def list_first_moves(result: RoutesResult) -> list[Any]:
    best = result.best
    routes = (best.study_hours, best.months, best.moves, *result.trade_off, *result.other_routes)
    return [route.moves[0] for route in routes if route is not None]


@pytest.mark.parametrize("seed", range(60))
def test_the_direct_move_is_the_path_to_the_levels_of_the_first_day(seed: int) -> None:
    snapshot, profile = build_route_company(seed)
    direct = find_routes(snapshot, profile, TARGET).direct
    path = ask_entry(snapshot, profile, TARGET)
    (move,) = direct.moves
    if direct.study_hours is None:
        assert path.status == "unreachable"
        assert path.unreachable == direct.unreachable
        return
    assert (path.study_hours, path.cost, path.months) == (direct.study_hours, direct.cost, direct.months)
    assert set(path.order) == set(move.courses)
    hours = {role.id: role.study_hours for role in find_reachable_roles(snapshot, profile).roles}
    assert hours[TARGET] == path.study_hours


@pytest.mark.parametrize("seed", range(60))
def test_the_first_move_of_every_way_is_the_path_that_holds_its_courses(seed: int) -> None:
    snapshot, profile = build_route_company(seed)
    for move in list_first_moves(find_routes(snapshot, profile, TARGET)):
        path = ask_entry(snapshot, profile, move.role, include=frozenset(move.courses))
        assert path.study_hours == move.study_hours
        assert set(path.order) == set(move.courses)
        # what serves a later move comes on top of what this one needs
        assert ask_entry(snapshot, profile, move.role).study_hours <= path.study_hours


def ask_calendar(company: Company, person: str, role: str, courses: list[str]) -> dict[str, Any]:
    return company.ask(f"people/{person}/schedule", role=role, levels="entry", include=",".join(sorted(courses)))


@pytest.mark.parametrize("seed", SEEDS)
def test_calendar_of_a_first_move_has_its_courses_and_their_hours(seed: int) -> None:
    company = get_company(seed)
    for person in sorted(company.people)[:3]:
        near = company.ask(f"people/{person}/reachable-roles")["roles"][:2]
        for role, hours in ((row["id"], row["study_hours"]) for row in near):
            answer = company.ask(f"people/{person}/routes", to=role)
            assert answer["direct"]["study_hours"] == hours
            for route in filter(None, (answer["best"]["study_hours"], answer["direct"])):
                move = route["moves"][0]
                if move["study_hours"] is None:
                    continue
                plan = ask_calendar(company, person, move["role"], move["courses"])
                planned = {row["id"]: row["study_hours"] for row in plan["courses"]}
                left_out = {row["id"] for row in plan["left_out"]}
                assert set(move["courses"]) <= planned.keys() | left_out, (person, role)
                if not left_out:
                    assert sum(planned[i] for i in move["courses"]) == pytest.approx(move["study_hours"])
