"""Upskilling routes as a ladder: roles by family and by months from now, study hours on the steps.

Imports drawing, ladder, ladder_lines, route_rungs, routes, placed_heading. The start stands at the lower left, the
target at the top; each step leads to a role and bears the hours of its preparation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, NamedTuple

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.drawing import Drawing
from api.diagrams.ladder import SIDE, Ladder, arrange_ladder
from api.diagrams.ladder_lines import LinePlanner, get_words_place
from api.diagrams.old_cards import Key, Line
from api.diagrams.placed_cards import Card, build_words_card
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.route_list import build_route_groups
from api.diagrams.route_rungs import NO_FAMILY, TARGET_LANE, CardWidths, Rungs, build_rungs
from api.diagrams.routes import (
    BEYOND,
    CAUTION,
    MARKS,
    NamedRoute,
    build_description,
    build_subtitle,
    iterate_routes,
)
from api.diagrams.sheet import PageError, build_format
from api.diagrams.sheet_picture import SheetContent, draw_sheet, plan_sheet
from api.diagrams.start import build_start_cell, get_start_name
from api.diagrams.text import format_number, get_link, get_node_name
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.routes.routes import RoutesResult
from ontology.graph.snapshot import Snapshot

#: Cards on a screen at the most; the best routes and the direct move are drawn in any case, the rest is counted.
MOST_CARDS: Final = 40
_AXIS_HEIGHT: Final = 20
_LIST_WORDS: Final = "Move by move: study hours before the move; months of that study and then in the role."
#: Narrower cards are tried where less of the axis would be even.
_LEAST_EVENNESS: Final = 0.03


class _Layout(NamedTuple):
    """Points for the whole width and the names of the lanes, and the widths of the cards to try, the best first."""

    width: int
    height: float
    cards: tuple[CardWidths, ...]
    page: str = ""


_SCREEN: Final = _Layout(1240, float("inf"), (CardWidths(140, 140, 188),))
_SHEET: Final = build_format("A4 landscape", 1)
_PAPER: Final = _Layout(
    _SHEET.width,
    _SHEET.room,
    (CardWidths(110, 124, 160), CardWidths(100, 108, 140), CardWidths(90, 92, 124), CardWidths(84, 84, 110)),
    _SHEET.name,
)


def build_routes_picture(snapshot: Snapshot, profile: Profile, result: RoutesResult) -> Picture:
    """Return the picture of the upskilling routes to a role, for a screen.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : RoutesResult

    Raises
    ------
    UnknownIdError
        There is no such role.

    Notes
    -----
    O(n^2) for n cards, about 44 of them at the most.
    """
    routes = list(iterate_routes(snapshot, result))
    shown = _choose(snapshot, profile, routes)
    return _draw(snapshot, profile, result, routes, shown, _SCREEN, len(routes) - len(shown), "")


def build_routes_pages(snapshot: Snapshot, profile: Profile, result: RoutesResult, page: int = 1) -> Picture:
    """Return one page of the routes to a role on paper, with every route of the answer on one of the pages.

    Raises
    ------
    UnknownIdError
        There is no such role.
    PageError
        There is no such page.
    """
    routes = list(iterate_routes(snapshot, result))
    ladders = _spread(snapshot, profile, result, routes)
    drawn = [named for shown in ladders for named in shown]
    rest = [named for named in routes if named not in drawn]
    content = SheetContent(
        _get_title(snapshot, profile, result),
        f"{build_subtitle(result, routes, 0)} {_LIST_WORDS}" if rest else build_subtitle(result, routes, 0),
        _build_keys(rest),
        CAUTION,
        build_start_cell(snapshot, profile),
        style.PERSON if profile.kind == "person" else style.ROLE,
        build_route_groups(snapshot, rest),
        build_description(snapshot, result, routes, rest),
    )
    plan = plan_sheet(content) if rest or not ladders else None
    total = len(ladders) + (len(plan.pages) if plan else 0)
    if not 1 <= page <= total:
        raise PageError(page, total)
    if plan and page > len(ladders):
        return draw_sheet(content, plan, page - len(ladders), ahead=len(ladders))
    more = f" (page {page} of {total})" if total > 1 else ""
    return _draw(snapshot, profile, result, routes, ladders[page - 1], _PAPER, 0, more)


def _choose(snapshot: Snapshot, profile: Profile, routes: Sequence[NamedRoute]) -> list[NamedRoute]:
    """Return the routes for a screen: the foremost ones as long as there is room, and the direct move."""
    chosen: list[NamedRoute] = [named for named in routes if named.mark is BEYOND or named.mark is MARKS[0]]
    for named in routes:
        if named in chosen:
            continue
        more = [other for other in routes if other in chosen or other is named]
        if len(build_rungs(snapshot, profile, more, _SCREEN.cards[0]).rungs) > MOST_CARDS:
            break
        chosen = more
    return [named for named in routes if named in chosen]


def _spread(
    snapshot: Snapshot, profile: Profile, result: RoutesResult, routes: Sequence[NamedRoute]
) -> list[list[NamedRoute]]:
    """Return the routes of each ladder on paper: the best, direct and trade-off ones, and further ones that fit."""
    pages: list[list[NamedRoute]] = []
    for named in sorted(routes, key=lambda named: (0, 2, 3, 1)[MARKS.index(named.mark)]):
        if pages and _is_fitting(snapshot, profile, result, routes, [*pages[-1], named]):
            pages[-1].append(named)
        elif named.mark is MARKS[2]:
            break
        elif _is_fitting(snapshot, profile, result, routes, [named]):
            pages.append([named])
    return pages


def _is_fitting(
    snapshot: Snapshot,
    profile: Profile,
    result: RoutesResult,
    routes: Sequence[NamedRoute],
    wished: Sequence[NamedRoute],
) -> bool:
    """Whether a ladder of these routes fits on a page; one of many moves may not even alone."""
    heading = _build_heading(snapshot, profile, result, routes, wished, _PAPER, " (page 10 of 10)", 0)
    ladder = _arrange(snapshot, profile, wished, _PAPER)[0]
    return heading.height + _AXIS_HEIGHT + ladder.height <= _PAPER.height and ladder.width <= _PAPER.width


def _arrange(
    snapshot: Snapshot, profile: Profile, routes: Sequence[NamedRoute], layout: _Layout
) -> tuple[Ladder, Rungs]:
    """Return the ladder with the widest cards that fit side by side."""
    for widths in layout.cards:
        rungs = build_rungs(snapshot, profile, routes, widths)
        start = rungs.rungs[0]
        name = _build_name(snapshot, start.lane, None, widths.start)
        ladder = arrange_ladder(rungs.rungs, rungs.lanes, layout.width - SIDE, name.height)
        if ladder.width <= layout.width and ladder.evenness >= _LEAST_EVENNESS:
            break
    return ladder, rungs


def _build_heading(
    snapshot: Snapshot,
    profile: Profile,
    result: RoutesResult,
    routes: Sequence[NamedRoute],
    shown: Sequence[NamedRoute],
    layout: _Layout,
    more: str,
    left_out: int,
) -> Card:
    subtitle = build_subtitle(result, routes, left_out)
    if more:
        subtitle += f" This page shows {len(shown)} of {len(routes)} routes."
    title = _get_title(snapshot, profile, result) + more
    return build_fixed_heading(title, subtitle, _build_keys(shown), CAUTION, layout.width)


def _get_title(snapshot: Snapshot, profile: Profile, result: RoutesResult) -> str:
    return f"Routes of {get_start_name(snapshot, profile)} to {snapshot.require_role(result.role).label}"


def _build_keys(routes: Sequence[NamedRoute]) -> list[list[Key]]:
    if not routes:
        return []
    marks = [mark for mark in MARKS if any(named.mark is mark for named in routes)]
    keys = [Key(mark.colour, mark.word, "dashes" if mark.pen == "dashed" else "line") for mark in marks]
    keys.append(Key(style.INK, "on a step: study hours; axis stretched where cards need room", "none"))
    return [keys]


def _draw(
    snapshot: Snapshot,
    profile: Profile,
    result: RoutesResult,
    routes: Sequence[NamedRoute],
    shown: Sequence[NamedRoute],
    layout: _Layout,
    left_out: int,
    more: str,
) -> Picture:
    ladder, rungs = _arrange(snapshot, profile, shown, layout)
    drawing = Drawing(_get_title(snapshot, profile, result) + more, layout.page)
    heading = _build_heading(snapshot, profile, result, routes, shown, layout, more, left_out)
    drawing.add_card("heading", 0, 0, heading, tooltip=drawing.title)
    top = heading.height + _AXIS_HEIGHT
    _add_lanes(drawing, snapshot, result, ladder, top)
    _add_axis(drawing, ladder, top, has_months=rungs.has_months)
    planner = LinePlanner(ladder.rows)
    # the foremost lines choose their way first, and are drawn last: they lie on the others
    ranked = sorted(ladder.rungs[1:], key=lambda rung: MARKS.index(rung.mark))
    for rung, points in reversed([(rung, planner.plan(rung)) for rung in ranked]):
        assert rung.parent is not None, "only the start has none"
        x, y = get_words_place(rung)
        drawing.add_line(
            rung.parent.name,
            rung.name,
            [(across, top + down) for across, down in points],
            tooltip=rung.step_tooltip,
            mark=rung.mark,
            words=[rung.words],
            words_at=(x, top + y),
        )
    for rung in ladder.rungs:
        drawing.add_card(rung.name, rung.x, top + rung.y, rung.card, link=rung.link, tooltip=rung.tooltip)
    return drawing.finish(build_description(snapshot, result, routes, shown), CAUTION)


def _build_name(snapshot: Snapshot, lane: str, target: str | None, width: int) -> Card:
    """Return the name of a lane: its family, or the target role."""
    if target is not None:
        rows = [Line("target role", colour=style.QUIET), Line(snapshot.roles[target].label, bold=True, max_lines=None)]
    else:
        rows = [] if lane == NO_FAMILY else [Line("family", colour=style.QUIET)]
        rows.append(Line(lane, bold=True, max_lines=None))
    return build_words_card([replace(row, size_pt=style.SMALL_PT + row.bold) for row in rows], width)


def _add_lanes(drawing: Drawing, snapshot: Snapshot, result: RoutesResult, ladder: Ladder, top: float) -> None:
    start = ladder.rungs[0]
    for lane in ladder.lanes:
        drawing.add_frame(0, top + lane.top, ladder.width, lane.height, is_rounded=False)
        target = result.role if lane.key == TARGET_LANE else None
        card = _build_name(snapshot, lane.key, target, start.card.width)
        y = top + lane.top + (2 if lane.key == start.lane else max(2.0, (lane.height - card.height) / 2))
        words = snapshot.roles[target].label if target else lane.key
        link = get_link("roles", target) if target else ""
        drawing.add_card(get_node_name("lane", lane.key), SIDE + 2, y, card, link=link, tooltip=words)


def _add_axis(drawing: Drawing, ladder: Ladder, top: float, *, has_months: bool) -> None:
    bottom = top + ladder.height
    for month, x in ladder.marks:
        for lane in ladder.lanes:
            drawing.add_frame(
                x, top + lane.top + 1, 0.4, lane.height - 2, ground=style.WHITE, border=style.WHITE, is_rounded=False
            )
        card = build_words_card([Line(format_number(month), colour=style.QUIET)], 24)
        drawing.add_card(f"axis/{format_number(month)}", x - 2, top - 15, card, tooltip=f"month {month:g}")
    words = "Months from now" if has_months else "Moves (months unknown)"
    drawing.add_card("axis", 5, top - 15, build_words_card([Line(words)], 110), tooltip=words)
    drawing.add_frame(0, bottom, ladder.width, 0.3, is_rounded=False)
