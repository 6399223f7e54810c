"""Where a team works, which teams stand above it, and whom a rule that names one of these is about."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_snapshot

from ontology.analysis.profiles.belonging import get_person_on, get_site_of_team, get_teams_above, is_meant
from ontology.snapshot.snapshot import Snapshot

D = date
TEAMS: list[dict[str, Any]] = [
    {"id": "works", "label": "Works", "site": "north"},
    {"id": "hall", "label": "Hall", "part_of": "works"},
    {"id": "crew", "label": "Crew", "part_of": "hall"},
    {"id": "lab", "label": "Lab", "part_of": "works", "site": "south"},
    {"id": "agency", "label": "Agency"},
]


def build(**more: Any) -> Snapshot:
    sites = [{"id": i, "label": i} for i in ("north", "south")]
    roles = [{"id": i, "label": i} for i in ("fitter", "chemist")]
    people = [{"id": "p", "name": "P", "team": "crew", "role": "fitter"}, {"id": "q", "name": "Q"}]
    return build_snapshot(sites=sites, roles=roles, teams=TEAMS, people=people, **more)


def test_team_works_where_it_says_else_where_the_nearest_team_above_it_does() -> None:
    """Common practice, no source."""
    snapshot = build()
    sites = {i: get_site_of_team(snapshot, i) for i in (*snapshot.teams, "")}
    assert sites == {"works": "north", "hall": "north", "crew": "north", "lab": "south", "agency": "", "": ""}


def test_teams_above_begin_with_the_team_itself() -> None:
    snapshot = build()
    assert get_teams_above(snapshot, "crew") == ("crew", "hall", "works")
    assert get_teams_above(snapshot, "agency") == ("agency",)
    assert get_teams_above(snapshot, "") == ()


def test_teams_that_are_part_of_each_other_end_the_search() -> None:
    circle = [{"id": "a", "label": "A", "part_of": "b"}, {"id": "b", "label": "B", "part_of": "a"}]
    snapshot = build_snapshot(teams=circle)
    assert get_teams_above(snapshot, "a") == ("a", "b")
    assert get_site_of_team(snapshot, "a") == ""


def test_rule_is_about_those_who_are_there_that_day() -> None:
    lent = {"person": "p", "from_date": D(2026, 12, 1), "to_date": D(2026, 12, 5), "team": "lab", "role": "chemist"}
    snapshot = build(memberships=[lent])

    def list_meant(day: date) -> list[tuple[str, str]]:
        asked = [("everyone", ""), ("role", "fitter"), ("role", "chemist"), ("team", "works"), ("team", "crew")]
        asked += [("team", "lab"), ("site", "north"), ("site", "south")]
        return [pair for pair in asked if is_meant(snapshot, get_person_on(snapshot, "p", day), *pair)]

    home = [("everyone", ""), ("role", "fitter"), ("team", "works"), ("team", "crew"), ("site", "north")]
    away = [("everyone", ""), ("role", "chemist"), ("team", "works"), ("team", "lab"), ("site", "south")]
    assert list_meant(D(2026, 11, 30)) == home == list_meant(D(2026, 12, 6))
    assert list_meant(D(2026, 12, 1)) == away == list_meant(D(2026, 12, 5))


def test_rule_that_names_nothing_is_about_nobody() -> None:
    """Who has no role, no team and no site is not meant by an empty id."""
    snapshot = build()
    assert not any(is_meant(snapshot, snapshot.people["q"], rule, "") for rule in ("role", "team", "site"))
