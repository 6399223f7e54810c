"""A team's cover: what is short or hangs on one person, on whom, and every other need as a list.

Imports cards, cover_lists, cover_words, frame, paging, style, text, the snapshot and the answers. A thick line comes
from the only one present, a thin one from one of several, a dashed one from someone able who is away (never why).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, row, small, words
from api.pictures.cover_lists import build_need_list, build_point_list
from api.pictures.cover_words import (
    STATES,
    Scope,
    describe_cover,
    format_away,
    format_depth,
    format_summary,
    iterate_scopes,
)
from api.pictures.frame import Frame, Picture
from api.pictures.names import get_label, get_shift_label
from api.pictures.paging import Layout, take_page
from api.pictures.text import get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.places.single_points import SinglePoint, SinglePointsResult
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_cover_picture"]

CAUTIONS: Final = (
    "A single point of failure is a fault of the organisation, no ground to refuse leave. No roster law is checked.",
    "A level in this graph is not permission to work; only the employer's appointment and the local code give that.",
)
#: More people than this are names in a need's card: so many lines cannot be followed with the eye.
MOST_LINES: Final = 6
_FRAGILE: Final = ("short", "sole-holder")
_LABEL_COLUMNS: Final = 46


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
    """Return the picture of a team's cover on a date.

    Parameters
    ----------
    snapshot : Snapshot
    coverage : CoverageResult
    single_points : SinglePointsResult
        Of the same team, date and people away.
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    UnknownIdError
        There is no such team.
    PageError
        There is no such page.

    Notes
    -----
    O(h log h) for h pairs of a need and a person able to meet it.
    """
    team = snapshot.require_team(coverage.team)
    points = {point.id: point for point in single_points.people}
    part = take_page(_sort_rows(snapshot, coverage, points), layout, page, count=_count_lines)
    needs = [item for item in part.rows if isinstance(item, CoverageRow)]
    drawn = [need for need in needs if _is_fragile(need)]
    title = f"Cover of {get_label(snapshot.teams, team.id)} on {coverage.on.isoformat()}"
    frame = Frame(title, format_summary(snapshot, coverage, points), rank_gap=1.1, sheet=part.sheet)
    holds = list(_iterate_holds(drawn))
    lined = [hold for hold in holds if _count_able(hold.row) <= MOST_LINES]
    if drawn:
        frame.add_node("needs", _build_needs(snapshot, drawn), tooltip="Needs that are short or hang on one person")
    for person in dict.fromkeys(hold.person for hold in lined):
        _add_person(frame, snapshot, coverage, person, points.get(person), drawn)
    for hold in dict.fromkeys(lined):
        _add_line(frame, snapshot, hold, drawn.index(hold.row))
    if needs and not drawn and part.sheet.page == 1:
        told = "No need is short, and none hangs on one person."
        frame.add_node("calm", card(style.STATES["covered"], told, columns=60), tooltip=told)
    return frame.finish(
        describe_cover(snapshot, coverage, points),
        lists=[
            build_point_list(snapshot, [item for item in part.rows if isinstance(item, SinglePoint)]),
            build_need_list(snapshot, [need for need in needs if not _is_fragile(need)]),
        ],
        legend_keys=_build_legend(needs, has_people=bool(lined)),
        notes=[_explain_lines(lined), *CAUTIONS],
    )


def _is_fragile(need: CoverageRow) -> bool:
    return any(scope.state in _FRAGILE for scope in iterate_scopes(need))


def _sort_rows(
    snapshot: Snapshot, coverage: CoverageResult, points: Mapping[str, SinglePoint]
) -> list[CoverageRow | SinglePoint]:
    """Return what is read, in order: needs that are drawn, single points without a line, other needs."""
    order = list(STATES)

    def key(need: CoverageRow) -> tuple[object, ...]:
        label = get_label(snapshot.competencies, need.competency)
        return (order.index(need.state), -need.criticality, label, need.level, need.applies)

    needs = sorted(coverage.needs, key=key)
    drawn = [need for need in needs if _is_fragile(need)]
    lined = {hold.person for hold in _iterate_holds(drawn) if _count_able(hold.row) <= MOST_LINES}
    apart = [point for person, point in points.items() if person not in lined]
    return [*drawn, *apart, *(need for need in needs if not _is_fragile(need))]


def _count_lines(item: CoverageRow | SinglePoint) -> float:
    """Return the lines something takes on paper: the cards of a need and of its people, or a row of a list."""
    if isinstance(item, SinglePoint):
        return 1.5
    if not _is_fragile(item):
        return 1
    able = _count_able(item)
    people = 3.5 * able if able <= MOST_LINES else 2
    return max(people, 2 + sum(scope.state in _FRAGILE for scope in iterate_scopes(item)))


def _count_able(need: CoverageRow) -> int:
    """Return how many are able for a need where it is fragile."""
    return len({person for scope in iterate_scopes(need) if scope.state in _FRAGILE for person in scope.qualified})


def _iterate_holds(needs: Sequence[CoverageRow]) -> Iterator[_Hold]:
    for need in needs:
        for scope in iterate_scopes(need):
            if scope.state in _FRAGILE:
                for person in scope.qualified:
                    yield _Hold(person, need, scope, person in scope.present, scope.present == (person,))


def _build_needs(snapshot: Snapshot, needs: Sequence[CoverageRow]) -> str:
    return column([_build_need(snapshot, need, f"n{position}") for position, need in enumerate(needs)])


def _build_need(snapshot: Snapshot, need: CoverageRow, port: str) -> Entry:
    label = f"{get_label(snapshot.competencies, need.competency)}, level {need.level}"
    fragile = [scope for scope in iterate_scopes(need) if scope.state in _FRAGILE]
    lines = [format_depth(snapshot, need, scope) for scope in fragile]
    lines[-1] += f"; criticality {need.criticality}"
    rows = [row(cell(words(line))) for line in lines]
    if _count_able(need) > MOST_LINES:
        names = ", ".join(
            get_label(snapshot.people, i) + ("" if i in scope.present else " (away)")
            for scope in fragile
            for i in scope.qualified
        )
        rows.append(row(cell(small(f"able: {names}", columns=56))))
    is_short = need.state == "short"
    markup = card(style.STATES[need.state], label, *rows, border=2 if is_short else 1, columns=_LABEL_COLUMNS)
    return Entry(port, markup, f"{label}: {'; '.join(lines)}", get_link("competencies", need.competency))


def _add_person(
    frame: Frame,
    snapshot: Snapshot,
    coverage: CoverageResult,
    person_id: str,
    point: SinglePoint | None,
    drawn: Sequence[CoverageRow],
) -> None:
    person = snapshot.people[person_id]
    is_away = person_id in coverage.absent
    where = (get_shift_label(snapshot, person.shift) or "no shift") + (", away" if is_away else "")
    rows = [row(cell(small(where, columns=30)))]
    tooltip = f"{get_label(snapshot.people, person.id)}, {where}"
    if point is not None:
        falls = f"if away: {format_away(snapshot, point, drawn)}"
        rows.append(row(cell(small(falls, columns=30, bold=True, colour=style.INK))))
        tooltip += f"; if away: {format_away(snapshot, point, ())}"
    colour = style.LINE if is_away else style.PERSON
    markup = card(colour, get_label(snapshot.people, person.id), *rows, border=1 if point is None else 2)
    name = get_node_name("person", person_id)
    frame.add_node(name, markup, tooltip=tooltip, link=get_link("people", person_id))


def _add_line(frame: Frame, snapshot: Snapshot, hold: _Hold, position: int) -> None:
    told = "the only one present" if hold.is_only else "one of several" if hold.is_present else "able, but away"
    shift = get_shift_label(snapshot, hold.scope.shift)
    label = f"{get_label(snapshot.competencies, hold.row.competency)}{f', {shift}' if shift else ''}"
    frame.add_edge(
        get_node_name("person", hold.person),
        f"needs:n{position}",
        tooltip=f"{get_label(snapshot.people, hold.person)}, {label}: {told}",
        colour=style.INK if hold.is_only else style.LINE,
        width=3 if hold.is_only else 1.2,
        is_dashed=not hold.is_present,
        has_arrow=False,
    )


def _build_legend(needs: Sequence[CoverageRow], *, has_people: bool) -> list[tuple[str, str]]:
    there = {need.state for need in needs}
    there |= {scope.state for need in needs for scope in iterate_scopes(need) if scope.state in _FRAGILE}
    keys = [(style.PERSON, "person")] if has_people else []
    return keys + [(style.STATES[name], word) for name, word in STATES.items() if name in there]


def _explain_lines(holds: Sequence[_Hold]) -> str:
    told: Mapping[str, bool] = {
        "Thick line: the only one present.": any(hold.is_only for hold in holds),
        "Thin line: one of several.": any(hold.is_present and not hold.is_only for hold in holds),
        "Dashed line: able, but away.": any(not hold.is_present for hold in holds),
    }
    return " ".join(sentence for sentence, is_there in told.items() if is_there)
