"""A schedule as a calendar: one table, a row a course with its days as a bar on a time axis, certificates below.

Imports calendar_axis, calendar_words, cards, frame, paging, style, text, the snapshot and the answer.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.calendar_axis import PALE, Axis, Bar, format_days, format_span
from api.pictures.calendar_words import (
    build_answer,
    build_description,
    build_title,
    describe_lapsing,
    describe_marks,
    describe_start,
)
from api.pictures.cards import cell, count_lines, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.paging import LINES_ACROSS, Layout, Part, take_page
from api.pictures.text import TIE, format_number, get_link
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.schedule.renewals import Lapsing
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.analysis.schedule.schedule_result import ScheduledCourse
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_calendar_picture", "count_pages"]

CAUTION: Final = (
    "An offer to learn, not a promise of a place or a date: it books nothing, and shifts, rest time and the dates on "
    "which a course is held are not known here."
)
_CRITICAL: Final = (style.BLUE, "critical: a later day moves the finish")
_SLACK: Final = (style.SKY_BLUE, "can start later")
_SPARE: Final = (style.mix(style.SKY_BLUE, PALE), "by so much at least")
_RENEWAL: Final = (style.REDDISH_PURPLE, "renews a certificate")
_LAPSES: Final = (style.ORANGE, "a certificate, until it lapses")
_NAME_COLUMNS: Final = 34


class _Row(NamedTuple):
    """A row of the table: its cells before the bar, and the bar."""

    name: str
    link: str
    tooltip: str
    days: str
    marks: str
    bar: Bar
    number: str = ""
    hours: str = ""
    later: str = ""


def build_calendar_picture(
    snapshot: Snapshot, profile: Profile, result: ScheduleResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return a schedule as a calendar; the profile is the one it was computed for.

    On paper as many rows stand on a page as fit, below the axis on each; a screen has one page.
    """
    part = _take_rows(result, layout, page)
    title = build_title(snapshot, profile, result)
    frame = Frame(title, build_answer(result), sheet=part.sheet)
    if part.rows:
        frame.add_node("calendar", _build_table(result, part), tooltip=title)
    holidays = f"Days without study: {format_days(result.holidays)}." if result.holidays else ""
    return frame.finish(build_description(result), legend_keys=_build_legend(result), notes=[holidays, CAUTION])


def count_pages(result: ScheduleResult) -> int:
    """Return how many pages a schedule takes on paper."""
    return _take_rows(result, "paper", 1).sheet.pages


def _take_rows(result: ScheduleResult, layout: Layout, page: int) -> Part[_Row]:
    numbers = {course.id: number for number, course in enumerate(result.courses, start=1)}
    rows = [_build_course(course, numbers) for course in result.courses]
    rows += [_build_lapsing(result, lapsing) for lapsing in result.lapsing]
    return take_page(rows, layout, page, lines=LINES_ACROSS, count=_count_lines)


def _count_lines(item: _Row) -> float:
    return 0.4 + 0.6 * count_lines(item.name, _NAME_COLUMNS)


def _get_mark(course: ScheduledCourse) -> tuple[str, str]:
    if course.is_renewal:
        return _RENEWAL
    return _CRITICAL if course.is_critical else _SLACK


def _build_course(course: ScheduledCourse, numbers: Mapping[str, int]) -> _Row:
    hours = f"{format_number(course.study_hours)}{TIE}h"
    days = format_span(course.first_day, course.last_day)
    after = ", ".join(str(numbers[i]) for i in course.waits_for)
    latest = course.last_day + timedelta(days=course.slack_days)
    return _Row(
        course.label + (f", after {after}" if after else ""),
        get_link("courses", course.id),
        f"{course.label}: {days}, {hours}, about {format_number(course.hours_per_week)}{TIE}h a week",
        days,
        describe_marks(course),
        Bar(course.first_day, course.last_day, _get_mark(course)[0], latest),
        number=str(numbers[course.id]),
        hours=hours,
        later=describe_start(course),
    )


def _build_lapsing(result: ScheduleResult, lapsing: Lapsing) -> _Row:
    told, link = describe_lapsing(lapsing), get_link("competencies", lapsing.competency)
    last = max(result.start, lapsing.valid_until)
    bar = Bar(result.start, last, _LAPSES[0], last)
    return _Row(lapsing.label, link, f"{lapsing.label}: {told}", told, "lapses", bar)


def _build_table(result: ScheduleResult, part: Part[_Row]) -> str:
    axis = Axis(result.start, result.finish or result.start)
    ticks = axis.build_ticks()
    headers = [cell(small(word), rowspan=2, valign="BOTTOM") for word in ("", "course", "hours", "days")]
    later = cell(small("can start later by", columns=10), rowspan=2, valign="BOTTOM", align="RIGHT")
    marks = cell(rowspan=2)
    head = [row(*headers, later, marks, cell(axis.build_years(), cellpadding=0)), row(cell(ticks, cellpadding=0))]
    body = [_build_row(axis, item, part.start + position) for position, item in enumerate(part.rows)]
    return table(*head, *body, border=1, colour=style.HAIR, padding=3)


def _build_row(axis: Axis, item: _Row, position: int) -> str:
    colour = style.WHITE if position % 2 else style.STRIPE
    ground = {"bgcolor": colour}
    return row(
        cell(words(item.number, bold=True), align="RIGHT", **ground),
        cell(words(item.name, columns=_NAME_COLUMNS), link=item.link, tooltip=item.tooltip, **ground),
        cell(words(item.hours), align="RIGHT", **ground),
        cell(small(item.days, colour=style.INK, columns=26), **ground),
        cell(small(item.later, colour=style.INK, bold=item.later == "none"), align="RIGHT", **ground),
        cell(small(item.marks, columns=9), **ground),
        cell(axis.build_bar(item.bar, colour), cellpadding=0, **ground),
    )


def _build_legend(result: ScheduleResult) -> list[tuple[str, str]]:
    there = {_get_mark(course) for course in result.courses} | ({_LAPSES} if result.lapsing else set())
    there |= {_SPARE} if _SLACK in there else set()
    return [mark for mark in (_CRITICAL, _SLACK, _SPARE, _RENEWAL, _LAPSES) if mark in there]
