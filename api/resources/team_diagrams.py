"""Diagrams below staffing and cross-training: SVG, PNG or DOT text. Imports Flask.

What the picture shows is computed as its answer is; the DOT text can be had where the program dot is missing.
"""

from __future__ import annotations

from typing import Any

from flask import Response

from api import services
from api.diagrams import pictures
from api.openapi import add_route, build_blueprint
from api.resources.asking import ID_PARAMETER
from api.resources.diagrams import describe_picture, respond_with_picture
from api.resources.teams import ask_about_team
from api.resources.training import read_plan_question
from api.schemas.diagram_parameters import TeamDiagramParameters
from api.schemas.training_parameters import CrossTrainingDiagramParameters
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.places.staffing import compute_staffing


def build_team_diagram_blueprint() -> Any:
    """Return the blueprint of the diagrams for team leads."""
    blueprint = build_blueprint("diagrams for team leads", "Pictures of staffing and of cross-training plans.")
    for part, view in (("staffing", show_staffing), ("cross-training", show_cross_training)):
        add_route(blueprint, f"/teams/<id>/{part}/diagram", {"GET": view}, f"teams-{part}-diagram", [ID_PARAMETER])
    return blueprint


@describe_picture(
    "Who fills what, and the bottleneck",
    query=TeamDiagramParameters,
)
def show_staffing(id: str) -> Response:
    """Draw who fills which place, the slots that compete and the too few people."""
    snapshot, asked = ask_about_team(id, TeamDiagramParameters)

    def draw() -> str:
        result = compute_staffing(snapshot, id, asked["on"], asked["away"])
        return pictures.draw_staffing(snapshot, result, layout=asked["layout"], page=asked["page"])

    return respond_with_picture(draw, is_slow=True)


@describe_picture(
    "A team's cover before and after a cross-training plan",
    query=CrossTrainingDiagramParameters,
)
def show_cross_training(id: str) -> Response:
    """Draw the needs before and after the plan, and who learns what."""
    snapshot, asked = ask_about_team(id, CrossTrainingDiagramParameters)
    layout, page = asked.pop("layout"), asked.pop("page")
    question = read_plan_question(snapshot, asked)

    def draw() -> str:
        plan = services.find_cross_training(snapshot, id, **question)
        coverage = compute_coverage(snapshot, id, asked["on"], asked["away"])
        return pictures.draw_cross_training(snapshot, coverage, plan, layout=layout, page=page)

    return respond_with_picture(draw, is_slow=True)
