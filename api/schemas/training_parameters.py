"""Parameters of cross-training plans and of the training timetable."""

from __future__ import annotations

from api.schemas.diagram_parameters import DiagramParameters
from api.schemas.parameter_kinds import (
    ChoiceParameter,
    DateParameter,
    FlagParameter,
    IdsParameter,
    NumberParameter,
    WholeParameter,
)
from api.schemas.parameters import make_time_limit
from api.schemas.team_parameters import TeamParameters


def _make_ids(about: str) -> IdsParameter:
    return IdsParameter(
        load_default=frozenset(), metadata={"description": f"{about}: ids separated by commas.", "default": ""}
    )


class CrossTrainingParameters(TeamParameters):
    """A cross-training plan."""

    hours_limit = NumberParameter(0, metadata={"description": "Most study hours of one person (default: no limit)."})
    holes = ChoiceParameter(
        "needs",
        "places",
        "all",
        load_default="all",
        metadata={
            "description": "What is closed: needs below their target, empty slots of places and groups, or both."
        },
    )
    tolerance = WholeParameter(
        0,
        1000,
        metadata={
            "description": "Any so many absences shall leave minimum and slots intact (default: targets and slots)."
        },
    )
    weigh_criticality = FlagParameter(
        load_default=False,
        metadata={"description": "Whether missing people weigh the criticality of the need; 3 for a place."},
    )
    exclude_people = _make_ids("People who do not learn; what they hold counts")
    exclude_courses = _make_ids("Courses that are not used")
    by = DateParameter(
        metadata={"description": "Last day of every course of the plan (default: no end).", "format": "date"}
    )
    fair = FlagParameter(
        load_default=False,
        metadata={"description": "Whether the largest load of one person is to be small, before the hours of all."},
    )
    with_coach = FlagParameter(
        load_default=False,
        metadata={"description": "Whether a course with coach hours needs for each outcome somebody who holds it."},
    )
    lending_teams = _make_ids("Teams whose people may coach, besides the team's own")
    time_limit = make_time_limit()


class CrossTrainingDiagramParameters(CrossTrainingParameters):
    """A picture of a cross-training plan."""

    layout = DiagramParameters().fields["layout"]
    page = DiagramParameters().fields["page"]


class TrainingTimetableParameters(CrossTrainingParameters):
    """A chart of who holds what, and who is to hold it until when."""

    show = ChoiceParameter(
        "needs",
        "jobs",
        "all",
        load_default="needs",
        metadata={"description": "What stands down: the cover needs, the jobs of the places, or both."},
    )
    due = ChoiceParameter(
        "day",
        "month-end",
        load_default="day",
        metadata={
            "description": "A date as the day on which the last course is done, or as the last day of its month."
        },
    )


class TrainingTimetableDiagramParameters(TrainingTimetableParameters):
    """A picture of that chart."""

    layout = DiagramParameters().fields["layout"]
    page = DiagramParameters().fields["page"]
