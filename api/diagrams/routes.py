"""Upskilling routes: roles as steps, study hours and months on the lines, one lane for each route.

Imports canvas, cards, start, style, text, the snapshot and the answer it draws. All lanes begin at the start card and
end at the target card; the best by hours, months and moves come first and are named so; the direct move comes last,
with the limits it breaks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from api.diagrams import style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.cards import Key, Line, build_card, build_main_card, build_name, build_note, build_words
from api.diagrams.start import START, add_start, get_start_name
from api.diagrams.text import TIE, format_count, format_number, get_link, get_node_name
from ontology.analysis.levels import Profile
from ontology.analysis.moves import BrokenLimit
from ontology.analysis.routes import DirectMove, Route, RouteMove, RoutesResult
from ontology.graph.snapshot import Snapshot

#: Lanes drawn at the most, the direct move apart; the rest is counted in words.
MOST_LANES: Final = 8
CAUTION: Final = (
    "An offer, not a promise of a post. Months are the least: study can wait. What is learned in a role is expected, "
    "to be confirmed by assessment."
)
_TARGET: Final = "target"

#: A line runs on through the point where it enters or leaves its lane.
_RUNS_ON: Final = {"arrowhead": "none"}

_BEST: Final = style.Mark("best by one of the three aims", style.BLUE, width=2.2)
_TRADE_OFF: Final = style.Mark("trade-off between hours and months", style.SKY_BLUE, width=1.6)
_FURTHER: Final = style.Mark("further route", style.LINE, width=1)
BEYOND: Final = style.Mark("direct move, beyond the limits", style.VERMILLION, pen="dashed", width=1.6)


@dataclass(frozen=True, slots=True)
class Lane:
    """One route, what it is called, and how its lines look."""

    name: str
    mark: style.Mark
    route: Route | DirectMove
    notes: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        return f"{self.name[0].upper()}{self.name[1:]}: {format_totals(self.route)}"


def build_routes_picture(snapshot: Snapshot, profile: Profile, result: RoutesResult) -> Picture:
    """Return the picture of the upskilling routes to a role.

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
    At most eight routes and the direct move are drawn; O(moves).
    """
    target = snapshot.require_role(result.role)
    lanes = list(iterate_lanes(snapshot, result))
    shown = [lane for lane in lanes if lane.mark is not BEYOND][:MOST_LANES]
    shown += [lane for lane in lanes if lane.mark is BEYOND]
    start = get_start_name(snapshot, profile)
    canvas = Canvas(
        f"Routes of {start} to {target.label}",
        build_subtitle(result, lanes, len(lanes) - len(shown)),
        build_keys(shown),
        caution=CAUTION,
        ranksep=0.6,
        nodesep=0.16,
    )
    add_start(canvas, snapshot, profile)
    rows = [build_note("target role", 26), build_name(target.label)]
    canvas.add_card(
        _TARGET,
        build_main_card(style.ROLE, rows, width=120),
        link=get_link("roles", target.id),
        tooltip=f"Target: {target.label} ({target.id})",
    )
    canvas.keep_order([_add_lane(canvas, snapshot, lane, number) for number, lane in enumerate(shown, start=1)])
    return canvas.finish(build_description(snapshot, result, lanes, shown))


def iterate_lanes(snapshot: Snapshot, result: RoutesResult) -> Iterator[Lane]:
    best = (
        ("least study hours", result.best.study_hours),
        ("least months", result.best.months),
        ("fewest moves", result.best.moves),
    )
    seen: set[tuple[str, ...]] = set()
    for _, route in best:
        if route is not None and route.roles not in seen:
            seen.add(route.roles)
            names = [name for name, other in best if other is not None and other.roles == route.roles]
            yield Lane(_join(names), _BEST, route)
    for route in result.trade_off:
        if route.roles not in seen:
            seen.add(route.roles)
            yield Lane("between hours and months", _TRADE_OFF, route)
    for route in result.other_routes:
        if route.roles not in seen:
            seen.add(route.roles)
            yield Lane("further route", _FURTHER, route)
    if result.direct.roles not in seen:
        direct = result.direct
        notes = [_format_broken_limit(snapshot, limit) for limit in direct.broken_limits]
        notes += [f"{_label(snapshot, row.competency)} {row.level}: {row.reason}" for row in direct.unreachable]
        yield Lane("direct move, not within reach", BEYOND, direct, tuple(notes))


def _join(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _label(snapshot: Snapshot, competency_id: str) -> str:
    return snapshot.competencies[competency_id].label


def _format_broken_limit(snapshot: Snapshot, limit: BrokenLimit) -> str:
    needed, allowed = format_number(limit.needed), format_number(limit.allowed)
    if limit.competency is None:
        return f"preparation {needed}{TIE}h, the limit is {allowed}{TIE}h"
    return f"{_label(snapshot, limit.competency)}: {needed} levels up, the limit is{TIE}{allowed}"


def format_totals(route: Route | DirectMove) -> str:
    """Return a route's totals in words: study hours, months ("at least"), moves."""
    hours = "no courses reach it" if route.study_hours is None else f"{format_number(route.study_hours)}{TIE}h"
    months = "" if route.months is None else f", at least {_format_months(route.months)}"
    return f"{hours}{months}, {format_count(len(route.moves), 'move')}"


