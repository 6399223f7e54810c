"""Upskilling routes: which way is best, and why not directly.

The start, one column of lanes (a route each) as ports, the roles on the way, the target. On paper it goes on by lanes,
then by rows of the list of further routes.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from urllib.parse import quote

from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, count_lines, line, listing, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, take_page
from api.pictures.path_words import get_start_name
from api.pictures.route_words import (
    Lane,
    describe_routes,
    format_hours,
    format_totals,
    list_lanes,
    list_stays,
    tell_lane,
    tell_move,
    tell_route,
    tell_routes,
)
from api.pictures.text import format_count, format_number, get_link, get_name
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.routes import Route, RoutesResult
from ontology.snapshot.snapshot import Snapshot

_CAUTION: Final = (
    "An offer to learn, not a promise of a post. Months are the least: study can wait. "
    "Growing into a role is confirmed by assessment."
)
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
    snapshot: Snapshot, profile: Profile, result: RoutesResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of upskilling routes; the profile is the one the answer was computed for."""
    names = Names(snapshot)
    lanes, further = list_lanes(snapshot, result)
    is_paper = layout == "paper"
    items: list[Lane | Route] = [*lanes, *(further if is_paper else ())]
    part = take_page(items, layout, page, lines=_LINES, count=_count_lines)
    drawn = [item for item in part.rows if isinstance(item, Lane)]
    title = f"Routes of {get_start_name(names, profile)} to {names.role(result.role)}"
    frame = Frame(title, tell_routes(names, result), rank_gap=0.22, node_gap=0.16, sheet=part.sheet)
    if drawn:
        _add_ends(frame, names, profile, result.role)
        _add_lanes(frame, names, drawn)
    note = "Hours on an arrow: study before the move. " if drawn else ""
    lists = [_list_further(names, [item for item in part.rows if isinstance(item, Route)])]
    if further and not is_paper:
        lists.append(_link_further(names, profile, result.role, further))
    used = {lane.colour for lane in drawn}
    return frame.finish(
        describe_routes(names, result, lanes, further, is_whole=is_paper),
        lists=lists,
        legend_keys=[(colour, word) for colour, word in _KEYS.items() if colour in used],
        notes=[note + _CAUTION],
    )


def _count_lines(item: Lane | Route) -> float:
    """Return how many lines a lane, or a row of the list, takes."""
    if isinstance(item, Lane):
        rows = len(item.route.moves) if len(item.route.moves) > _MOST_BESIDE else 0
        return max(rows * 1.3, 3 + count_lines(item.name, 26) + sum(count_lines(note, _NOTE) for note in item.notes))
    return 1 + len(item.roles) / 3


def _add_ends(frame: Frame, names: Names, profile: Profile, target_id: str) -> None:
    start, is_person = get_start_name(names, profile), profile.kind == "person"
    role = names.snapshot.roles.get(profile.role) if is_person else None
    facts = [names.role(role.id)] if role else []
    facts.append(f"{format_number(profile.study_hours_per_week)} study hours a week")
    colour, collection = (style.PERSON, "people") if is_person else (style.ROLE, "roles")
    link = get_link(collection, profile.held_by) if profile.held_by else ""
    named = start[0].upper() + start[1:]
    frame.add_node("start", _build_end(colour, named, facts), tooltip=f"Start: {'; '.join([start, *facts])}", link=link)
    target, name = names.snapshot.roles[target_id], names.role(target_id)
    told = ". ".join(filter(None, (f"Target: {name}", target.definition)))
    markup = _build_end(style.ROLE, name, [target.family] if target.family else [])
    frame.add_node("target", markup, tooltip=told, link=get_link("roles", target_id))


def _build_end(colour: str, name: str, facts: Sequence[str]) -> str:
    return card(colour, name, *(line(small(fact, columns=20)) for fact in facts), border=2, is_tinted=True, columns=18)


def _add_lanes(frame: Frame, names: Names, lanes: Sequence[Lane]) -> None:
    longest = max((len(lane.route.moves) for lane in lanes if len(lane.route.moves) <= _MOST_BESIDE), default=1)
    columns = 22 if longest <= 3 else 16 if longest == 4 else 12
    entries = []
    for number, lane in enumerate(lanes):
        rows = [line(words(format_totals(lane.route), columns=_NOTE))]
        rows += [line(small(note, columns=_NOTE)) for note in lane.notes]
        border = 2 if lane.colour == style.BLUE else 1
        markup = card(lane.colour, lane.name, *rows, border=border, columns=26)
        entries.append(Entry(f"lane{number}", markup, tell_lane(names, lane)))
    frame.add_node("lanes", column(entries), tooltip="Routes")
    frame.add_edge("start", "lanes", colour=style.PERSON, tooltip="each of these ways")
    for number, lane in enumerate(lanes):
        _add_roles(frame, names, lane, number, columns)


def _add_roles(frame: Frame, names: Names, lane: Lane, number: int, columns: int) -> None:
    """Add the roles of a lane beside each other; more than fit there are one card without hours between them."""
    moves = lane.route.moves
    way = [
        (move, get_name(move.label, move.role), get_link("roles", move.role), stay)
        for move, stay in zip(moves, list_stays(names.snapshot, lane.route), strict=False)
    ]
    tails = [f"lanes:lane{number}"]
    if len(moves) > _MOST_BESIDE:
        rows = [
            row(
                cell(words(name, bold=True, columns=24), link=link, tooltip=name),
                cell(small(f"{format_hours(move)}, {stay}")),
            )
            for move, name, link, stay in way
        ]
        told = "; ".join(tell_move(names, move) for move in moves[:-1])
        tails.append(f"roles{number}")
        frame.add_node(tails[-1], table(*rows, border=1, colour=lane.colour, padding=3), tooltip=told)
        moves = (moves[0], moves[-1])
    else:
        for position, (move, name, link, stay) in enumerate(way):
            rows = [line(words(name, bold=True, columns=columns)), line(small(stay, columns=columns + 4))]
            told = ". ".join(filter(None, (f"{name}: {stay}", names.snapshot.roles[move.role].definition)))
            tails.append(f"role{number}_{position}")
            markup = table(*rows, border=1, colour=lane.colour, padding=3)
            frame.add_node(tails[-1], markup, tooltip=told, link=link)
    for tail, head, move in zip(tails, [*tails[1:], "target"], moves, strict=True):
        frame.add_edge(
            tail,
            head,
            colour=lane.colour,
            width=lane.width,
            is_dashed=lane.is_dashed,
            label=format_hours(move),
            tooltip=tell_move(names, move),
            # straight between roles
            weight=1 if head == "target" else 3,
        )


def _list_further(names: Names, routes: Sequence[Route]) -> str:
    ways = [", then ".join(map(names.role, route.roles[:-1])) or "directly" for route in routes]
    rows = [(words(way, columns=72), words(format_totals(route))) for way, route in zip(ways, routes, strict=True)]
    return listing(("further routes, by way of", "study hours, months"), rows)


def _link_further(names: Names, profile: Profile, target_id: str, further: Sequence[Route]) -> str:
    told = f"{format_count(len(further), 'further route')}: in the answer as JSON."
    start = get_link("people" if profile.kind == "person" else "roles", profile.held_by) if profile.held_by else ""
    link = f"{start}/routes?to={quote(target_id, safe='-._')}" if start else ""
    tooltip = "; ".join(tell_route(names, "Further route", route) for route in further[:3])
    return table(line(small(told), link=link, tooltip=tooltip))
