"""A learning path: where it starts, its courses in order with hours, what each makes possible, the target levels.

Imports canvas, cards, start, style, text, the snapshot and the answer it draws. Courses that ask for nothing unmet
stand in the first column; an arrow leads from a course to those it makes possible and to the target levels it reaches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams import style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.cards import (
    CARD_WIDTH,
    Key,
    Line,
    build_card,
    build_line_row,
    build_main_card,
    build_name,
    build_note,
)
from api.diagrams.start import START, add_start, get_start_name
from api.diagrams.text import TIE, format_count, format_number, get_link, get_node_name
from ontology.analysis.learning_path import LearningPathResult, PathCourse, build_path_graph
from ontology.analysis.levels import Profile
from ontology.graph.snapshot import Snapshot

CAUTION: Final = (
    "An offer for learning, not a promise of a post. A level in this graph is no authorisation to work: "
    "the employer's appointment and the local code decide."
)
#: A path with more courses is drawn with narrower cards.
LONG_PATH: Final = 12
_MORE: Final = {"hours": "study hours", "cost": "cost", "courses": "number of courses"}
_TARGET: Final = "target"


@dataclass(frozen=True, slots=True)
class Aim:
    """One target level and how it stands: reached by a step (1..n), held already (0), or out of reach (None)."""

    competency: str
    label: str
    level: int
    step: int | None
    reason: str

    @property
    def words(self) -> str:
        if self.step is None:
            return "cannot be reached"
        return f"step{TIE}{self.step}" if self.step else "held already"


def build_learning_path_picture(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> Picture:
    """Return the picture of a learning path.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : LearningPathResult

    Notes
    -----
    O(c^2 + t) for c courses and t target levels.
    """
    aims = get_aims(snapshot, profile, result)
    reaches = get_reached_levels(snapshot, profile, result)
    start = get_start_name(snapshot, profile)
    target = snapshot.roles[result.role].label if result.role in snapshot.roles else "Target levels"
    canvas = Canvas(
        f"Learning path of {start} to {target}" if result.role else f"Learning path of {start}",
        build_subtitle(result, aims),
        build_keys(result, aims),
        caution=CAUTION,
        ranksep=0.75,
        nodesep=0.14,
    )
    count = format_count(len(result.assess_first), "competency", "competencies")
    unassessed = ", ".join(snapshot.competencies[i].label for i in result.assess_first)
    add_start(
        canvas,
        snapshot,
        profile,
        [Line(f"not assessed in {count}: assess first", columns=28, bold=True)] if unassessed else [],
        f"Assess first: {unassessed}" if unassessed else "",
    )
    is_long = len(result.courses) > LONG_PATH
    for step, course in enumerate(result.courses, start=1):
        _add_course(canvas, snapshot, course, step, reaches[course.id], is_narrow=is_long)
    _add_target(canvas, target, result, aims)
    _connect(canvas, snapshot, result, aims)
    return canvas.finish(build_description(result, aims, reaches))


def get_aims(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> list[Aim]:
    """Return the target levels: reached ones by step, then those held already, then those out of reach."""
    graph = build_path_graph(snapshot, profile, result)
    reasons = {row.competency: row.reason for row in result.unreachable}
    aims = []
    for competency_id, level in sorted(result.targets.items()):
        node = ("level", competency_id, str(level))
        step: int | None = None
        if graph.nodes[node]["is_held"]:
            step = 0
        elif competency_id not in reasons:
            step = min((graph.nodes[course]["position"] for course in graph.predecessors(node)), default=None)
        label = snapshot.competencies[competency_id].label
        aims.append(Aim(competency_id, label, level, step, reasons.get(competency_id, "")))
    return sorted(aims, key=lambda aim: (aim.step is None, aim.step == 0, aim.step or 0, aim.label, aim.competency))


def get_reached_levels(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> dict[str, list[str]]:
    """Return, for each course, the levels it gives that are a target or asked for on the way: the highest of each."""
    graph = build_path_graph(snapshot, profile, result)
    words: dict[str, list[str]] = {}
    for course in result.courses:
        highest: dict[str, int] = {}
        for node in graph.successors(("course", course.id)):
            data = graph.nodes[node]
            highest[data["competency"]] = max(highest.get(data["competency"], 0), data["level"])
        words[course.id] = [
            f"{snapshot.competencies[i].label}{TIE}{level}"
            for i, level in sorted(highest.items(), key=lambda item: snapshot.competencies[item[0]].label)
        ]
    return words


def _add_course(
    canvas: Canvas, snapshot: Snapshot, course: PathCourse, step: int, reaches: Sequence[str], *, is_narrow: bool
) -> None:
    columns = 34 if is_narrow else 46
    method = snapshot.courses[course.id].method
    facts = [f"{format_number(course.study_hours)} h", *filter(None, [method])]
    if course.cost:
        facts.append(f"cost {format_number(course.cost)}")
    rows = [build_name(course.label, columns - 12), build_note(", ".join(facts), columns)]
    if reaches:
        rows.append(Line(f"reaches {'; '.join(reaches)}", columns=columns, max_lines=6))
    canvas.add_card(
        get_node_name("course", course.id),
        build_card(style.COURSE.colour, rows, mark=str(step), width=150 if is_narrow else CARD_WIDTH),
        link=get_link("courses", course.id),
        tooltip=f"Step {step}: {course.label} ({course.id}), {', '.join(facts)}"
        + (f"; reaches {'; '.join(reaches)}" if reaches else ""),
    )


def _add_target(canvas: Canvas, target: str, result: LearningPathResult, aims: Sequence[Aim]) -> None:
    rows: list[Line | str] = [build_note("target", 26), build_name(target, 30)]
    for position, aim in enumerate(aims):
        is_lost = aim.step is None
        line = Line(f"{aim.label}{TIE}{aim.level}: {aim.words}", columns=46, bold=is_lost, max_lines=4)
        tooltip = f"{aim.label} at level {aim.level}: {aim.reason or aim.words}"
        rows.append(
            build_line_row(line, f"t{position}", link=get_link("competencies", aim.competency), tooltip=tooltip)
        )
    link = get_link("roles", result.role) if result.role else ""
    canvas.add_card(
        _TARGET,
        build_main_card(style.ROLE, rows, has_bar=False),
        link=link,
        tooltip=f"Target: {target}",
    )


def _connect(canvas: Canvas, snapshot: Snapshot, result: LearningPathResult, aims: Sequence[Aim]) -> None:
    enabled = {later for course in result.courses for later in course.enables}
    for course in result.courses:
        name = get_node_name("course", course.id)
        if course.id not in enabled:
            canvas.add_edge(START, name, tooltip=f"{course.label} can begin at once", weight="8")
        for later in course.enables:
            tooltip = f"{course.label} makes {snapshot.courses[later].label} possible"
            canvas.add_edge(name, get_node_name("course", later), tooltip=tooltip, mark=style.COURSE, weight="3")
    for position, aim in enumerate(aims):
        if aim.step:
            course = result.courses[aim.step - 1]
            tooltip = f"{course.label} reaches {aim.label} at level {aim.level}"
            name = get_node_name("course", course.id)
            canvas.add_edge(name, _TARGET, tooltip=tooltip, mark=style.ROLE, port=f"t{position}")
    if not result.courses:
        canvas.add_edge(START, _TARGET, tooltip="No course is needed or known", mark=style.AWAY)


def build_keys(result: LearningPathResult, aims: Sequence[Aim]) -> list[list[Key]]:
    if not result.courses:
        return []
    keys = [Key(style.COURSE.colour, "course, numbered in an order that can be followed", "box", sample="1")]
    if any(course.enables for course in result.courses):
        keys.append(Key(style.COURSE.colour, "makes the next course possible", "line"))
    if any(aim.step for aim in aims):
        keys.append(Key(style.ROLE.colour, "reaches a target level", "line"))
    return [keys]


def build_subtitle(result: LearningPathResult, aims: Sequence[Aim]) -> str:
    lost = sum(aim.step is None for aim in aims)
    if not result.targets:
        return "There are no target levels."
    if result.status == "nothing-to-do":
        return "Nothing to do: every target level is held already."
    total = f"{format_count(len(result.courses), 'course')}, {format_number(result.study_hours)} study hours"
    if result.cost:
        total += f", cost {format_number(result.cost)}"
    if result.status == "optimal":
        return f"{total}: the least {_MORE[result.minimise]}, proved for these entries."
    if result.status == "feasible":
        bound = f"{format_number(result.lower_bound)} {'h' if result.minimise == 'hours' else _MORE[result.minimise]}"
        return f"{total}: the best found in the time given; at least {bound}."
    return f"{total} to what can be reached; {format_count(lost, 'target level')} cannot be reached by any courses."


def build_description(result: LearningPathResult, aims: Sequence[Aim], reaches: dict[str, list[str]]) -> str:
    sentences = [build_subtitle(result, aims)]
    for step, course in enumerate(result.courses, start=1):
        words = f"Step {step}: {course.label}, {format_number(course.study_hours)} h"
        sentences.append(f"{words}, reaches {', '.join(reaches[course.id])}." if reaches[course.id] else f"{words}.")
    held = [f"{aim.label} {aim.level}" for aim in aims if aim.step == 0]
    if held:
        sentences.append(f"Held already: {', '.join(held)}.")
    sentences += [f"{aim.label} {aim.level} cannot be reached: {aim.reason}" for aim in aims if aim.step is None]
    return " ".join(sentences)
