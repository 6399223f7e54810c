"""Routes as the rungs of a ladder: a card for each role moved into at a time. Imports ladder_parts, routes.

Routes that begin with the same moves share their cards. The lane of a card is the family of its role; the target has a
lane of its own, at the top, with one card for each route.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final, NamedTuple

from api.diagrams import old_style as style
from api.diagrams.ladder_parts import Rung
from api.diagrams.old_cards import Line
from api.diagrams.placed_cards import Card, build_fixed_card
from api.diagrams.routes import MARKS, NamedRoute, describe_move, format_months, format_totals
from api.diagrams.start import build_start_cell
from api.diagrams.text import format_number, get_link, get_node_name
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.routes.routes import RouteMove
from ontology.graph.snapshot import Snapshot

#: No family has this name: it ends with a space.
TARGET_LANE: Final = "target "
#: Broken limits on a card; the rest is counted, and all stand in the words that show on pointing.
_MOST_NOTES: Final = 2
#: The lane of those whose role has no family.
NO_FAMILY: Final = "Other roles"


class CardWidths(NamedTuple):
    """Points: the card of the start, of a role on the way, of the target."""

    start: int
    role: int
    target: int


class Rungs(NamedTuple):
    """All cards, the start first; the keys of the lanes from the top down; whether time is counted in months."""

    rungs: list[Rung]
    lanes: list[str]
    has_months: bool


def build_rungs(snapshot: Snapshot, profile: Profile, routes: Sequence[NamedRoute], widths: CardWidths) -> Rungs:
    """Return the cards of these routes, not yet placed.

    Where no hours a week are free for study, calendar time is not known: cards are ordered by their move then.
    """
    has_months = all(named.route.months is not None or named.route.study_hours is None for named in routes)
    cell = build_start_cell(snapshot, profile)
    look = style.PERSON if profile.kind == "person" else style.ROLE
    # that it is the start is plain from where it stands
    card = build_fixed_card(
        cell.rows[1:], widths.start, look.colour, border=look.colour, border_width=2, ground=look.tint
    )
    start = Rung("start", _get_family(snapshot, profile.role), 0.0, card, None, look, cell.link, cell.tooltip)
    rungs = [start]
    shared: dict[tuple[object, ...], Rung] = {}
    for number, named in enumerate(routes, start=1):
        parent, time = start, 0.0
        key: tuple[object, ...] = ()
        moves = named.route.moves
        for position, move in enumerate(moves):
            arrival = _get_arrival(snapshot, moves, position, time, has_months=has_months)
            key = (*key, move.role, move.study_hours, move.months)
            if position + 1 == len(moves):
                rungs.append(_build_target(snapshot, named, number, move, arrival, parent, widths.target))
                break
            if key not in shared:
                shared[key] = _build_role(snapshot, move, len(shared) + 1, arrival, parent, widths.role, named.mark)
                rungs.append(shared[key])
            elif MARKS.index(named.mark) < MARKS.index(shared[key].mark):
                shared[key].mark = named.mark
            parent = shared[key]
            time = (arrival or 0.0) + (snapshot.roles[move.role].months_to_full if has_months else 0.0)
    for rung in rungs:
        rung.is_foremost = rung.mark is MARKS[0]
    return Rungs(rungs, _order_lanes(rungs), has_months)


def _get_arrival(
    snapshot: Snapshot, moves: Sequence[RouteMove], position: int, time: float, *, has_months: bool
) -> float | None:
    """Return when a role is moved into: after its preparation; without months, the number of the move."""
    move = moves[position]
    if not has_months:
        return float(position + 1)
    if move.months is None:
        return None
    stay = snapshot.roles[move.role].months_to_full if position + 1 < len(moves) else 0.0
    return round(time + move.months - stay, 2)


def _get_family(snapshot: Snapshot, role_id: str | None) -> str:
    return (snapshot.roles[role_id].family if role_id and role_id in snapshot.roles else "") or NO_FAMILY


def _order_lanes(rungs: Sequence[Rung]) -> list[str]:
    """Return the lanes from the top down: the target's, then families by the time they are moved into, latest first."""
    times: defaultdict[str, list[float]] = defaultdict(list)
    for rung in rungs:
        times[rung.lane].append(rung.time or 0.0)
    below = [lane for lane in times if lane not in (TARGET_LANE, rungs[0].lane)]
    below.sort(key=lambda lane: (-sum(times[lane]) / len(times[lane]), lane))
    return [TARGET_LANE, *below, rungs[0].lane]


def _format_step(move: RouteMove) -> str:
    return "?" if move.study_hours is None else f"{format_number(move.study_hours)} h"


def _build_role(
    snapshot: Snapshot, move: RouteMove, number: int, arrival: float | None, parent: Rung, width: int, mark: style.Mark
) -> Rung:
    role = snapshot.roles[move.role]
    stay = f"{format_months(role.months_to_full)} to full level"
    words = stay if arrival is None else f"from month {format_number(arrival)}; {stay}"
    rows = [Line(role.label, style.TEXT_PT, bold=True, max_lines=3), Line(words, colour=style.QUIET, max_lines=4)]
    return Rung(
        get_node_name("role", role.id, str(number)),
        role.family or NO_FAMILY,
        arrival,
        build_fixed_card(rows, width, style.ROLE.colour),
        parent,
        mark,
        get_link("roles", role.id),
        f"{role.label} ({role.id}), {words}",
        _format_step(move),
        describe_move(snapshot, move),
    )


def _build_target(
    snapshot: Snapshot,
    named: NamedRoute,
    number: int,
    move: RouteMove,
    arrival: float | None,
    parent: Rung,
    width: int,
) -> Rung:
    is_beyond = named.mark is MARKS[-1]
    rows = [
        # a further route has its totals alone
        *([] if named.mark is MARKS[2] else [Line(named.title, style.TEXT_PT, bold=True, max_lines=3)]),
        Line(format_totals(named.route), max_lines=3),
        # its thin line is hard to follow among many
        *([Line(_format_way(named), colour=style.QUIET, max_lines=4)] if named.mark is MARKS[2] else []),
        *(Line(note, colour=style.QUIET, max_lines=4) for note in named.notes[:_MOST_NOTES]),
    ]
    if len(named.notes) > _MOST_NOTES:
        rows.append(Line(f"and {len(named.notes) - _MOST_NOTES} limits more", colour=style.QUIET))
    return Rung(
        get_node_name("target", move.role, str(number)),
        TARGET_LANE,
        arrival,
        _build_target_card(rows, width, named, is_beyond=is_beyond),
        parent,
        named.mark,
        get_link("roles", move.role),
        "; ".join((named.words, *named.notes)),
        _format_step(move),
        describe_move(snapshot, move),
    )


def _format_way(named: NamedRoute) -> str:
    """Return the roles on the way."""
    return f"by {', then '.join(move.label for move in named.route.moves[:-1])}" if named.route.moves[1:] else "direct"


def _build_target_card(rows: Sequence[Line], width: int, named: NamedRoute, *, is_beyond: bool) -> Card:
    return build_fixed_card(
        rows,
        width,
        named.mark.colour,
        border=named.mark.colour if named.mark is MARKS[0] else style.LINE,
        border_width=2 if named.mark is MARKS[0] else 1,
        is_dashed=is_beyond,
    )
