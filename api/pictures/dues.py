"""What a team must hold as a calendar by week: what falls due in each, and the last days to act in each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from itertools import zip_longest
from typing import Final, NamedTuple

from api.desk.plain_cells import say_day, say_month
from api.pictures import style
from api.pictures.calendar_axis import format_span
from api.pictures.cards import cell, count_lines, mark, row, small, table, words
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import LINES_UPRIGHT, Layout, Part, take_page
from api.pictures.text import TIE, format_count, get_link, get_width
from ontology.analysis.obligations.due_lists import TeamObligations
from ontology.analysis.obligations.rows import ObligationRow
from ontology.snapshot.snapshot import Snapshot


class _Mark(NamedTuple):
    """A colour, what it means, and the word that stands beside it."""

    colour: str
    meaning: str
    word: str = ""


_LATE: Final = _Mark(style.SHORT, "can no longer be held in time", "too late")
_OPEN: Final = _Mark(style.ORANGE, "to be begun or booked")
_BOOKED: Final = _Mark(style.BLUE, "booked in time", "booked")
_MARKS: Final = (_LATE, _OPEN, _BOOKED)
_ENTRY_COLUMNS: Final = 44
#: More people for one competency in a week go on in a line below.
_NAMES_A_LINE: Final = 24
_AHEAD_DAYS: Final = 90


class _Entry(NamedTuple):
    """People who must hold a competency, of one mark, and the day of each."""

    mark: _Mark
    competency: str
    name: str
    people: str

    @property
    def told(self) -> str:
        """The people, with the word of their mark."""
        return f"{self.mark.word}: {self.people}" if self.mark.word else self.people

    @property
    def is_short(self) -> bool:
        """Whether name and people stand on one line."""
        return get_width(self.name) + get_width(self.told) < _ENTRY_COLUMNS


class _Line(NamedTuple):
    """A row of the table; the first of a week says which, and how much is due in it."""

    week: str
    number: str
    due: _Entry | None
    act: _Entry | None
    is_striped: bool


def build_dues_picture(
    snapshot: Snapshot, result: TeamObligations, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the next 90 days of a team's obligations as a calendar by week; what is overdue stands first.

    On paper as many rows stand on a page as fit; a screen has one page.
    """
    names = Names(snapshot)
    title = f"What {names.get('teams', result.team)} must hold, by week, from {say_day(result.on)}"
    part = take_page(_list_lines(names, result), layout, page, lines=LINES_UPRIGHT - 4, count=_count_lines)
    frame = Frame(title, _build_answer(result), sheet=part.sheet)
    if part.rows:
        frame.add_node("dues", _build_table(part), tooltip=title)
    shown = {entry.mark for line in part.rows for entry in (line.due, line.act) if entry}
    rest = result.counts.current + result.counts.later
    note = f"{format_count(rest, 'row')} current, or needed later than in {_AHEAD_DAYS} days." if rest else ""
    return frame.finish(
        _describe(names, result), legend_keys=[key[:2] for key in _MARKS if key in shown], notes=[note, NO_PERMISSION]
    )


def _list_lines(names: Names, result: TeamObligations) -> list[_Line]:
    """Return a row or more for what is overdue and for each week; nothing where nothing is due in any."""
    ahead = [row for row in result.rows if row.state.startswith("within")]
    overdue = [row for row in result.rows if row.state == "overdue"]
    if not ahead and not overdue:
        return []
    lines = list(_iterate_lines(names, "overdue", overdue, [])) if overdue else []
    first, last = result.on.toordinal() - result.on.weekday(), date.max.toordinal()
    for number, monday in enumerate(range(first, min(result.on.toordinal() + _AHEAD_DAYS, last) + 1, 7)):
        begin, end = date.fromordinal(monday), date.fromordinal(min(monday + 6, last))
        due = [row for row in ahead if row.due and begin <= row.due <= end]
        act = [r for r in (*overdue, *ahead) if r.last_day_to_act and max(begin, result.on) <= r.last_day_to_act <= end]
        lines += _iterate_lines(names, format_span(begin, end), due, act, is_striped=number % 2 == 0)
    return lines


