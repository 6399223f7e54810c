"""The start page: three doors, each opened on the data that are loaded. Imports Flask, services and the Snapshot.

People appear by id only, and no learning path is computed for the page itself: pictures load by themselves.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from flask import Blueprint, render_template, url_for

from api import cautions, services
from api.context import get_snapshot, get_today
from api.diagrams.render import is_available
from api.errors import ERROR_TABLE
from ontology.graph.names import get_name
from ontology.graph.snapshot import Snapshot
from ontology.records import Person

#: People and roles looked at to find an example: the page must stay fast on large data.
_LOOKED_AT = 200


def build_page_blueprint() -> Blueprint:
    """Return the blueprint of the HTML pages."""
    blueprint = Blueprint("pages", __name__)
    blueprint.add_url_rule("/", "start", show_start)
    blueprint.add_url_rule("/problems", "problems", show_problems)
    return blueprint


def show_start() -> str:
    """Show what there is, with one real example for each of the three users."""
    snapshot = get_snapshot()
    counts = [
        (name, len(records), url_for(f"{name}.list-get"))
        for name, records in (
            ("competencies", snapshot.competencies),
            ("roles", snapshot.roles),
            ("courses", snapshot.courses),
            ("teams", snapshot.teams),
            ("people", snapshot.people),
        )
    ]
    return render_template(
        "start.html",
        counts=counts,
        is_empty=not any(count for _, count, _ in counts),
        has_pictures=is_available(),
        architect=build_architect_example(snapshot),
        employee=build_employee_example(snapshot, get_today()),
        lead=build_lead_example(snapshot, get_today()),
        revision=snapshot.revision,
        today=get_today(),
    )


def show_problems() -> str:
    """Show every kind of problem an answer can name."""
    kinds = sorted({(kind.status, kind.name, kind.title) for kind in ERROR_TABLE.values()})
    return render_template("problems.html", kinds=kinds)


def build_architect_example(snapshot: Snapshot) -> dict[str, Any] | None:
    """Return a role with requirements, its most similar roles and one of its competencies; None where there is none."""
    role_id = next(_iterate_roles(snapshot), None)
    if role_id is None:
        return None
    requirement = snapshot.get_requirements(role_id)[0]
    return {
        "role": snapshot.roles[role_id],
        "competency": snapshot.competencies[requirement.competency],
        "requirement_count": len(snapshot.get_requirements(role_id)),
        "similar": services.get_similar_roles(snapshot, role_id, 3)["roles"],
        "cautions": cautions.SIMILAR,
    }


def build_employee_example(snapshot: Snapshot, on: date) -> dict[str, Any] | None:
    """Return a person with a role, a similar role that asks for more, and the gap to it; None where there is none."""
    found = _find_person_and_target(snapshot)
    if found is None:
        return None
    person, target = found
    return {
        "person": person,
        "target": snapshot.roles[target],
        "gap": services.get_gap(snapshot, target, person_id=person.id, on=on),
        "labels": {r.competency: snapshot.competencies[r.competency].label for r in snapshot.get_requirements(target)},
        "cautions": tuple(dict.fromkeys((*cautions.GAP, *cautions.ROUTES))),
    }


def build_lead_example(snapshot: Snapshot, on: date) -> dict[str, Any] | None:
    """Return a team with cover needs or places, and its cover on a day; None where there is none."""
    ids = [i for i in snapshot.teams if snapshot.get_cover_needs(i)]
    ids = ids or [i for i in snapshot.teams if snapshot.get_places(i)]
    if not ids:
        return None
    coverage = services.get_coverage(snapshot, ids[0], on=on)
    single_points = services.get_single_points_of_failure(snapshot, ids[0], on=on)["people"]
    return {
        "team": snapshot.teams[ids[0]],
        "coverage": coverage,
        "single_points": [get_name(snapshot.people, point["id"]) for point in single_points],
        "shifts": {shift.id: shift.label for shift in snapshot.get_shifts(ids[0])},
        "labels": {need["competency"]: snapshot.competencies[need["competency"]].label for need in coverage["needs"]},
        "cautions": tuple(dict.fromkeys((*cautions.COVERAGE, *cautions.SINGLE_POINTS, *cautions.CROSS_TRAINING))),
    }


def _iterate_roles(snapshot: Snapshot) -> Iterator[str]:
    return (role_id for role_id in snapshot.roles if snapshot.get_requirements(role_id))


def _find_person_and_target(snapshot: Snapshot) -> tuple[Person, str] | None:
    """Return the first assessed person whose role has a similar one that asks for more; else any with another role."""
    with_role = [person for person in list(snapshot.people.values())[:_LOOKED_AT] if person.role]
    targets: dict[str, str | None] = {}
    for person in with_role:
        if person.role not in targets:
            targets[person.role] = _find_higher_role(snapshot, person.role)
        target = targets[person.role]
        if target is not None and snapshot.get_assessments(person.id):
            return person, target
    for person in with_role:
        other = next((role_id for role_id in _iterate_roles(snapshot) if role_id != person.role), None)
        if other is not None:
            return person, other
    return None


def _find_higher_role(snapshot: Snapshot, present_role: str) -> str | None:
    def sum_levels(role_id: str) -> int:
        return sum(r.level for r in snapshot.get_requirements(role_id) if r.necessity != "desirable")

    asked = sum_levels(present_role)
    rows = services.get_similar_roles(snapshot, present_role, 5)["roles"]
    return next((str(row["id"]) for row in rows if sum_levels(str(row["id"])) > asked), None)
