"""A cross-training plan as before and after: needs as they stand, who learns what, needs as they would stand.

Imports sides, drawing, cover_words, sheet, the snapshot and the answers it draws. Needs that the plan changes stand in
both columns; the others are counted in words.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.cover_words import format_scope
from api.diagrams.drawing import Drawing
from api.diagrams.old_cards import Key, Line
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.sides import SideLine, add_side, add_side_lines
from api.diagrams.text import TIE, format_count, format_number, get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import compute_cover_after
from ontology.graph.snapshot import Snapshot

CAUTION: Final = (
    "An offer, not an order: employees agree to what they learn, and a level is there once it is assessed. A level in "
    "this graph is no authorisation to work: the employer's appointment of a competent person and the local code are."
)
_WIDTH: Final = 1240
_NEED: Final = 270
_LEARNER: Final = 300
_SPACE: Final = 200

_MENDS: Final = style.Mark("learns for this need", style.COURSE.colour, width=1.6)


class _Change(NamedTuple):
    """A need before and after; `people` are those who come to be able."""

    before: CoverageRow
    after: CoverageRow
    people: tuple[str, ...]


def build_plan_picture(snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult) -> Picture:
    """Return the picture of a cross-training plan, for a screen.

    Parameters
    ----------
    snapshot : Snapshot
    coverage : CoverageResult
        Of the same team, date and people away: before the plan.
    plan : CrossTrainingResult

    Raises
    ------
    UnknownIdError
        There is no such team.
    """
    changes, title = _get_changes(snapshot, coverage, plan), _get_title(snapshot, plan)
    drawing = Drawing(title)
    subtitle = _build_subtitle(coverage, plan, changes)
    heading = build_fixed_heading(title, subtitle, _build_keys(changes), CAUTION, _WIDTH)
    drawing.add_card("heading", 0, 0, heading, link=get_link("teams", plan.team), tooltip=title)
    before = add_side(drawing, _build_need_groups(snapshot, changes, "before"), 0, heading.height, _NEED)
    learners = add_side(drawing, _build_learner_groups(snapshot, plan), _NEED + _SPACE, heading.height, _LEARNER)
    right = _NEED + _LEARNER + 2 * _SPACE
    after = add_side(drawing, _build_need_groups(snapshot, changes, "after"), right, heading.height, _NEED)
    lines = [(change, person) for change in changes for person in change.people]
    add_side_lines(drawing, before, learners, [_build_line(snapshot, *line, "before") for line in lines])
    add_side_lines(drawing, learners, after, [_build_line(snapshot, *line, "after") for line in lines])
    return drawing.finish(_describe(snapshot, coverage, plan, changes), CAUTION)


def build_plan_sheet(snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult, page: int = 1) -> Picture:
    """Return one page of a cross-training plan on paper: needs before and after, then who learns what.

    Raises
    ------
    UnknownIdError
        There is no such team.
    PageError
        There is no such page.
    """
    changes = _get_changes(snapshot, coverage, plan)
    team = snapshot.require_team(plan.team)
    head = Cell(
        get_node_name("team", team.id),
        (Line("team", colour=style.QUIET), Line(team.label, style.NAME_PT, bold=True, max_lines=None)),
        style.PERSON.colour,
        f"Team {team.id}: {team.label}",
        get_link("teams", team.id),
    )
    needs = tuple(_build_both(snapshot, change) for change in changes)
    groups = [
        Group("needs", f"Needs before and after ({len(needs)})", needs, style.COMPETENCY.colour),
        *_build_learner_groups(snapshot, plan),
    ]
    return build_sheet_picture(
        SheetContent(
            _get_title(snapshot, plan),
            _build_subtitle(coverage, plan, changes),
            _build_keys(changes)[:1],
            CAUTION,
            head,
            style.PERSON,
            groups,
            _describe(snapshot, coverage, plan, changes),
        ),
        page,
    )


def _get_title(snapshot: Snapshot, plan: CrossTrainingResult) -> str:
    return f"Cross-training in {snapshot.require_team(plan.team).label}, before and after"


def _get_changes(snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult) -> list[_Change]:
    """Return the needs for which someone comes to be able, the worst before first."""
    after = compute_cover_after(snapshot, coverage, plan)
    changes = [
        _Change(old, new, tuple(sorted(_get_qualified(new) - _get_qualified(old))))
        for old, new in zip(coverage.needs, after.needs, strict=True)
    ]
    order = list(style.COVER_STATES)
    changed = [change for change in changes if change.people]
    return sorted(changed, key=lambda change: (order.index(change.before.state), -change.before.criticality))


def _get_qualified(row: CoverageRow) -> set[str]:
    return {person for scope in row.shifts or (row,) for person in scope.qualified}


def _build_need_groups(snapshot: Snapshot, changes: Sequence[_Change], time: str) -> list[Group]:
    rows = [change.before if time == "before" else change.after for change in changes]
    groups = []
    for state, mark in style.COVER_STATES.items():
        cells = tuple(_build_need(snapshot, row, mark, time) for row in rows if row.state == state)
        if cells:
            words = f"{time.capitalize()}: {mark.word} ({len(cells)})"
            groups.append(Group(f"{time}/{state}", words, cells, mark.colour))
    return groups


def _get_name(row: CoverageRow, time: str) -> str:
    return get_node_name("need", row.competency, str(row.level), row.applies, time)


def _format_numbers(row: CoverageRow) -> str:
    return f"{row.depth} present, minimum {row.minimum}, target {row.target}"


def _build_need(snapshot: Snapshot, row: CoverageRow, mark: style.Mark, time: str) -> Cell:
    label = snapshot.competencies[row.competency].label
    scope = f"level {row.level} {format_scope(snapshot, row)}"
    return Cell(
        _get_name(row, time),
        (
            Line(label, style.TEXT_PT, bold=True, max_lines=None),
            Line(f"{mark.word}: {_format_numbers(row)}", max_lines=None),
            Line(scope, colour=style.QUIET, max_lines=None),
        ),
        mark.colour,
        f"{time.capitalize()}: {label}, {scope}: {mark.word}, {_format_numbers(row)}",
        get_link("competencies", row.competency),
    )


def _build_both(snapshot: Snapshot, change: _Change) -> Cell:
    before, after = style.COVER_STATES[change.before.state], style.COVER_STATES[change.after.state]
    label = snapshot.competencies[change.before.competency].label
    names = ", ".join(snapshot.people[i].name for i in change.people)
    words = (
        f"before: {before.word}, {_format_numbers(change.before)}",
        f"after: {after.word}, {_format_numbers(change.after)}",
        f"learning: {names}",
    )
    return Cell(
        _get_name(change.before, "both"),
        (
            Line(label, style.NAME_PT, bold=True, max_lines=None),
            Line(f"level {change.before.level}", colour=style.QUIET),
            *(Line(line, max_lines=None) for line in words),
        ),
        after.colour,
        f"{label}, level {change.before.level}; {'; '.join(words)}",
        get_link("competencies", change.before.competency),
    )


def _build_learner_groups(snapshot: Snapshot, plan: CrossTrainingResult) -> list[Group]:
    cells = []
    for learner in plan.learners:
        person = snapshot.people[learner.person]
        hours = f"{format_number(learner.study_hours)}{TIE}h"
        if learner.coach_hours:
            hours += f", and {format_number(learner.coach_hours)}{TIE}h of a coach"
        courses = [
            f"{snapshot.courses[i].label} ({format_number(snapshot.courses[i].hours)}{TIE}h)" for i in learner.courses
        ]
        levels = [
            f"{snapshot.competencies[line.competency].label} (level{TIE}{line.level})"
            for line in plan.plan
            if line.person == learner.person
        ]
        rows = [Line(person.name, style.NAME_PT, bold=True, max_lines=3), Line(hours, colour=style.QUIET)]
        rows += [Line(course, max_lines=3) for course in courses]
        cells.append(
            Cell(
                get_node_name("person", person.id),
                tuple(rows),
                style.PERSON.colour,
                f"{person.name} ({person.id}), {hours}: {', '.join(courses)}; reaches {', '.join(levels)}",
                get_link("people", person.id),
            )
        )
    return [Group("learners", f"Who learns what ({len(cells)})", tuple(cells), style.COURSE.colour)] if cells else []


def _build_line(snapshot: Snapshot, change: _Change, person: str, time: str) -> SideLine:
    row = change.before if time == "before" else change.after
    name = get_node_name("person", person)
    words = f"{snapshot.people[person].name} {_MENDS.word}: {snapshot.competencies[row.competency].label}"
    if time == "before":
        return SideLine(_get_name(row, time), name, style.HOLDS, words)
    return SideLine(name, _get_name(row, time), _MENDS, words, has_arrow=True)


def _build_keys(changes: Sequence[_Change]) -> list[list[Key]]:
    used = {row.state for change in changes for row in (change.before, change.after)}
    states = [Key(mark.colour, mark.word) for state, mark in style.COVER_STATES.items() if state in used]
    lines = [
        Key(style.LINE, "need that someone learns for", "line"),
        Key(_MENDS.colour, "able after the plan, once assessed", "line"),
    ]
    return [states, lines] if changes else []


def _build_subtitle(coverage: CoverageResult, plan: CrossTrainingResult, changes: Sequence[_Change]) -> str:
    if plan.status == "nothing-to-do":
        return "Nothing to do: every need has its target."
    words = f"{format_count(len(plan.learners), 'person', 'people')} learn {format_number(plan.study_hours)} hours"
    words += f", coaches give {format_number(plan.coach_hours)}" if plan.coach_hours else ""
    words += {
        "optimal": ": the least, proved for these entries.",
        "feasible": f": the best found in the time given; at least {format_number(plan.lower_bound)} hours.",
        "unreachable": ".",
    }[plan.status]
    if plan.missing:
        words += f" {format_count(plan.missing, 'person', 'people')} still missing after it."
    rest = len(coverage.needs) - len(changes)
    return words + (f" Not drawn: {format_count(rest, 'need')} that the plan does not change." if rest else "")


def _describe(
    snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult, changes: Sequence[_Change]
) -> str:
    sentences = [_build_subtitle(coverage, plan, changes)]
    sentences += [f"{_build_both(snapshot, change).tooltip}." for change in changes]
    for group in _build_learner_groups(snapshot, plan):
        sentences += [f"{cell.tooltip}." for cell in group.cells]
    sentences += [
        f"Still missing: {row.missing} for {label} (level {row.level}): {row.reason}"
        for row in plan.unmet
        for label in [snapshot.competencies[row.competency].label]
    ]
    return " ".join(sentences)
