"""A schedule as a calendar: one table, a row a course with its days as a bar on a time axis, certificates below."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import timedelta
from typing import Final, NamedTuple

from api.desk.plain_cells import say_day, say_month
from api.pictures import style
from api.pictures.calendar_axis import PALE, Axis, Bar, format_days, format_span
from api.pictures.cards import cell, count_lines, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import LINES_ACROSS, Layout, Part, take_page
from api.pictures.path_words import get_start_name
from api.pictures.text import TIE, format_count, format_number, get_link
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.schedule.renewals import Lapsing
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.analysis.schedule.schedule_result import ScheduledCourse
from ontology.snapshot.snapshot import Snapshot

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
    names = Names(snapshot)
    target = names.role(result.role) if result.role in snapshot.roles else "target levels"
    title = f"Calendar of {get_start_name(names, profile)} to {target}"
    frame = Frame(title, _build_answer(result), sheet=part.sheet)
    if part.rows:
        frame.add_node("calendar", _build_table(result, part), tooltip=title)
    holidays = f"Days without study: {format_days(result.holidays)}." if result.holidays else ""
    return frame.finish(_describe(result), legend_keys=_build_legend(result), notes=[holidays, CAUTION])


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
        _tell_marks(course),
        Bar(course.first_day, course.last_day, _get_mark(course)[0], latest),
        number=str(numbers[course.id]),
        hours=hours,
        later=_tell_start(course),
    )


def _build_lapsing(result: ScheduleResult, lapsing: Lapsing) -> _Row:
    told, link = _tell_lapsing(lapsing), get_link("competencies", lapsing.competency)
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


def _build_answer(result: ScheduleResult) -> str:
    """Return how much it is, from when to when, and how good."""
    missing = _tell_missing(result)
    if result.finish is None:
        return " ".join(["Nothing to do." if result.status == "nothing-to-do" else "No course leads on.", *missing])
    booked = sum(course.is_booked for course in result.courses)
    more = f" (and {format_number(result.booked_hours)}{TIE}h booked already)" if booked else ""
    is_proved = result.finish == result.lower_bound
    told = [
        f"{format_count(len(result.courses), 'course')}, {format_number(result.study_hours)}{TIE}h of study{more} at "
        f"{format_number(result.study_hours_per_week)}{TIE}h a week, at most {result.at_once} at once.",
        f"From {say_day(result.start)} to {say_day(result.finish)}",
        "(no order of these courses ends earlier)."
        if is_proved
        else f"(earliest possible finish {say_day(result.lower_bound or result.start)}).",
    ]
    return " ".join([*told, *missing])


def _tell_missing(result: ScheduleResult) -> list[str]:
    """Return plainly that the target is not reached, where it is not."""
    if result.is_target_reached:
        return []
    states = Counter(item.state for item in result.missing)
    counts = {
        "beyond the budget": states["beyond-budget"],
        "no courses lead to": len(result.unreachable),
        "expired on the last day": states["lapses"],
        "whose courses would end too late": states["left-out"],
    }
    parts = [f"{format_count(count, 'level')} {what}" for what, count in counts.items() if count]
    told = f"The target is not reached: {', '.join(parts)}"
    if result.readiness_before is not None and result.readiness_after is not None:
        told += f"; readiness {result.readiness_before:.2f} before, {result.readiness_after:.2f} after (0 to 1)"
    return [f"{told}."]


def _tell_start(course: ScheduledCourse) -> str:
    """Return by how much a course can start later."""
    return "none" if course.is_critical else format_count(course.slack_days, "day")


def _tell_marks(course: ScheduledCourse) -> str:
    """Return what is special about a course."""
    marks = {"critical": course.is_critical, "renewal": course.is_renewal, "booked": course.is_booked}
    return ", ".join(word for word, is_so in marks.items() if is_so)


def _tell_lapsing(lapsing: Lapsing) -> str:
    """Return the last day of a certificate, and whether it is renewed."""
    told = f"last day {say_month(lapsing.valid_until)}"
    if lapsing.renewal is None:
        return f"{told}, not renewed"
    if lapsing.renewed_on is None:
        return told
    return f"{told}, renewed {say_month(lapsing.renewed_on)}{'' if lapsing.is_in_time else ': too late'}"


def _describe(result: ScheduleResult) -> str:
    """Return every row of the picture in words."""
    parts = [_build_answer(result)]
    for number, course in enumerate(result.courses, start=1):
        marks = _tell_marks(course)
        later = "" if course.is_critical else f", can start later by {_tell_start(course)}"
        parts.append(
            f"{number}. {course.label}, {format_span(course.first_day, course.last_day)}, "
            f"{format_number(course.study_hours)}{TIE}h{later}{f' ({marks})' if marks else ''}."
        )
    labels = {course.id: course.label for course in result.courses}
    parts.extend(f"What holds the finish: {labels[link.course]}: {link.reason}" for link in result.critical_links)
    parts.extend(f"{lapsing.label}: {_tell_lapsing(lapsing)}." for lapsing in result.lapsing)
    if result.no_chain:
        parts.append(result.no_chain)
    return " ".join(parts)
