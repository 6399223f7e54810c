"""Parameters of diagrams: those of the answer drawn, the layout and the page. Imports the parameters of answers."""

from __future__ import annotations

from typing import Any, Final

from api.schemas.parameter_kinds import ChoiceParameter, WholeParameter
from api.schemas.parameters import ParametersSchema, make_role
from api.schemas.path_parameters import PathParameters
from api.schemas.route_parameters import RoutesParameters
from api.schemas.team_parameters import TeamParameters


def _layout() -> ChoiceParameter:
    about = "screen: one picture; paper: A4 pages in their real size, printed at three quarters or more."
    return ChoiceParameter("screen", "paper", load_default="screen", metadata={"description": about})


def _page() -> WholeParameter:
    about = "Which page, on paper; the picture says how many there are."
    return WholeParameter(1, 1000, load_default=1, metadata={"description": about})


class DiagramParameters(ParametersSchema):
    """A picture of a record."""

    layout = _layout()
    page = _page()


class PersonPathDiagramParameters(PathParameters):
    """A picture of a person's learning path."""

    role = make_role("The role asked about.")
    layout = _layout()
    page = _page()


class RoutesDiagramParameters(RoutesParameters):
    """A picture of upskilling routes."""

    layout = _layout()
    page = _page()


class TeamDiagramParameters(TeamParameters):
    """A picture of a team's cover."""

    layout = _layout()
    page = _page()


_shown: Final[dict[str, Any]] = {"layout": _layout(), "page": _page()}
RolePathDiagramParameters: Final = ParametersSchema.from_dict(
    {"from": make_role("The role whose full profile is the start."), **PathParameters().fields, **_shown},
    name="RolePathDiagramParameters",
)
