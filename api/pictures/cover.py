"""A team's cover: what is short or hangs on one person, on whom, and every other need as a list.

A thick line comes from the only one present, a thin one from one of several, a dashed one from someone able who is away
(never why).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Final, NamedTuple

from api.desk.plain_cells import say_day
from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, line, list_states, listing, small, state, words
from api.pictures.cover_words import Scope, describe_cover, format_away, format_depth, format_summary, get_scopes
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, take_page
from api.pictures.text import get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.places.single_points import SinglePoint, SinglePointsResult
from ontology.snapshot.snapshot import Snapshot

_CAUTION: Final = (
    "A single point of failure is a fault of the organisation, no ground to refuse leave. No roster law is checked."
)
#: More people than this are names in a need's card: so many lines cannot be followed with the eye.
_MOST_LINES: Final = 6
_FRAGILE: Final = ("short", "sole-holder")
_LABEL: Final = 46
_WHERE: Final = 30


class _Hold(NamedTuple):
    """Someone able for a need that is drawn; `is_only`: the only one present where the need counts."""

    person: str
    row: CoverageRow
    scope: Scope
    is_present: bool
    is_only: bool


def build_cover_picture(
    snapshot: Snapshot,
    coverage: CoverageResult,
    single_points: SinglePointsResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> Picture:
    """Return the picture of a team's cover; both answers are of the same team, date and people away.

    O(h log h) for h pairs of a need and a person able to meet it.
    """
    team, names = snapshot.require_team(coverage.team), Names(snapshot)
    points = {point.id: point for point in single_points.people}
    part = take_page(_sort_rows(names, coverage, points), layout, page, count=_count_lines)
    needs = [item for item in part.rows if isinstance(item, CoverageRow)]
    drawn = [need for need in needs if _get_fragile(need)]
    title = f"Cover of {names.get('teams', team.id)} on {say_day(coverage.on)}"
    frame = Frame(title, format_summary(names, coverage, points), rank_gap=1.1, sheet=part.sheet)
    lined = list(dict.fromkeys(_iterate_lined(drawn)))
    if drawn:
        entries = [_build_need(names, need, f"n{position}") for position, need in enumerate(drawn)]
        frame.add_node("needs", column(entries), tooltip="Needs that are short or hang on one person")
    for person in dict.fromkeys(hold.person for hold in lined):
        _add_person(frame, names, coverage, person, points.get(person), drawn)
    for hold in lined:
        _add_line(frame, names, hold, drawn.index(hold.row))
    if needs and not drawn and part.sheet.page == 1:
        frame.add_calm("No need is short, and none hangs on one person.")
    there = {scope.state for need in needs for scope in (need, *_get_fragile(need))}
    people = [(style.PERSON, "person")] if lined else []
    return frame.finish(
        describe_cover(names, coverage, points),
        lists=[
            _list_points(names, coverage.on, [item for item in part.rows if isinstance(item, SinglePoint)]),
            _list_needs(names, [need for need in needs if not _get_fragile(need)]),
        ],
        legend_keys=people + list_states(there),
        notes=[_explain_lines(lined), _CAUTION, NO_PERMISSION],
    )


def _get_fragile(need: CoverageRow) -> list[Scope]:
    """Return where a need is short or hangs on one person."""
    return [scope for scope in get_scopes(need) if scope.state in _FRAGILE]


def _sort_rows(
    names: Names, coverage: CoverageResult, points: Mapping[str, SinglePoint]
) -> list[CoverageRow | SinglePoint]:
    """Return what is read, in order: needs that are drawn, single points without a line, other needs."""
    order = list(style.STATES)

    def key(need: CoverageRow) -> tuple[object, ...]:
        label = names.competency(need.competency)
        return (order.index(need.state), -need.criticality, label, need.level, need.applies)

    needs = sorted(coverage.needs, key=key)
    drawn = [need for need in needs if _get_fragile(need)]
    lined = {hold.person for hold in _iterate_lined(drawn)}
    apart = [point for person, point in points.items() if person not in lined]
    return [*drawn, *apart, *(need for need in needs if not _get_fragile(need))]


def _count_lines(item: CoverageRow | SinglePoint) -> float:
    """Return the lines something takes on paper: the cards of a need and of its people, or a row of a list."""
    if isinstance(item, SinglePoint):
        return 1.5
    if not (fragile := _get_fragile(item)):
        return 1
    able = _count_able(item)
    return max(3.5 * able if able <= _MOST_LINES else 2, 2 + len(fragile))


def _count_able(need: CoverageRow) -> int:
    return len({person for scope in _get_fragile(need) for person in scope.qualified})


def _iterate_lined(needs: Sequence[CoverageRow]) -> Iterator[_Hold]:
    for need in needs:
        if _count_able(need) <= _MOST_LINES:
            for scope in _get_fragile(need):
                for person in scope.qualified:
                    yield _Hold(person, need, scope, person in scope.present, scope.present == (person,))


def _build_need(names: Names, need: CoverageRow, port: str) -> Entry:
    label = f"{names.competency(need.competency)}, level {need.level}"
    fragile = _get_fragile(need)
    told = [format_depth(names, need, scope) for scope in fragile]
    told[-1] += f"; criticality {need.criticality}"
    rows = [line(words(each)) for each in told]
    if _count_able(need) > _MOST_LINES:
        able = ", ".join(
            names.person(i) + ("" if i in scope.present else " (away)") for scope in fragile for i in scope.qualified
        )
        rows.append(line(small(f"able: {able}", columns=56)))
    border = 2 if need.state == "short" else 1
    markup = card(style.STATES[need.state], label, *rows, border=border, columns=_LABEL)
    return Entry(port, markup, f"{label}: {'; '.join(told)}", get_link("competencies", need.competency))


def _add_person(
    frame: Frame,
    names: Names,
    coverage: CoverageResult,
    person: str,
    point: SinglePoint | None,
    drawn: Sequence[CoverageRow],
) -> None:
    is_away = person in coverage.absent
    label, where = names.person(person), names.shift_on(person, coverage.on) + (", away" if is_away else "")
    rows, tooltip = [line(small(where, columns=_WHERE))], f"{label}, {where}"
    if point is not None:
        falls = f"if away: {format_away(names, point, drawn)}"
        rows.append(line(small(falls, columns=_WHERE, bold=True, colour=style.INK)))
        tooltip += f"; if away: {format_away(names, point)}"
    markup = card(style.LINE if is_away else style.PERSON, label, *rows, border=1 if point is None else 2)
    frame.add_node(get_node_name("person", person), markup, tooltip=tooltip, link=get_link("people", person))


def _add_line(frame: Frame, names: Names, hold: _Hold, position: int) -> None:
    told = "the only one present" if hold.is_only else "one of several" if hold.is_present else "able, but away"
    shift = names.shift(hold.scope.shift)
    label = f"{names.competency(hold.row.competency)}{f', {shift}' if shift else ''}"
    frame.add_line(
        get_node_name("person", hold.person),
        f"needs:n{position}",
        tooltip=f"{names.person(hold.person)}, {label}: {told}",
        is_thick=hold.is_only,
        is_dashed=not hold.is_present,
    )


def _list_points(names: Names, on: date, points: Sequence[SinglePoint]) -> str:
    rows = []
    for point in points:
        name, where, falls = names.person(point.id), names.shift_on(point.id, on), format_away(names, point)
        tooltip = f"{name}, {where}; if away: {falls}"
        named = cell(words(name, columns=_LABEL), link=get_link("people", point.id), tooltip=tooltip)
        rows.append((named, words(where, columns=_WHERE), words(falls, columns=54)))
    return listing(("single point of failure", "where", "if away"), rows)


def _list_needs(names: Names, needs: Sequence[CoverageRow]) -> str:
    """Return needs with their worst shift, the others in the tooltip."""
    rows = []
    for need in needs:
        label, scopes = names.competency(need.competency), get_scopes(need)
        present = [
            f"{names.shift(scope.shift) or 'team'}, present: {names.join('people', scope.present) or 'nobody'}"
            for scope in scopes
        ]
        where = names.shift(need.shift) or "team"
        where += f" (least of {len(scopes)})" if len(scopes) > 1 else ""
        link, tooltip = get_link("competencies", need.competency), f"{label}; {'; '.join(present)}"
        rows.append(
            (
                state(style.STATE_WORDS[need.state], style.STATES[need.state]),
                cell(words(label, columns=_LABEL), link=link, tooltip=tooltip),
                words(str(need.level)),
                words(where, columns=_WHERE),
                *(words(str(number)) for number in (need.depth, need.minimum, need.target)),
            )
        )
    headers = ("state", "need", "level", "where", "present", "minimum", "target")
    return listing(headers, rows, numbers=(2, 4, 5, 6))


def _explain_lines(holds: Sequence[_Hold]) -> str:
    told = {
        "Thick line: the only one present.": any(hold.is_only for hold in holds),
        "Thin line: one of several.": any(hold.is_present and not hold.is_only for hold in holds),
        "Dashed line: able, but away.": any(not hold.is_present for hold in holds),
    }
    return " ".join(sentence for sentence, is_there in told.items() if is_there)
