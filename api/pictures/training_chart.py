"""The training timetable chart as a table: people across, needs or jobs down, a day in each cell.

On paper so many people and rows stand on a page as keep the text readable; the pages go through the people first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Final

from api.desk.plain_cells import say_day, say_days, say_month
from api.pictures import style
from api.pictures.cards import cell, row, small, table, words
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, choose_sheet
from api.pictures.text import TIE, format_count, format_number, get_link
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.training_chart import ChartCell, ChartPerson, ChartRow, TrainingChart
from ontology.snapshot.snapshot import Snapshot

_PEOPLE_A_PAGE: Final = 10
#: More people across than a screen is wide go on in a table below.
_PEOPLE_ACROSS: Final = 13
_ROWS_A_PAGE: Final = 11
_NAME_COLUMNS: Final = 11
_ROW_COLUMNS: Final = 20

_CAUTION: Final = "A day is a plan, agreed with the people in it; a level is there once it is assessed."
_HOLDS: Final = style.mix(style.STATES["covered"])
_DUE: Final = style.mix(style.COURSE, 0.3)
_LATER: Final = style.mix(style.STATES["below-target"], 0.3)
_OTHER: Final = style.mix(style.BLACK, 0.1)
#: A paragraph of several lines ends its last one itself.
_ENDED: Final = re.compile(r"/>(</\w+>)*$")

CellWords = Callable[[ChartCell], str]
RowWords = Callable[[ChartRow], tuple[str, str]]


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
    """Return the chart as a picture; `words` and `row_words` tell a cell, and what a row is about and where."""
    names = Names(snapshot)
    across = _count(len(chart.people), _PEOPLE_A_PAGE)
    sheet = choose_sheet(across * _count(len(chart.rows), _ROWS_A_PAGE), layout, page)
    people, rows = range(len(chart.people)), chart.rows
    if layout == "paper":
        first, top = (page - 1) % across * _PEOPLE_A_PAGE, (page - 1) // across * _ROWS_A_PAGE
        people = people[first : first + _PEOPLE_A_PAGE]
        rows = rows[top : top + _ROWS_A_PAGE]
    title = f"Training timetable: {names.get('teams', chart.team)}"
    frame = Frame(title, _build_answer(plan, chart), sheet=sheet)
    if people and rows:
        bands = _split(people)
        tables = [
            table(
                _build_head(names, [chart.people[n] for n in band]),
                *(_build_row(item, band, words, row_words) for item in rows),
                # the ground is seen between the cells: a grid
                spacing=1,
                ground=style.HAIR,
            )
            for band in bands
        ]
        markup = table(*(row(cell(content)) for content in tables), padding=4)
        frame.add_node("chart", markup, tooltip=title, link=get_link("teams", chart.team))
    shown = {item.cells[n].state for item in rows for n in people}
    keys = {"holds": (_HOLDS, "holds the level"), "due": (_DUE, "to be trained by that day")}
    keys |= {"later": (_LATER, "holds it from that day"), "not-counted": (_OTHER, "counts for another shift")}
    return frame.finish(
        _describe(names, plan, chart),
        legend_keys=[key for state, key in keys.items() if state in shown],
        notes=["–: no training planned." if "not-planned" in shown else "", _CAUTION, NO_PERMISSION],
    )


def _split(people: range) -> list[range]:
    """Return the people in bands of about the same size, each as wide as a screen at the most."""
    bands = _count(len(people), _PEOPLE_ACROSS)
    return [people[len(people) * n // bands : len(people) * (n + 1) // bands] for n in range(bands)]


def _build_answer(plan: CrossTrainingResult, chart: TrainingChart) -> str:
    due = sum(item.state == "due" for chart_row in chart.rows for item in chart_row.cells)
    end = "" if plan.finished_on is None else f", the last is done on {say_day(plan.finished_on)}"
    lack = f" {format_count(plan.missing, 'person', 'people')} still missing after it." if plan.missing else ""
    hours = f"{format_number(plan.study_hours)}{TIE}h of study and {format_number(plan.coach_hours)}{TIE}h of coaching"
    then = f" Then: after the plan, on {say_day(chart.after_on)}."
    return f"As of {say_day(chart.on)}: {format_count(due, 'entry', 'entries')} due{end}; {hours}.{then}{lack}"


def _build_head(names: Names, people: Sequence[ChartPerson]) -> str:
    cells = [_cell(small("needed"), style.STRIPE, valign="BOTTOM")]
    cells += [_cell(small(word), style.STRIPE, align="CENTER", valign="BOTTOM") for word in ("wanted", "now", "then")]
    for person in people:
        name = small(names.person(person.id), columns=_NAME_COLUMNS, colour=style.INK)
        lines = [name, small(names.shift(person.shift), columns=_NAME_COLUMNS)]
        notes = ["away that day"] if person.is_absent else []
        notes += [f"starts {say_month(person.starts_on)}"] if person.starts_on else []
        notes += [f"leaves {say_month(person.ends_on)}"] if person.ends_on else []
        lines += [small(note, columns=_NAME_COLUMNS) for note in notes]
        cells.append(_cell(_stack(lines), style.STRIPE, valign="BOTTOM"))
    return row(*cells)


def _stack(lines: Sequence[str]) -> str:
    """Return words below each other in one cell."""
    return "".join(line if _ENDED.search(line) else f'{line}<BR ALIGN="LEFT"/>' for line in lines if line)


def _build_row(item: ChartRow, numbers: range, cell_words: CellWords, row_words: RowWords) -> str:
    what, where = row_words(item)
    named = [words(what, columns=_ROW_COLUMNS), small(where.replace(", shift ", ", "), columns=_ROW_COLUMNS + 4)]
    counts = (item.wanted, item.holders, item.holders_planned)
    cells = [_cell(_stack(named)), *(_cell(words(str(count)), align="CENTER") for count in counts)]
    return row(*cells, *(_fill(item.cells[number], cell_words) for number in numbers))


def _fill(item: ChartCell, cell_words: CellWords) -> str:
    if item.state == "not-counted":
        return _cell(ground=_OTHER)
    if item.state == "not-planned":
        return _cell(small("–"), align="CENTER")
    told = say_days(cell_words(item).replace(",", ""), lambda day: say_month(day).replace(" ", TIE))
    ground = {"holds": _HOLDS, "due": _DUE}.get(item.state, _LATER)
    return _cell(small(told, columns=_NAME_COLUMNS, bold=item.state == "due", colour=style.INK), ground)


def _cell(content: str = "", ground: str = style.WHITE, **more: str) -> str:
    return cell(content, bgcolor=ground, **more)


def _describe(names: Names, plan: CrossTrainingResult, chart: TrainingChart) -> str:
    """Return the chart in words: every entry that is due."""
    due = [
        f"{names.person(line.person)} {names.competency(line.competency)} at level {line.level}"
        f" by {say_day(line.finished_on)}"
        for line in plan.plan
    ]
    start = (
        f"{format_count(len(chart.people), 'person', 'people')} across, {format_count(len(chart.rows), 'row')} down."
    )
    return f"{start} To be trained: {'; '.join(due)}." if due else f"{start} Nobody is to be trained."