def _iterate_lines(
    names: Names, week: str, due: Sequence[ObligationRow], act: Sequence[ObligationRow], *, is_striped: bool = False
) -> Iterator[_Line]:
    dues = _list_entries(names, [(row, row.due) for row in due])
    acts = _list_entries(names, [(row, row.last_day_to_act) for row in act])
    for number, (one, other) in enumerate(zip_longest(dues, acts) if dues or acts else [(None, None)]):
        yield _Line("" if number else week, "" if number or not due else str(len(due)), one, other, is_striped)


def _list_entries(names: Names, rows: Iterable[tuple[ObligationRow, date | None]]) -> list[_Entry]:
    """Return the people of each competency and mark, in the order of rows: what is late first."""
    groups: dict[tuple[int, str], list[str]] = {}
    for item, day in rows:
        short = say_month(day).rsplit(" ", 1)[0] if day else ""
        told = f"{names.person(item.person)} {short}".strip().replace(" ", TIE)
        groups.setdefault((_MARKS.index(_get_mark(item)), item.competency), []).append(told)
    return [
        _Entry(_MARKS[number], competency, names.competency(competency), ", ".join(people[i : i + _NAMES_A_LINE]))
        for (number, competency), people in sorted(groups.items())
        for i in range(0, len(people), _NAMES_A_LINE)
    ]


def _get_mark(row: ObligationRow) -> _Mark:
    if row.is_late:
        return _LATE
    return _BOOKED if row.booked_session else _OPEN


def _count_lines(line: _Line) -> float:
    entries = [entry for entry in (line.due, line.act) if entry]
    lines = [1 if e.is_short else 1 + count_lines(e.told, _ENTRY_COLUMNS) for e in entries]
    return 0.4 + 0.8 * max(lines, default=1)


def _build_table(part: Part[_Line]) -> str:
    head = row(*(cell(small(word)) for word in ("week", "due", "what is due, and when", "last day to act")))
    return table(head, *map(_build_row, part.rows), border=1, colour=style.HAIR, padding=2)


def _build_row(line: _Line) -> str:
    ground = {"bgcolor": style.STRIPE if line.is_striped else style.WHITE, "valign": "TOP"}
    return row(
        cell(words(line.week, bold=line.week == "overdue"), **ground),
        cell(words(line.number, bold=True), **(ground | {"align": "RIGHT"})),
        *(_build_entry(entry, ground) for entry in (line.due, line.act)),
    )


def _build_entry(entry: _Entry | None, ground: dict[str, str]) -> str:
    if entry is None:
        return cell(**ground)
    markup = mark(entry.mark.colour)
    if entry.is_short:
        markup += words(entry.name, bold=True) + "&#160; " + small(entry.told, colour=style.INK)
    else:
        markup += words(entry.name, bold=True, columns=_ENTRY_COLUMNS - 4, ends_line=True)
        markup += small(entry.told, columns=_ENTRY_COLUMNS, colour=style.INK)
    tooltip = f"{entry.name}: {entry.people} ({entry.mark.meaning})"
    return cell(markup, link=get_link("competencies", entry.competency), tooltip=tooltip, **ground)


def _build_answer(result: TeamObligations) -> str:
    counts = result.counts
    ahead = counts.within_30 + counts.within_60 + counts.within_90
    if not counts.overdue and not ahead:
        return f"Nothing is overdue, and nothing falls due within {_AHEAD_DAYS} days."
    late = sum(row.is_late for row in result.rows if row.state.startswith("within"))
    told = (
        f"{counts.overdue} overdue, {ahead} due within {_AHEAD_DAYS} days, of {format_count(len(result.rows), 'row')}"
    )
    return told + (f"; {late} of those ahead can no longer be held in time." if late else ".")


def _describe(names: Names, result: TeamObligations) -> str:
    """Return every row that is drawn in words."""
    parts = [_build_answer(result)]
    for item in result.rows:
        if item.state in ("current", "later"):
            continue
        due = f"due {say_day(item.due)}" if item.due else "due before all that is known"
        act = f", last day to act {say_day(item.last_day_to_act)}" if item.last_day_to_act else ""
        parts.append(
            f"{names.person(item.person)}, {names.competency(item.competency)}: {due}{act} ({_get_mark(item).meaning})."
        )
    return " ".join(parts)
