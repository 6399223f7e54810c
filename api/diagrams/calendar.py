"""A schedule as bars on a time axis: a row a course, its days, what is critical, holidays, what lapses meanwhile.

Imports calendar_axis, drawing, placed cards and heading, sheet, start, style, text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.calendar_axis import Axis, format_day, format_span
from api.diagrams.calendar_words import build_description, build_subtitle, build_title
from api.diagrams.canvas import Picture
from api.diagrams.drawing import Drawing
from api.diagrams.metrics import measure
from api.diagrams.old_cards import Key, Line
from api.diagrams.placed_cards import Card, build_fixed_card, build_words_card
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import Layout, PageError
from api.diagrams.text import format_number, get_link, get_node_name
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.schedule.renewals import Lapsing
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.analysis.schedule.schedule_result import ScheduledCourse
from ontology.graph.snapshot import Snapshot

__all__ = ["build_calendar_picture", "count_pages"]

CAUTION: Final = (
    "An offer to learn, not a promise of a place or a date: it books nothing, and shifts, rest time and the dates on "
    "which a course is held are not known here."
)
_WIDTH: Final = 1240
_NAMES: Final = 236
_NAMES_NARROW: Final = 196
#: More rows fit on it than on a wide one, and documents are of this kind.
_PAPER: Final = "A4 portrait"
_GAP: Final = 10
_BAR: Final = 16
_CRITICAL: Final = style.Mark("critical: no slack, a later day moves the finish", style.BLUE)
_SLACK: Final = style.Mark("has slack", style.SKY_BLUE)
_RENEWAL: Final = style.Mark("renews a certificate", style.REDDISH_PURPLE)
_LAPSES: Final = style.Mark("a certificate, until it lapses", style.ORANGE)
_SPARE: Final = style.Mark("slack", style.LINE, pen="dashed", width=1.2)
_HOLIDAY: Final = style.mix(style.BLACK, 0.16)


@dataclass(frozen=True, slots=True)
class _Row:
    """One row: its card at the left, its bar, and the words beside the bar."""

    name: str
    card: Card
    link: str
    tooltip: str
    first: int
    last: int
    spare: int
    mark: style.Mark
    words: str

    @property
    def height(self) -> int:
        return self.card.height + 6


def build_calendar_picture(
    snapshot: Snapshot, profile: Profile, result: ScheduleResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return a schedule as bars on a time axis.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the schedule was computed for.
    result : ScheduleResult
    layout : {"screen", "paper"}
        On paper: A4 portrait, as many rows on a page as fit, the axis on each.
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    plan, pages = _plan_pages(snapshot, profile, result, layout)
    if not 1 <= page <= len(pages):
        raise PageError(page, len(pages))
    title = build_title(snapshot, profile, result)
    if len(pages) > 1:
        title += f" (page {page} of {len(pages)})"
    drawing = Drawing(title, page=plan.page)
    heading = build_fixed_heading(title, build_subtitle(result), _build_keys(result), CAUTION, plan.width)
    drawing.add_card("heading", 0, 0, heading)
    _draw_rows(drawing, plan.get_axis(result), result, pages[page - 1], heading.height)
    return drawing.finish(build_description(result), CAUTION)


def count_pages(snapshot: Snapshot, profile: Profile, result: ScheduleResult) -> int:
    """Return how many pages a schedule takes on paper."""
    return len(_plan_pages(snapshot, profile, result, "paper")[1])


def _plan_pages(
    snapshot: Snapshot, profile: Profile, result: ScheduleResult, layout: Layout
) -> tuple[_Plan, list[list[_Row]]]:
    if layout == "screen":
        plan = _Plan(_WIDTH, _NAMES, float("inf"), "")
    else:
        width, height = (int(side - 2 * style.PAGE_MARGIN_PT) for side in style.PAGES_PT[_PAPER])
        plan = _Plan(width, _NAMES_NARROW, height, _PAPER)
    return plan, plan.split(snapshot, profile, result)


@dataclass(frozen=True, slots=True)
class _Plan:
    """How wide a picture and the names in it are, and how high a page is; all in points."""

    width: int
    names: int
    room: float
    page: str

    def get_axis(self, result: ScheduleResult) -> Axis:
        return Axis(self.names + _GAP, self.width, result.start, result.finish or result.start)

    def split(self, snapshot: Snapshot, profile: Profile, result: ScheduleResult) -> list[list[_Row]]:
        """Return the rows of each page."""
        title = build_title(snapshot, profile, result) + " (page 10 of 10)"
        head = build_fixed_heading(title, build_subtitle(result), _build_keys(result), CAUTION, self.width)
        return _split(_build_rows(result, self.names), self.room - head.height - self.get_axis(result).height - 4)


def _build_keys(result: ScheduleResult) -> list[list[Key]]:
    marks = [_get_mark(course) for course in result.courses]
    keys = [Key(mark.colour, mark.word, "bar") for mark in (_CRITICAL, _SLACK, _RENEWAL) if mark in marks]
    if any(course.slack_days for course in result.courses):
        keys.append(Key(_SPARE.colour, "can begin so much later, at least", "dashes"))
    if result.lapsing:
        keys.append(Key(_LAPSES.colour, _LAPSES.word, "bar"))
    if result.holidays:
        keys.append(Key(_HOLIDAY, "day without study", "bar"))
    return [keys]


def _get_mark(course: ScheduledCourse) -> style.Mark:
    if course.is_renewal:
        return _RENEWAL
    return _CRITICAL if course.is_critical else _SLACK


def _build_rows(result: ScheduleResult, width: int) -> list[_Row]:
    numbers = {course.id: number for number, course in enumerate(result.courses, start=1)}
    rows = [_build_course(result, course, numbers, width) for course in result.courses]
    return rows + [_build_lapsing(result, row, width) for row in result.lapsing]


def _build_course(result: ScheduleResult, course: ScheduledCourse, numbers: dict[str, int], width: int) -> _Row:
    hours = f"{format_number(course.study_hours)} h"
    if course.study_hours and (course.last_day - course.first_day).days > 6:
        hours += f", about {format_number(course.hours_per_week)} h a week"
    if course.waits_for:
        hours += f"; after {', '.join(str(numbers[i]) for i in course.waits_for)}"
    mark = _get_mark(course)
    card = build_fixed_card(
        [Line(course.label, style.TEXT_PT, bold=True, max_lines=2), Line(hours, colour=style.QUIET, max_lines=2)],
        width,
        style.mix(mark.colour, 0.55),
        border=style.HAIR,
        mark=str(numbers[course.id]),
    )
    words = format_span(course.first_day, course.last_day)
    if course.is_booked:
        words += ", booked"
    if course.is_renewal:
        words += ", renewal"
    words += ", critical" if course.is_critical else f", slack {course.slack_days} d"
    return _Row(
        name=get_node_name("course", course.id),
        card=card,
        link=get_link("courses", course.id),
        tooltip=f"{course.label}: {words}, {hours}",
        first=(course.first_day - result.start).days,
        last=(course.last_day - result.start).days,
        spare=course.slack_days,
        mark=mark,
        words=words,
    )


def _build_lapsing(result: ScheduleResult, row: Lapsing, width: int) -> _Row:
    told = f"last day {format_day(row.valid_until)}"
    if row.renewal is None:
        told += ", not renewed in this plan"
    elif row.renewed_on is not None:
        told += f", renewed {format_day(row.renewed_on)}" + ("" if row.is_in_time else ": too late")
    card = build_fixed_card(
        [Line(row.label, style.TEXT_PT, bold=True, max_lines=2), Line("certificate", colour=style.QUIET)],
        width,
        _LAPSES.colour,
        border=style.HAIR,
    )
    return _Row(
        name=get_node_name("certificate", row.competency, str(row.level), row.valid_until.isoformat()),
        card=card,
        link=get_link("competencies", row.competency),
        tooltip=f"{row.label}: {told}",
        first=0,
        last=max(0, (row.valid_until - result.start).days),
        spare=0,
        mark=_LAPSES,
        words=told,
    )


def _split(rows: Sequence[_Row], room: float) -> list[list[_Row]]:
    pages: list[list[_Row]] = [[]]
    free = room
    for row in rows:
        if row.height > free and pages[-1]:
            pages.append([])
            free = room
        pages[-1].append(row)
        free -= row.height
    return pages


def _draw_rows(drawing: Drawing, axis: Axis, result: ScheduleResult, rows: Sequence[_Row], top: float) -> None:
    above = top + axis.height
    below = above + sum(row.height for row in rows)
    for number, row in enumerate(rows):
        if number % 2 == 0:
            y = above + sum(other.height for other in rows[:number])
            drawing.add_frame(0, y, axis.right, row.height, ground=style.PAPER, border=style.PAPER, is_rounded=False)
    axis.draw(drawing, top, above, below, result.holidays, _HOLIDAY)
    y = above
    for number, row in enumerate(rows):
        _draw_row(drawing, axis, row, y, style.WHITE if number % 2 else style.PAPER)
        y += row.height


def _draw_row(drawing: Drawing, axis: Axis, row: _Row, y: float, ground: str) -> None:
    drawing.add_card(row.name, 0, y + 3, row.card, link=row.link, tooltip=row.tooltip)
    middle = y + row.height / 2
    left, right = axis.get_x(row.first), axis.get_x(row.last + 1)
    end = axis.get_x(min(row.last + row.spare + 1, axis.days)) if row.spare else right
    width = measure(row.words, style.SMALL_PT) + 4
    words = build_words_card([Line(row.words, max_lines=1)], int(width) + 4)
    # beside the bar where there is room: at the right, else at the left, else below it, so that its end is seen
    x, bar, line = end + 5, middle, middle
    if x + words.width > axis.right:
        x = left - words.width - 5
        if x <= axis.left:
            x, bar, line = min(left, axis.right - words.width), middle - 8, middle + 9
    drawing.add_frame(
        left,
        bar - _BAR / 2,
        max(right - left, 2),
        _BAR,
        ground=row.mark.colour,
        border=style.INK if row.mark == _CRITICAL else style.LINE,
        is_rounded=False,
    )
    # the lines of months do not run through the words
    drawing.add_frame(x - 2, line - 7, words.width + 2, 14, ground=ground, border=ground, is_rounded=False)
    drawing.add_card(f"{row.name}/words", x, line - words.height / 2, words, tooltip=row.tooltip)
    if row.spare and end > right:
        drawing.add_line(
            row.name,
            f"{row.name}/words",
            [(right, bar), (end, bar)],
            tooltip=f"slack {row.spare} days",
            mark=_SPARE,
            has_arrow=False,
        )