def _format_months(months: float) -> str:
    return f"{format_number(months)}{TIE}{'month' if format_number(months) == '1' else 'months'}"


def _add_lane(canvas: Canvas, snapshot: Snapshot, lane: Lane, number: int) -> str:
    """Add a lane and its lines; return the name of its first node.

    A lane begins and ends at a point, so that each line with words lies level inside it.
    """
    between = lane.route.moves[:-1]
    first, last = f"lane/{number}/in", f"lane/{number}/out"
    with canvas.add_cluster(f"lane {number}", lane.words, columns=54 + 30 * len(between[1:])) as box:
        canvas.add_point(first, lane.mark, into=box)
        names = [_add_step(canvas, snapshot, move, number, box) for move in between]
        if not between:
            names = [f"lane/{number}/direct"]
            rows: list[Line | str] = [build_note("straight to the target", 30)]
            rows += [Line(note, columns=40, max_lines=6) for note in lane.notes]
            card = build_card(lane.mark.colour, rows, dashed=lane.mark is BEYOND, width=130)
            canvas.add_card(names[0], card, tooltip="; ".join((lane.words, *lane.notes)), into=box)
        canvas.add_point(last, lane.mark, into=box)
    canvas.add_edge(START, first, tooltip=lane.words, mark=lane.mark, weight="10", **_RUNS_ON)
    stops = [first, *names, last]
    for position, (move, (tail, head)) in enumerate(zip(lane.route.moves, pairwise(stops), strict=False)):
        is_arriving = bool(between) and position < len(between)
        _add_move(canvas, snapshot, tail, head, move, lane.mark, {} if is_arriving else _RUNS_ON)
    if not between:
        canvas.add_edge(names[0], last, tooltip=lane.words, mark=lane.mark, weight="20", **_RUNS_ON)
    canvas.add_edge(last, _TARGET, tooltip=lane.words, mark=lane.mark)
    return first


def _add_step(canvas: Canvas, snapshot: Snapshot, move: RouteMove, number: int, box: Any) -> str:
    role = snapshot.roles[move.role]
    name = get_node_name("role", role.id, str(number))
    stay = f"{format_count(role.months_to_full, 'month')} to full level"
    canvas.add_card(
        name,
        build_card(style.ROLE.colour, [build_name(role.label), build_note(stay)], width=130),
        link=get_link("roles", role.id),
        tooltip=f"{role.label} ({role.id}): {stay}",
        into=box,
    )
    return name


def _add_move(
    canvas: Canvas,
    snapshot: Snapshot,
    tail: str,
    head: str,
    move: RouteMove,
    mark: style.Mark,
    ends: dict[str, str],
) -> None:
    words = f"Move into {move.label}: {'; '.join(format_move(move))}"
    if move.courses:
        words += f". Courses: {', '.join(snapshot.courses[i].label for i in move.courses)}"
    canvas.add_edge(
        tail,
        head,
        tooltip=words,
        mark=mark,
        label=build_words(format_move(move)),
        # a heavy edge is drawn straight
        weight="20",
        **ends,
    )


def format_move(move: RouteMove) -> list[str]:
    hours = "no courses known" if move.study_hours is None else f"{format_number(move.study_hours)} h"
    return [hours] if move.months is None else [hours, _format_months(move.months)]


def build_keys(lanes: Sequence[Lane], words: str = "") -> list[list[Key]]:
    used = {lane.mark.word: lane.mark for lane in lanes}
    marks = [Key(mark.colour, word, "dashes" if mark.pen == "dashed" else "line") for word, mark in used.items()]
    words = words or "On a line: study hours before the move; months of that study and then in the role moved into."
    return [marks, [Key(style.INK, words, "none")]] if lanes else []


def build_subtitle(result: RoutesResult, lanes: Sequence[Lane], left_out: int) -> str:
    count = sum(lane.mark is not BEYOND for lane in lanes)
    if not count:
        return "No route within the limits leads there."
    words = f"{format_count(count, 'route')} within the limits"
    words += {
        "optimal": ", the best ones proved for these entries",
        "feasible": ", the best found in the time given",
        "nothing-to-do": ": no study is needed",
    }.get(result.status, "")
    if result.status == "feasible" and result.lower_bound is not None:
        words += f" (at least {format_number(result.lower_bound)} h)"
    return f"{words}." + (f" Not drawn: {left_out} further ones." if left_out else "")


def build_description(snapshot: Snapshot, result: RoutesResult, lanes: Sequence[Lane], shown: Sequence[Lane]) -> str:
    sentences = [build_subtitle(result, lanes, len(lanes) - len(shown))]
    for lane in shown:
        moves = [f"into {move.label} ({', '.join(format_move(move))})" for move in lane.route.moves]
        sentences.append(f"{lane.words}: {', then '.join(moves)}{''.join(f'; {note}' for note in lane.notes)}.")
    return " ".join(sentences)
