"""The training timetable chart as an answer. No Flask, no clock."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from api import cautions
from api.answers import to_json
from api.services.answering import build_answer
from api.services.training import find_cross_training
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import PlanEffect, compute_plan_effect, get_presence_after
from ontology.analysis.training.training_chart import (
    ChartCell,
    ChartRow,
    ChartRows,
    DueDay,
    TrainingChart,
    build_training_chart,
)
from ontology.graph.snapshot import Snapshot

__all__ = [
    "answer_training_timetable",
    "describe_cell",
    "describe_lapse",
    "describe_row",
    "find_training_chart",
    "get_training_timetable",
]

#: What of the plan stands beside the chart.
_OF_PLAN = (
    *("by", "tolerance", "holes", "status", "is_proved", "study_hours", "coach_hours", "missing", "finished_on"),
    *("courses", "release_conflicts", "remarks", "unmet", "unmet_places", "away"),
)


def find_training_chart(
    snapshot: Snapshot,
    team_id: str,
    *,
    show: ChartRows = "needs",
    due: DueDay = "day",
    **question: Any,
) -> tuple[CrossTrainingResult, TrainingChart, PlanEffect]:
    """Return the plan, its chart and the team after it; `question` and errors as in `find_cross_training`."""
    plan = find_cross_training(snapshot, team_id, **question)
    after = get_presence_after(snapshot, plan)
    chart = build_training_chart(snapshot, plan, after, show=show, due=due)
    return plan, chart, compute_plan_effect(snapshot, plan, after)


def answer_training_timetable(
    snapshot: Snapshot, plan: CrossTrainingResult, chart: TrainingChart, effect: PlanEffect
) -> dict[str, Any]:
    """Return the chart as an answer, with what of the plan belongs to it."""
    answer = build_answer(snapshot, plan, cautions.TRAINING_TIMETABLE, {})
    kept = {name: answer[name] for name in _OF_PLAN} | {"after": to_json(effect)}
    return build_answer(snapshot, chart, cautions.TRAINING_TIMETABLE, kept)


def get_training_timetable(snapshot: Snapshot, team_id: str, **question: Any) -> dict[str, Any]:
    """Return who holds what and who is to hold it until when; parameters as `find_training_chart`."""
    return answer_training_timetable(snapshot, *find_training_chart(snapshot, team_id, **question))


def describe_cell(cell: ChartCell) -> str:
    """Return a cell in words and dates."""
    if cell.state == "holds":
        return "holds" if cell.until is None else f"holds, to {_format(cell.until)}"
    if cell.state == "due":
        return f"by {_format(cell.due)}"
    if cell.state == "later":
        return f"holds, from {_format(cell.due)}"
    return "not planned" if cell.state == "not-planned" else "other shift"


def describe_row(snapshot: Snapshot, row: ChartRow) -> tuple[str, str]:
    """Return what a row is about, and where and at which level it counts."""
    known = snapshot.shifts.get(row.shift or "")
    where = "team" if row.shift is None else f"shift {row.shift if known is None else known.label}"
    if row.role is not None:
        return snapshot.roles[row.role].label, f"job, unsupervised, {where}"
    return snapshot.competencies[row.competency or ""].label, f"level {row.level}, {where}"


def describe_lapse(snapshot: Snapshot, row: Mapping[str, Any]) -> str:
    """Return in a sentence what an answer says of a level that lapses before the day after the plan."""
    level = f"{snapshot.competencies[row['competency']].label} at level {row['level']}"
    told = f"{snapshot.people[row['person']].name} holds {level} to {row['valid_until']}; "
    if row["renewal"] is None:
        return f"{told}no single course renews it."
    passed = " (passed)" if row["is_late"] else ""
    course = snapshot.courses[row["renewal"]].label
    return f"{told}the plan does not renew it, {course} would: last start day {row['last_day_to_act']}{passed}."


def _format(day: date | None) -> str:
    return "" if day is None else day.isoformat()
