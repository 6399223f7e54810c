"""The training timetable chart as a table: people across, needs or jobs down. Imports canvas, cards, style, text.

On paper so many people and rows stand on a page as keep the text readable; the pages go through the people first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.old_cards import Key, Line, build_line_markup
from api.diagrams.sheet import Layout, PageError
from api.diagrams.text import format_count, format_number, get_link
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.training_chart import ChartCell, ChartPerson, ChartRow, TrainingChart
from ontology.graph.snapshot import Snapshot

__all__ = ["build_training_chart_picture", "count_chart_pages"]

_PEOPLE_A_PAGE: Final = 8
_ROWS_A_PAGE: Final = 11
_PERSON_WIDTH: Final = 58
_NAME_COLUMNS: Final = 11
_ROW_COLUMNS: Final = 30

_BREAK: Final = '<BR ALIGN="LEFT"/>'

HOLDS: Final = style.Mark("holds", style.BLUE)
DUE: Final = style.Mark("due", style.ORANGE)
CAUTION: Final = (
    "A day is a plan, agreed with the people in it; a level is there once it is assessed. No authorisation to work: "
    "the employer's appointment of a competent person and the local code are."
)

CellWords = Callable[[ChartCell], str]
RowWords = Callable[[Snapshot, ChartRow], tuple[str, str]]


def count_chart_pages(chart: TrainingChart) -> int:
    """Return how many pages the chart takes on paper."""
    return _count(len(chart.people), _PEOPLE_A_PAGE) * _count(len(chart.rows), _ROWS_A_PAGE)


def _count(number: int, each: int) -> int:
    return max(1, -(-number // each))


def build_training_chart_picture(
    snapshot: Snapshot,
    plan: CrossTrainingResult,
    chart: TrainingChart,
    *,
    words: CellWords,
    row_words: RowWords,
    layout: Layout = "screen",
    page: int = 1,
) -> Picture:
    """Return the chart as a picture.

    Parameters
    ----------
    snapshot : Snapshot
    plan : CrossTrainingResult
    chart : TrainingChart
        Of the same plan.
    words, row_words : callable
        A cell in words; what a row is about, and where it counts.
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    pages = count_chart_pages(chart) if layout == "paper" else 1
    if not 1 <= page <= pages:
        raise PageError(page, pages)
    people, rows = range(len(chart.people)), chart.rows
    if layout == "paper":
        across = _count(len(chart.people), _PEOPLE_A_PAGE)
        first, top = (page - 1) % across * _PEOPLE_A_PAGE, (page - 1) // across * _ROWS_A_PAGE
        people = people[first : first + _PEOPLE_A_PAGE]
        rows = rows[top : top + _ROWS_A_PAGE]
    title = f"Training timetable: {snapshot.teams[chart.team].label}"
    canvas = Canvas(
        title + (f" (page {page} of {pages})" if pages > 1 else ""),
        _build_subtitle(plan, chart),
        [
            [
                Key(HOLDS.tint, "holds the level", "box"),
                Key(DUE.tint, "to be trained until that day", "box"),
                Key(style.WHITE, "not planned", "box", sample="–"),
                Key(style.PAPER, "counts for another shift", "box"),
            ]
        ],
        caution=CAUTION,
        page="A4 landscape" if layout == "paper" else "",
        heading_columns=110,
    )
    if people and rows:
        table = _build_table(snapshot, chart, [chart.people[n] for n in people], rows, people, words, row_words)
        canvas.add_card("chart", table, link=get_link("teams", chart.team), tooltip=title)
    return canvas.finish(_describe(snapshot, plan, chart))


def _build_subtitle(plan: CrossTrainingResult, chart: TrainingChart) -> str:
    due = sum(cell.state == "due" for row in chart.rows for cell in row.cells)
    end = "" if plan.finished_on is None else f", the last is done on {plan.finished_on}"
    lack = f" {format_count(plan.missing, 'person', 'people')} still missing after it." if plan.missing else ""
    return (
        f"As of {chart.on}: {format_count(due, 'entry', 'entries')} due{end}; "
        f"{format_number(plan.study_hours)} h of study and {format_number(plan.coach_hours)} h of coaching.{lack}"
    )


