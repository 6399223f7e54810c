"""The development plan as a page to read and print: what a person takes to their manager. Imports Flask, services.

The same words stand on the page that is served and in a file by itself, with its style and pictures inside.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, urlencode

from flask import Blueprint, Flask, Response, make_response, render_template, request

from api import services
from api.context import get_slow_gate
from api.diagrams.calendar import build_calendar_picture, count_pages
from api.diagrams.calendar_axis import format_day
from api.diagrams.render import is_available, render
from api.diagrams.text import format_number
from api.resources.asking import ask_from_person
from api.resources.plans import get_wishes
from api.schemas.plan_parameters import DevelopmentPlanParameters
from api.services.plan_documents import ASKS
from ontology.analysis.schedule.development_plan import DevelopmentPlan
from ontology.graph.snapshot import Snapshot

__all__ = ["build_development_plan_blueprint", "render_plan_file"]

#: Parameters that the calendar's picture does not know.
_NOT_OF_PICTURE: Final = ("with_routes", "format")
_SOURCES: Final = {"certificate": "certificate", "assessor": "assessor", "manager": "manager or assessor"}
_STYLES: Final = ("newel.css", "plan.css")


def build_development_plan_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("development_plan", __name__)
    blueprint.add_url_rule("/people/<id>/development-plan", "page", show_page)
    return blueprint


def show_page(id: str) -> Response:
    """Show the plan of a person for the role of the parameter ``role``."""
    snapshot, role_id, _, asked = ask_from_person(id, DevelopmentPlanParameters)
    wishes = get_wishes(snapshot, asked)
    with get_slow_gate().enter():
        plan = services.find_development_plan(snapshot, role_id, id, on=asked["on"], **wishes)
        answer = services.answer_development_plan(snapshot, plan, id, with_routes=asked["with_routes"], **wishes)
    links = _build_links(id)
    papers = [f"{links['picture']}&layout=paper&page={n + 1}" for n in range(count_pages(plan.schedule))]
    response = make_response(
        _render(snapshot, answer, layout="base.html", links=links, screen=links["picture"], papers=papers)
    )
    # what someone explores is theirs: no cache that others share keeps it
    response.headers["Cache-Control"] = "private, no-store"
    return response


def render_plan_file(app: Flask, snapshot: Snapshot, plan: DevelopmentPlan, answer: Mapping[str, Any]) -> str:
    """Return the page as one file that needs nothing else; without pictures where the program dot is missing.

    Parameters
    ----------
    app : Flask
        Whose templates and styles are used.
    snapshot : Snapshot
    plan : DevelopmentPlan
    answer : mapping
        What the plan is as an answer (`services.answer_development_plan`).
    """
    screen, papers = "", []
    if is_available() and plan.schedule.courses:
        profile = services.get_profile(snapshot, answer["person"], None, plan.now.on)
        screen = _inline(build_calendar_picture(snapshot, profile, plan.schedule).dot)
        papers = [
            _inline(build_calendar_picture(snapshot, profile, plan.schedule, layout="paper", page=page + 1).dot)
            for page in range(count_pages(plan.schedule))
        ]
    static = Path(str(app.static_folder))
    styles = "\n".join((static / name).read_text("utf-8") for name in _STYLES)
    with app.app_context():
        return _render(snapshot, answer, layout="plan_file.html", links={}, screen=screen, papers=papers, styles=styles)


def _inline(dot: str) -> str:
    return f"data:image/svg+xml;base64,{b64encode(render(dot, 'svg')).decode()}"


def _render(snapshot: Snapshot, answer: Mapping[str, Any], *, layout: str, **more: Any) -> str:
    person = snapshot.people[answer["person"]]
    courses = answer["schedule"]["courses"]
    return render_template(
        "development_plan.html",
        layout=layout,
        plan=answer,
        person=person,
        present_role=snapshot.roles[person.role].label if person.role in snapshot.roles else "",
        competencies=snapshot.competencies,
        courses=snapshot.courses,
        roles=snapshot.roles,
        numbers={course["id"]: number for number, course in enumerate(courses, start=1)},
        rows=list(zip(courses, answer["steps"], strict=True)),
        asks=ASKS,
        sources=_SOURCES,
        has_pictures=is_available(),
        day=_format_iso,
        number=format_number,
        **more,
    )


def _format_iso(text: str) -> str:
    return format_day(date.fromisoformat(text))


def _build_links(person_id: str) -> dict[str, str]:
    """Return the addresses of the same plan in other forms, and of its picture."""
    given = {name: value for name, value in request.args.items() if name != "format"}
    base = f"/api/people/{quote(person_id, safe='-._')}"
    drawn = {name: value for name, value in given.items() if name not in _NOT_OF_PICTURE}
    forms = {form: f"{base}/development-plan?{urlencode(given | {'format': form})}" for form in ("ics", "xlsx", "json")}
    return forms | {
        "picture": f"{base}/schedule/diagram?{urlencode(drawn)}",
        "with_routes": f"{request.path}?{urlencode(given | {'with_routes': 'yes'})}",
    }
