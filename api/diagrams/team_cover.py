"""Who holds what up in a team: people at the left, cover needs at the right, a line for each who can do it.

Imports canvas, cards, cover_words, style, text, the snapshot and the answers it draws. Needs stand in boxes by their
state, people in boxes: single points of failure, others, away (never with a reason). A thick line: without this
person the need would be short. Where lines would be too many, the lesser ones are names in the need's card instead.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from api.diagrams import style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.cards import Key, Line, build_card, build_name, build_note
from api.diagrams.cover_words import describe_cover, format_falls, format_scope, format_summary, get_shift_label
from api.diagrams.text import get_link, get_node_name
from ontology.analysis.coverage import CoverageResult, CoverageRow
from ontology.analysis.single_points import SinglePoint, SinglePointsResult
from ontology.graph.snapshot import Snapshot

#: More lines than this cannot be followed with the eye.
MOST_LINES: Final = 40
#: Needs without a line stand in columns of this length.
COLUMN_LENGTH: Final = 12
CAUTION: Final = (
    "A level in this graph is no authorisation to work: the employer's appointment of a competent person and the "
    "local code are. No roster law is checked. A single point of failure is a fault of the organisation, no ground "
    "to refuse leave."
)


@dataclass(frozen=True, slots=True)
class Hold:
    """A person able to meet a need; critical: it would be short without them."""

    person: str
    row: CoverageRow
    shift: str | None
    state: str
    is_present: bool
    is_critical: bool


def build_team_cover_picture(
    snapshot: Snapshot, coverage: CoverageResult, single_points: SinglePointsResult
) -> Picture:
    """Return the picture of a team's cover on a date.

    Parameters
    ----------
    snapshot : Snapshot
    coverage : CoverageResult
    single_points : SinglePointsResult
        Of the same team, date and people away.

    Raises
    ------
    UnknownIdError
        There is no such team.

    Notes
    -----
    O(h log h) for h pairs of a need and a person able to meet it.
    """
    team = snapshot.require_team(coverage.team)
    points = {point.id: point for point in single_points.people}
    holds = list(iterate_holds(coverage, points))
    drawn = _choose_lines(holds)
    without_line = {hold.row for hold in holds} - {hold.row for hold in drawn}
    partly = {hold.row for hold in set(holds) - set(drawn)}
    named: defaultdict[CoverageRow, list[Hold]] = defaultdict(list)
    for hold in holds:
        if hold.row in partly:
            named[hold.row].append(hold)
    canvas = Canvas(
        f"Cover of {team.label} on {coverage.on.isoformat()}",
        format_summary(snapshot, coverage, points),
        build_keys(coverage, drawn, holds),
        caution=CAUTION,
        ranksep=1.2 + 0.025 * len(drawn),
        nodesep=0.1,
    )
    people = _add_people(canvas, snapshot, coverage, points, drawn)
    needs = _add_needs(canvas, snapshot, coverage, named)
    _arrange(canvas, people, needs, [name for name in needs if name in set(map(get_need_name, without_line))])
    for hold in drawn:
        _connect(canvas, snapshot, hold)
    return canvas.finish(describe_cover(snapshot, coverage, points))


def _choose_lines(holds: Sequence[Hold]) -> list[Hold]:
    """Return the pairs drawn as lines: the critical ones, then those of each state as long as the eye can follow."""
    chosen = {hold for hold in holds if hold.is_critical or hold.state in ("short", "sole-holder", "no-reserve")}
    for state in style.COVER_STATES:
        group = {hold for hold in holds if hold.row.state == state} - chosen
        if len(chosen) + len(group) <= MOST_LINES:
            chosen |= group
    return [hold for hold in holds if hold in chosen]


def _arrange(canvas: Canvas, people: Sequence[str], needs: Sequence[str], without_line: Sequence[str]) -> None:
    """Hold the worst needs up, by unseen edges; put needs whose lines are left out into columns further right."""
    columns = [[name for name in needs if name not in without_line]]
    columns += [list(without_line[i : i + COLUMN_LENGTH]) for i in range(0, len(without_line), COLUMN_LENGTH)]
    anchor = people[:1]
    for column in columns:
        canvas.keep_order(column)
        for name in column if anchor else ():
            canvas.graph.edge(anchor[0], name, style="invis", weight="0")
        anchor = column[:1] or anchor


def iterate_holds(coverage: CoverageResult, points: dict[str, SinglePoint]) -> Iterator[Hold]:
    fallen = {
        (point.id, need.competency, need.level, need.applies, need.shift)
        for point in points.values()
        for need in point.needs
    }
    for row in coverage.needs:
        for scope in row.shifts or (row,):
            for person in scope.qualified:
                is_critical = (person, row.competency, row.level, row.applies, scope.shift) in fallen
                yield Hold(person, row, scope.shift, scope.state, person in scope.present, is_critical)


def get_need_name(row: CoverageRow) -> str:
    return get_node_name("need", row.competency, str(row.level), row.applies)


def _add_people(
    canvas: Canvas,
    snapshot: Snapshot,
    coverage: CoverageResult,
    points: dict[str, SinglePoint],
    drawn: Sequence[Hold],
) -> list[str]:
    """Add the people by box; return their names in this order."""
    names = []
    linked = {hold.person for hold in drawn}
    away = [i for i in coverage.absent if i in linked]
    others = sorted(linked - points.keys() - set(away))
    for name, words, ids in (
        ("single points", "Single points of failure", sorted(points)),
        ("others", "Others who hold something up", others),
        ("away", "Away", away),
    ):
        if not ids:
            continue
        with canvas.add_cluster(name, f"{words} ({len(ids)})") as box:
            for person_id in ids:
                _add_person(canvas, snapshot, person_id, points.get(person_id), person_id in coverage.absent, box)
        names += [get_node_name("person", person_id) for person_id in ids]
    # inside a box and between boxes dot is free to keep lines from crossing
    return names


def _add_person(
    canvas: Canvas, snapshot: Snapshot, person_id: str, point: SinglePoint | None, is_away: bool, box: Any
) -> None:
    person = snapshot.people[person_id]
    where = get_shift_label(snapshot, person.shift) or "no shift"
    rows = [build_name(person.name, 28), build_note(f"{where}{', away' if is_away else ''}", 36)]
    falls = format_falls(snapshot, point) if point else []
    rows += [Line(f"if away: {words}", columns=38, max_lines=4) for words in falls]
    tooltip = f"{person.name} ({person_id}), {where}"
    tooltip += ", away" if is_away else ""
    tooltip += f". If away: {'; '.join(falls)}" if falls else ""
    card = build_card(
        style.PERSON.colour,
        rows,
        border=style.INK if point else style.LINE,
        border_width=2 if point else 1,
        dashed=is_away,
        width=170,
    )
    name = get_node_name("person", person_id)
    canvas.add_card(name, card, link=get_link("people", person_id), tooltip=tooltip, into=box)


def _add_needs(
    canvas: Canvas, snapshot: Snapshot, coverage: CoverageResult, named: dict[CoverageRow, list[Hold]]
) -> list[str]:
    """Add the needs, the worst state first; return their names in order."""
    names = []
    for state, mark in style.COVER_STATES.items():
        rows = [row for row in coverage.needs if row.state == state]
        rows.sort(key=lambda row: (-row.criticality, snapshot.competencies[row.competency].label, row.applies))
        if rows:
            with canvas.add_cluster(f"state {state}", f"{mark.word.capitalize()} ({len(rows)})") as box:
                for row in rows:
                    _add_need(canvas, snapshot, row, mark, named.get(row, []), box)
        names += [get_need_name(row) for row in rows]
    return names


def _add_need(
    canvas: Canvas, snapshot: Snapshot, row: CoverageRow, mark: style.Mark, named: Sequence[Hold], box: Any
) -> None:
    competency = snapshot.competencies[row.competency]
    numbers = f"{row.depth} present, minimum {row.minimum}, target {row.target}"
    scope = f"level {row.level} {format_scope(snapshot, row)}; criticality {row.criticality}"
    lines = [
        build_name(competency.label, 32),
        Line(f"{mark.word}: {numbers}", columns=46),
        build_note(scope, 46),
        *(build_note(words, 46) for words in _format_holders(snapshot, named)),
    ]
    canvas.add_card(
        get_need_name(row),
        build_card(mark.colour, lines, border=style.INK if mark.width > 1 else style.LINE, border_width=mark.width),
        link=get_link("competencies", row.competency),
        tooltip="; ".join((f"{competency.label}, {scope}: {mark.word}, {numbers}", *_format_holders(snapshot, named))),
        into=box,
    )


def _format_holders(snapshot: Snapshot, named: Sequence[Hold]) -> list[str]:
    """Return who can do it, in words, a paragraph for each shift."""
    groups: defaultdict[str, list[str]] = defaultdict(list)
    for hold in named:
        away = "" if hold.is_present else " (away)"
        where = get_shift_label(snapshot, hold.shift) or "held up by"
        groups[where].append(snapshot.people[hold.person].name + away)
    return [f"{where}: {', '.join(names)}" for where, names in groups.items()]


def _connect(canvas: Canvas, snapshot: Snapshot, hold: Hold) -> None:
    name = snapshot.people[hold.person].name
    label = snapshot.competencies[hold.row.competency].label
    mark = style.CRITICAL if hold.is_critical else style.HOLDS if hold.is_present else style.AWAY
    words = "is away" if not hold.is_present else mark.word
    shift = f" in {get_shift_label(snapshot, hold.shift)}" if hold.shift else ""
    canvas.add_edge(
        get_node_name("person", hold.person),
        get_need_name(hold.row),
        tooltip=f"{name}, {label}{shift}: {words}",
        mark=mark,
        arrowhead="none",
    )


def build_keys(coverage: CoverageResult, drawn: Sequence[Hold], holds: Sequence[Hold]) -> list[list[Key]]:
    present = {row.state for row in coverage.needs}
    words = {
        "short": "short: below the minimum",
        "sole-holder": "sole holder: one person, and one is the minimum",
        "no-reserve": "no reserve: just the minimum",
        "below-target": "below target",
        "covered": "covered",
    }
    states = [Key(style.COVER_STATES[state].colour, words[state]) for state in words if state in present]
    lines = []
    if any(hold.is_critical for hold in drawn):
        lines.append(Key(style.CRITICAL.colour, "thick: the need would be short without this person", "line"))
    if any(hold.is_present and not hold.is_critical for hold in drawn):
        lines.append(Key(style.LINE, "thin: able and present", "line"))
    if any(not hold.is_present for hold in drawn):
        lines.append(Key(style.LINE, "able, but away (dashed)", "dashes"))
    rows = [states, lines]
    if len(drawn) < len(holds):
        rows.append([Key(style.INK, "Too many lines for one picture: some are names in the need's card.", "none")])
    return rows