def _build_table(
    snapshot: Snapshot,
    chart: TrainingChart,
    people: Sequence[ChartPerson],
    rows: Sequence[ChartRow],
    numbers: range,
    words: CellWords,
    row_words: RowWords,
) -> str:
    head = [_build_cell([Line("needed", colour=style.QUIET)], style.PAPER)]
    head += [_build_cell([Line(word, colour=style.QUIET)], style.PAPER) for word in ("wanted", "now", "then")]
    for person in people:
        lines = [Line(person.name, style.SMALL_PT, bold=True, columns=_NAME_COLUMNS, max_lines=4)]
        if person.shift:
            shift = snapshot.shifts.get(person.shift)
            label = person.shift if shift is None else shift.label
            lines.append(Line(label, colour=style.QUIET, columns=_NAME_COLUMNS, max_lines=2))
        if person.is_absent:
            lines.append(Line("away that day", colour=style.QUIET, columns=_NAME_COLUMNS))
        head.append(_build_cell(lines, style.PAPER, _PERSON_WIDTH))
    body = [f"<TR>{''.join(head)}</TR>"]
    for row in rows:
        what, where = row_words(snapshot, row)
        cells = [
            _build_cell(
                [
                    Line(what, style.TEXT_PT, bold=True, columns=_ROW_COLUMNS, max_lines=3),
                    Line(where, colour=style.QUIET, columns=_ROW_COLUMNS, max_lines=2),
                ],
                style.WHITE,
            )
        ]
        cells += [
            _build_cell([Line(str(count), style.TEXT_PT)], style.WHITE)
            for count in (row.wanted, row.holders, row.holders_planned)
        ]
        for number in numbers:
            cells.append(_fill(row.cells[number], words))
        body.append(f"<TR>{''.join(cells)}</TR>")
    return (
        f'<<TABLE BORDER="0" CELLBORDER="1" CELLSPACING="0" CELLPADDING="3" COLOR="{style.HAIR}">'
        f"{''.join(body)}</TABLE>>"
    )


def _fill(cell: ChartCell, words: CellWords) -> str:
    if cell.state == "not-counted":
        return _build_cell([Line(" ")], style.PAPER)
    if cell.state == "not-planned":
        return _build_cell([Line("–", colour=style.QUIET)], style.WHITE)
    ground = HOLDS.tint if cell.state == "holds" else DUE.tint
    lines = [
        Line(part.strip(), style.SMALL_PT, bold=cell.state == "due", columns=_NAME_COLUMNS + 2, max_lines=2)
        for part in words(cell).replace("by ", "by,").split(",")
    ]
    return _build_cell(lines, ground)


def _build_cell(lines: Sequence[Line], ground: str, width: int = 0) -> str:
    parts = [build_line_markup(line) if line.text.strip() else "&#160;" for line in lines]
    # a paragraph of several lines ends its last one itself
    ends = ["" if _BREAK in part else _BREAK for part in parts[:-1]]
    text = "".join(part + end for part, end in zip(parts, [*ends, ""], strict=True))
    least = f' WIDTH="{width}"' if width else ""
    return f'<TD ALIGN="LEFT" BALIGN="LEFT"{least} BGCOLOR="{ground}">{text}</TD>'


def _describe(snapshot: Snapshot, plan: CrossTrainingResult, chart: TrainingChart) -> str:
    """Return the chart in words: every entry that is due."""
    names = {person.id: person.name for person in chart.people}
    due = [
        f"{names[line.person]} {snapshot.competencies[line.competency].label} at level {line.level}"
        + f" by {line.finished_on}"
        for line in plan.plan
    ]
    start = (
        f"{format_count(len(chart.people), 'person', 'people')} across, {format_count(len(chart.rows), 'row')} down."
    )
    return f"{start} To be trained: {'; '.join(due)}." if due else f"{start} Nobody is to be trained."
