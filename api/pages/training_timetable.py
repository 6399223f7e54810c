"""The training timetable chart as a page to read and print. Imports Flask, services."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote, urlencode

from flask import Blueprint, Response, make_response, render_template, request

from api import cautions, services
from api.answers import to_json
from api.context import get_slow_gate
from api.diagrams.text import format_number
from api.resources.teams import ask_about_team
from api.resources.training import read_plan_question
from api.schemas.training_parameters import TrainingTimetableParameters
from ontology.graph.names import get_place_name

__all__ = ["build_training_timetable_blueprint"]


def build_training_timetable_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("training_timetable", __name__)
    blueprint.add_url_rule("/teams/<id>/training-timetable", "page", show_page)
    return blueprint


def show_page(id: str) -> Response:
    """Show the chart of a team, with the parameters of its answer."""
    snapshot, asked = ask_about_team(id, TrainingTimetableParameters)
    question = read_plan_question(snapshot, asked)
    with get_slow_gate().enter():
        plan, chart, effect = services.find_training_chart(snapshot, id, **question)
    rows = [(row, *services.describe_row(snapshot, row)) for row in chart.rows]
    page = render_template(
        "training_timetable.html",
        team=snapshot.teams[id],
        plan=plan,
        chart=chart,
        lapses=[services.describe_lapse(snapshot, to_json(row)) for row in effect.lapses],
        rows=rows,
        words=services.describe_cell,
        competencies=snapshot.competencies,
        courses=snapshot.courses,
        people=snapshot.people,
        shifts=snapshot.shifts,
        place_names={row.place: get_place_name(snapshot, row.place) for row in plan.unmet if row.place is not None},
        number=format_number,
        cautions=cautions.TRAINING_TIMETABLE,
        revision=snapshot.revision,
        links=_build_links(id),
    )
    response = make_response(page)
    # names and levels of people: no cache that others share keeps it
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _build_links(team_id: str) -> dict[str, str]:
    """Return the addresses of the same chart in other forms."""
    given: dict[str, Any] = {name: value for name, value in request.args.items() if name != "format"}
    base = f"/api/teams/{quote(team_id, safe='-._')}/training-timetable"
    return {
        "json": f"{base}?{urlencode(given | {'format': 'json'})}",
        "ics": f"{base}?{urlencode(given | {'format': 'ics'})}",
        "xlsx": f"{base}?{urlencode(given | {'format': 'xlsx'})}",
        "svg": f"{base}/diagram?{urlencode(given)}",
    }
