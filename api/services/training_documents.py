"""A team's training timetable as a workbook and as a calendar file. No Flask, no clock.

They see what the answer sees, so that every form says the same days.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

from api import cautions
from api.answers import to_json
from api.services.training_chart import describe_cell, describe_lapse, describe_row
from loaders.calendar_file import CalendarEvent, build_calendar_file
from loaders.plan_workbook import Cell, Sheet, build_book
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import PlanEffect
from ontology.analysis.training.training_chart import TrainingChart
from ontology.graph.snapshot import Snapshot

__all__ = ["build_training_calendar", "build_training_workbook"]

_DAY = timedelta(days=1)


def build_training_workbook(
    snapshot: Snapshot, plan: CrossTrainingResult, chart: TrainingChart, effect: PlanEffect
) -> bytes:
    """Return the chart, the plan by course and by month, and what to mind, as a workbook."""
    after = f"After the plan, {effect.on.isoformat()}"
    head = ("Needed", "At", "Wanted", "Hold it now", after, *(person.name for person in chart.people))
    rows: list[tuple[Cell, ...]] = []
    for row in chart.rows:
        what, where = describe_row(snapshot, row)
        counts = (float(row.wanted), float(row.holders), float(row.holders_planned))
        rows.append((what, where, *counts, *(describe_cell(cell) for cell in row.cells)))
    courses: list[tuple[Cell, ...]] = [
        (
            snapshot.people[course.person].name,
            snapshot.courses[course.course].label,
            course.begins_on,
            course.finished_on,
            course.released_until,
        )
        for course in plan.courses
    ]
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
    notes += [(describe_lapse(snapshot, to_json(lapse)),) for lapse in effect.lapses]
    notes += [(text,) for text in (*plan.remarks, *cautions.TRAINING_TIMETABLE)]
    return build_book(
        [
            Sheet("Training timetable", head, rows),
            Sheet("By course", ("Person", "Course", "Begins on", "Done on", "Released until"), courses),
            Sheet("By month", ("Month", "Person", "Courses", "Planned hours", "Available hours"), months),
            Sheet("Mind", ("Mind",), notes),
        ]
    )


def build_training_calendar(snapshot: Snapshot, plan: CrossTrainingResult) -> bytes:
    """Return the plan's courses as an iCalendar file; stamped with the day asked about, so the bytes are the same."""
    made_at = datetime.combine(plan.on, time(), UTC)
    name = f"Training timetable: {snapshot.teams[plan.team].label}"
    return build_calendar_file(_iterate_events(snapshot, plan), name=name, made_at=made_at)


def _iterate_events(snapshot: Snapshot, plan: CrossTrainingResult) -> Iterator[CalendarEvent]:
    for row in plan.courses:
        course, person = snapshot.courses[row.course], snapshot.people[row.person]
        about = [f"{course.hours:g} h. Done on {row.finished_on.isoformat()}: the level is there once it is assessed."]
        if row.released_until is not None:
            about.append(f"Released from work until {row.released_until.isoformat()}.")
        yield CalendarEvent(
            key=f"{snapshot.store_id}/{plan.team}/training/{row.person}/{row.course}",
            first_day=row.begins_on,
            last_day=max(row.begins_on, row.finished_on - _DAY),
            summary=f"{person.name}: {course.label}",
            description="\n".join([*about, *cautions.TRAINING_TIMETABLE[:2]]),
            category="Course",
        )
