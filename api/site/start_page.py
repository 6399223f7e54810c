"""The start page: three ways in, by the names of teams, people and roles. Imports Flask, questions and the Snapshot."""

from __future__ import annotations

import datetime as dt
from typing import Any

from flask import Blueprint, Response

from api.desk.names import Names
from api.errors import ERROR_TABLE
from api.http.context import get_desk
from api.pages.addresses import build_address
from api.pages.page import Page
from api.site.sending import send_page
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_blueprint"]

#: How far ahead the plan of sessions looks that the page leads to.
PLANNED_AHEAD = dt.timedelta(weeks=12)
#: People and roles named on the page; the rest are found by name.
_NAMED = 60


def build_blueprint() -> Blueprint:
    """Return the blueprint of the HTML pages."""
    blueprint = Blueprint("pages", __name__)
    blueprint.add_url_rule("/", "start", show_start)
    blueprint.add_url_rule("/problems", "problems", show_problems)
    return blueprint


def show_start() -> Response:
    """Show the ways in: for each team, person and role what one would ask first."""
    state = get_desk().get_state()
    snapshot = state.snapshot
    values: dict[str, Any] = {
        "counts": [
            (len(getattr(snapshot, table)), table) for table in ("competencies", "roles", "courses", "teams", "people")
        ],
        "is_empty": not any((snapshot.competencies, snapshot.roles, snapshot.courses, snapshot.teams, snapshot.people)),
        "teams": _list_teams(snapshot),
        "people": _list_people(snapshot),
        "people_left_out": max(0, len(snapshot.people) - _NAMED),
        "roles": _list_roles(snapshot),
        "roles_left_out": max(0, sum(1 for role in snapshot.roles if snapshot.get_requirements(role)) - _NAMED),
        "revision": snapshot.revision,
        "plan_until": state.today + PLANNED_AHEAD,
        "today": state.today,
    }
    return send_page(Page("start.html", values))


def show_problems() -> Response:
    """Show every kind of problem an answer can name."""
    kinds = sorted({(kind.status, kind.name, kind.title) for kind in ERROR_TABLE.values()})
    return send_page(Page("problems.html", {"kinds": kinds}, is_private=False))


def _list_teams(snapshot: Snapshot) -> list[dict[str, Any]]:
    """Return the teams of which cover is asked, with the pages a lead opens."""
    asks = (
        ("agenda", "agenda"),
        ("cover", "coverage"),
        ("what must be held", "obligations"),
        ("the next weeks", "coverage-timeline"),
        ("places", "staffing"),
        ("on whom alone it rests", "single-points-of-failure"),
        ("whom to train", "cross-training"),
        ("training timetable", "training-timetable"),
    )
    return [
        {"name": team.label, "pages": [(words, build_address("teams", team.id, name)) for words, name in asks]}
        for team in snapshot.teams.values()
        if snapshot.get_cover_needs(team.id) or snapshot.get_places(team.id)
    ]


def _list_people(snapshot: Snapshot) -> list[dict[str, Any]]:
    """Return the first people by team and name, with the pages that start from them."""
    names = Names(snapshot)
    people = sorted(snapshot.people.values(), key=lambda person: (names.team(person.team), person.name, person.id))
    rows = []
    for person in people[:_NAMED]:
        pages = [("roles within reach", build_address("people", person.id, "reachable-roles"))]
        pages.append(("what must be held", build_address("people", person.id, "obligations")))
        pages.append(("what opens more", build_address("people", person.id, "reach-gains")))
        if person.role in snapshot.roles:
            asked = {"role": person.role}
            pages.insert(0, ("in the present role", build_address("people", person.id, "gap", asked)))
        pages.insert(0, ("agenda", build_address("people", person.id, "agenda")))
        rows.append({"name": person.name, "team": names.team(person.team) if person.team else "", "pages": pages})
    return rows


def _list_roles(snapshot: Snapshot) -> list[dict[str, Any]]:
    """Return the first roles by family and label, with the pages that start from them."""
    roles = [role for role in snapshot.roles.values() if snapshot.get_requirements(role.id)]
    roles.sort(key=lambda role: (role.family, role.label, role.id))
    return [
        {
            "name": role.label,
            "family": role.family,
            "pages": [
                ("what it asks", f"/api{build_address('roles', role.id, 'diagram')}"),
                ("roles like it", build_address("roles", role.id, "similar")),
                ("roles one move away", build_address("roles", role.id, "reachable-roles")),
            ],
        }
        for role in roles[:_NAMED]
    ]
