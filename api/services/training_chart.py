"""The training timetable chart as an answer and as a workbook. No Flask, no clock."""

from __future__ import annotations

from typing import Any

from api import cautions
from api.services.answering import build_answer
from api.services.training import find_cross_training
from loaders.plan_workbook import Cell, Sheet, build_book
from ontology.analysis.training.cross_training import CrossTrainingResult
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
    "build_training_workbook",
    "describe_cell",
    "describe_row",
    "find_training_chart",
    "get_training_timetable",
]

#: What of the plan stands beside the chart.
_OF_PLAN = ("by", "tolerance", "status", "is_proved", "study_hours", "coach_hours", "missing", "finished_on")


def find_training_chart(
    snapshot: Snapshot,
    team_id: str,
    *,
    show: ChartRows = "needs",
    due: DueDay = "day",
    **question: Any,
) -> tuple[CrossTrainingResult, TrainingChart]:
    """Return the plan and its chart; `question` and errors as in `find_cross_training`."""
    plan = find_cross_training(snapshot, team_id, **question)
    return plan, build_training_chart(snapshot, plan, show=show, due=due)


def answer_training_timetable(snapshot: Snapshot, plan: CrossTrainingResult, chart: TrainingChart) -> dict[str, Any]:
    """Return the chart as an answer, with what of the plan belongs to it."""
    answer = build_answer(snapshot, plan, cautions.TRAINING_TIMETABLE, {})
    kept = {name: answer[name] for name in (*_OF_PLAN, "remarks", "unmet", "unmet_places", "away")}
    return build_answer(snapshot, chart, cautions.TRAINING_TIMETABLE, kept)


def get_training_timetable(snapshot: Snapshot, team_id: str, **question: Any) -> dict[str, Any]:
    """Return who holds what and who is to hold it until when; parameters as `find_training_chart`."""
    return answer_training_timetable(snapshot, *find_training_chart(snapshot, team_id, **question))


def describe_cell(cell: ChartCell) -> str:
    """Return a cell in words and dates."""
    if cell.state == "holds":
        return "holds" if cell.until is None else f"holds, to {cell.until.isoformat()}"
    if cell.state == "due":
        return "due, no date" if cell.due is None else f"by {cell.due.isoformat()}"
    return "not planned" if cell.state == "not-planned" else "other shift"


def describe_row(snapshot: Snapshot, row: ChartRow) -> tuple[str, str]:
    """Return what a row is about, and where and at which level it counts."""
    known = snapshot.shifts.get(row.shift or "")
    where = "team" if row.shift is None else f"shift {row.shift if known is None else known.label}"
    if row.role is not None:
        return snapshot.roles[row.role].label, f"job, unsupervised, {where}"
    return snapshot.competencies[row.competency or ""].label, f"level {row.level}, {where}"


def build_training_workbook(snapshot: Snapshot, plan: CrossTrainingResult, chart: TrainingChart) -> bytes:
    """Return the chart, the plan by month and the cautions as a workbook."""
    head = ("Needed", "At", "Wanted", "Hold it now", "With the plan", *(person.name for person in chart.people))
    rows: list[tuple[Cell, ...]] = []
    for row in chart.rows:
        what, where = describe_row(snapshot, row)
        counts = (float(row.wanted), float(row.holders), float(row.holders_planned))
        rows.append((what, where, *counts, *(describe_cell(cell) for cell in row.cells)))
    months: list[tuple[Cell, ...]] = [
        (
            month.month,
            snapshot.people[month.person].name,
            ", ".join(snapshot.courses[course].label for course in month.courses),
            month.study_hours,
            month.hours_free,
        )
        for month in plan.timetable
    ]
    notes: list[tuple[Cell, ...]] = [(f"{snapshot.teams[chart.team].label}, as of {chart.on.isoformat()}",)]
    notes += [(text,) for text in (*plan.remarks, *cautions.TRAINING_TIMETABLE)]
    return build_book(
        [
            Sheet("Training timetable", head, rows),
            Sheet("By month", ("Month", "Person", "Courses", "Hours", "Free hours"), months),
            Sheet("Mind", ("Mind",), notes),
        ]
    )
