"""Upskilling routes: which way is best, and why not directly. Imports cards, frame, paging, route_words, path_words.

The start, one column of lanes (a route each) as ports, the roles on the way, the target. On paper it goes on by lanes,
then by rows of the list of further routes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from urllib.parse import quote

from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, count_lines, listing, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.paging import Layout, take_page
from api.pictures.path_words import get_start_name
from api.pictures.route_words import (
    CAUTION,
    Lane,
    describe_routes,
    format_hours,
    format_totals,
    list_lanes,
    list_stays,
    tell_move,
    tell_route,
    tell_routes,
)
from api.pictures.text import format_count, format_number, get_link, get_name
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.routes.routes import Route, RoutesResult
from ontology.snapshot.snapshot import Snapshot

_NOTE: Final = 36
#: Moves whose roles stand beside each other.
_MOST_BESIDE: Final = 5
#: Lines a page holds.
_LINES: Final = 34
_KEYS: Final = {
    style.BLUE: "best by one of three aims",
    style.VERMILLION: "beyond the limits (dashed)",
    style.SKY_BLUE: "between hours and months",
    style.LINE: "another way, other roles",
}


def build_routes_picture(
    snapshot: Snapshot, profile: Profile, result: RoutesResult, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of upskilling routes.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : RoutesResult
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    lanes, further = list_lanes(snapshot, result)
    is_paper = layout == "paper"
    items: list[Lane | Route] = [*lanes, *(further if is_paper else ())]
    part = take_page(items, layout, page, lines=_LINES, count=_count_lines)
    drawn = [item for item in part.rows if isinstance(item, Lane)]
    target = get_name(snapshot.roles[result.role].label, result.role)
    title = f"Routes of {get_start_name(snapshot, profile)} to {target}"
    frame = Frame(title, tell_routes(snapshot, result), rank_gap=0.22, node_gap=0.16, sheet=part.sheet)
    if drawn:
        _add_ends(frame, snapshot, profile, result.role)
        _add_lanes(frame, snapshot, drawn)
    note = "Hours on an arrow: study before the move. " if drawn else ""
    lists = [_list_further(snapshot, [item for item in part.rows if isinstance(item, Route)])]
    if further and not is_paper:
        lists.append(_link_further(snapshot, profile, result.role, further))
    return frame.finish(
        describe_routes(snapshot, result, lanes, further, is_whole=is_paper),
        lists=lists,
        legend_keys=[(colour, _KEYS[colour]) for colour in _KEYS if any(lane.colour == colour for lane in drawn)],
        notes=[note + CAUTION],
    )


def _count_lines(item: Lane | Route) -> float:
    """Return how many lines a lane, or a row of the list, takes."""
    if isinstance(item, Lane):
        rows = len(item.route.moves) if len(item.route.moves) > _MOST_BESIDE else 0
        return max(rows * 1.3, 3 + count_lines(item.name, 26) + sum(count_lines(note, _NOTE) for note in item.notes))
    return 1 + len(item.roles) / 3


def _add_ends(frame: Frame, snapshot: Snapshot, profile: Profile, target_id: str) -> None:
    start = get_start_name(snapshot, profile)
    role = snapshot.roles.get(profile.role) if profile.kind == "person" else None
    facts = [get_name(role.label, role.id)] if role else []
    facts.append(f"{format_number(profile.study_hours_per_week)} study hours a week")
    rows = [row(cell(small(fact, columns=20))) for fact in facts]
    colour, collection = (style.PERSON, "people") if profile.kind == "person" else (style.ROLE, "roles")
    link = get_link(collection, profile.held_by) if profile.held_by else ""
    named = start[0].upper() + start[1:]
    frame.add_node(
        "start",
        card(colour, named, *rows, border=2, is_tinted=True, columns=18),
        tooltip=f"Start: {'; '.join([start, *facts])}",
        link=link,
    )
    target = snapshot.roles[target_id]
    name = get_name(target.label, target_id)
    family = [row(cell(small(target.family, columns=20)))] if target.family else []
    frame.add_node(
        "target",
        card(style.ROLE, name, *family, border=2, is_tinted=True, columns=18),
        tooltip=". ".join(filter(None, (f"Target: {name}", target.definition))),
        link=get_link("roles", target_id),
    )


def _add_lanes(frame: Frame, snapshot: Snapshot, lanes: Sequence[Lane]) -> None:
    longest = max((len(lane.route.moves) for lane in lanes if len(lane.route.moves) <= _MOST_BESIDE), default=1)
    columns = 22 if longest <= 3 else 16 if longest == 4 else 12
    entries = []
    for number, lane in enumerate(lanes):
        rows = [row(cell(words(format_totals(lane.route), columns=_NOTE)))]
        rows += [row(cell(small(note, columns=_NOTE))) for note in lane.notes]
        border = 2 if lane.colour == style.BLUE else 1
        told = "; ".join([tell_route(snapshot, lane.name, lane.route), *lane.notes, *lane.reasons])
        entries.append(Entry(f"lane{number}", card(lane.colour, lane.name, *rows, border=border, columns=26), told))
    frame.add_node("lanes", column(entries), tooltip="Routes")
    frame.add_edge("start", "lanes", colour=style.PERSON, tooltip="each of these ways")
    for number, lane in enumerate(lanes):
        _add_roles(frame, snapshot, lane, number, columns)


def _add_roles(frame: Frame, snapshot: Snapshot, lane: Lane, number: int, columns: int) -> None:
    moves = lane.route.moves
    stays = list_stays(snapshot, lane.route)
    names = [get_name(move.label, move.role) for move in moves[:-1]]
    tails = [f"lanes:lane{number}"]
    if len(moves) > _MOST_BESIDE:
        # so many roles do not fit beside each other: one card, and no hours on lines between them
        rows = [
            row(
                cell(words(name, bold=True, columns=24), link=get_link("roles", move.role), tooltip=name),
                cell(small(f"{format_hours(move)}, {stay}")),
            )
            for name, move, stay in zip(names, moves, stays, strict=False)
        ]
        told = "; ".join(tell_move(snapshot, move) for move in moves[:-1])
        tails.append(f"roles{number}")
        frame.add_node(tails[-1], table(*rows, border=1, colour=lane.colour, padding=3), tooltip=told)
        moves = (moves[0], moves[-1])
    else:
        for position, (name, move, stay) in enumerate(zip(names, moves, stays, strict=False)):
            named = row(cell(words(name, bold=True, columns=columns)))
            held = row(cell(small(stay, columns=columns + 4)))
            tails.append(f"role{number}_{position}")
            frame.add_node(
                tails[-1],
                table(named, held, border=1, colour=lane.colour, padding=3),
                tooltip=". ".join(filter(None, (f"{name}: {stay}", snapshot.roles[move.role].definition))),
                link=get_link("roles", move.role),
            )
    for tail, head, move in zip(tails, [*tails[1:], "target"], moves, strict=True):
        frame.add_edge(
            tail,
            head,
            colour=lane.colour,
            width=lane.width,
            is_dashed=lane.is_dashed,
            label=format_hours(move),
            tooltip=tell_move(snapshot, move),
            # straight between roles
            weight=1 if head == "target" else 3,
        )


def _list_further(snapshot: Snapshot, routes: Sequence[Route]) -> str:
    rows = []
    for route in routes:
        names = ", then ".join(get_name(snapshot.roles[i].label, i) for i in route.roles[:-1]) or "directly"
        rows.append((words(names, columns=72), words(format_totals(route))))
    return listing(("further routes, by way of", "study hours, months"), rows) if rows else ""


def _link_further(snapshot: Snapshot, profile: Profile, target_id: str, further: Sequence[Route]) -> str:
    told = f"{format_count(len(further), 'further route')} {'stands' if len(further) == 1 else 'stand'} in the table."
    collection = "people" if profile.kind == "person" else "roles"
    link = (
        f"{get_link(collection, profile.held_by)}/routes?to={quote(target_id, safe='-._')}" if profile.held_by else ""
    )
    tooltip = "; ".join(tell_route(snapshot, "Further route", route) for route in further[:3])
    return table(row(cell(small(told), link=link, tooltip=tooltip)))
