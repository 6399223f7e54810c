"""A learning path in words: its targets and how they stand, what it comes to, where it can be had otherwise.

Imports text, the snapshot and the answer.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from api.diagrams.text import TIE, format_count, format_number
from ontology.analysis.paths.learning_path import LearningPathResult, PathCourse, build_path_graph
from ontology.analysis.profiles.levels import Profile
from ontology.graph.snapshot import Snapshot

CAUTION: Final = (
    "An offer for learning, not a promise of a post. A level in this graph is no authorisation to work: "
    "the employer's appointment and the local code decide."
)
_MORE: Final = {"hours": "study hours", "cost": "cost", "courses": "number of courses", "weeks": "weeks"}


@dataclass(frozen=True, slots=True)
class Aim:
    """One target level and how it stands: reached by a step (1..n), held already (0), or not reached (None)."""

    competency: str
    label: str
    level: int
    step: int | None
    reason: str

    @property
    def words(self) -> str:
        """How it stands."""
        if self.step is None:
            return "cannot be reached" if self.reason else "not reached by these courses"
        return f"step{TIE}{self.step}" if self.step else "held already"


def get_aims(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> list[Aim]:
    """Return the target levels: reached ones by step, then those held already, then those not reached."""
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
    """Return, for each course, the levels it gives that are a target or asked for on the way: the highest of each.

    Of a course without any, which a budget can bring, the levels it gives on the way to a target.
    """
    graph = build_path_graph(snapshot, profile, result)
    words: dict[str, list[str]] = {}
    for course in result.taken:
        highest: dict[str, int] = {}
        for node in graph.successors(("course", course.id)):
            data = graph.nodes[node]
            highest[data["competency"]] = max(highest.get(data["competency"], 0), data["level"])
        if not highest:
            highest = {row.competency: row.level for row in course.brings if row.competency in result.targets}
        words[course.id] = [
            format_level(snapshot, i, level)
            for i, level in sorted(highest.items(), key=lambda item: snapshot.competencies[item[0]].label)
        ]
    return words


def format_level(snapshot: Snapshot, competency_id: str, level: int) -> str:
    """Return a level with its competency."""
    return f"{snapshot.competencies[competency_id].label} (level{TIE}{level})"


def format_facts(snapshot: Snapshot, course: PathCourse) -> str:
    """Return a course's hours, delivery method and cost."""
    method = snapshot.courses[course.id].method
    facts = [f"{format_number(course.study_hours)}{TIE}h", *filter(None, [method])]
    if course.cost:
        facts.append(f"cost{TIE}{format_number(course.cost)}")
    return ", ".join(facts)


def find_other_courses(snapshot: Snapshot, competency_id: str, level: int, taken: Collection[str]) -> list[str]:
    """Return the courses, none of them `taken`, that reach a level too: with their hours, the shortest first."""
    found = {
        outcome.course
        for outcome in snapshot.get_outcomes_of_competency(competency_id)
        if outcome.level >= level and not outcome.renews and outcome.course not in taken
    }
    courses = sorted((snapshot.courses[i] for i in found), key=lambda course: (course.hours, course.label, course.id))
    return [f"{course.label} ({format_number(course.hours)}{TIE}h)" for course in courses]


def get_title(result: LearningPathResult, start: str, target: str) -> str:
    """Return the title of a picture."""
    return f"Learning path of {start} to {target}" if result.role else f"Learning path of {start}"


def build_subtitle(result: LearningPathResult, aims: Sequence[Aim]) -> str:
    """Return what the path comes to, in a sentence."""
    lost = sum(aim.step is None for aim in aims)
    if not result.targets:
        return "There are no target levels."
    if result.status == "nothing-to-do":
        return "Nothing to do: every target level is held already."
    total = f"{format_count(len(result.courses), 'course')}, {format_number(result.study_hours)} study hours"
    if result.cost:
        total += f", cost {format_number(result.cost)}"
    if result.booked:
        total += f", beside {len(result.booked)} booked already"
    if result.within_budget is False:
        return f"{total}: what the budget buys. The target is not reached: {tell_missing(result, lost)}."
    if result.status == "optimal":
        return f"{total}: the least {_MORE[result.minimise]}, proved for these entries."
    if result.status == "feasible":
        bound = f"{format_number(result.lower_bound)} {'h' if result.minimise == 'hours' else _MORE[result.minimise]}"
        return f"{total}: the best found in the time given; at least {bound}."
    return f"{total} to what can be reached; {format_count(lost, 'target level')} cannot be reached by any courses."


def tell_missing(result: LearningPathResult, lost: int) -> str:
    """Return how many target levels a budget leaves open, and the readiness that it brings."""
    words = f"{format_count(lost, 'target level')} {'stays' if lost == 1 else 'stay'} open"
    if result.readiness_before is None or result.readiness_after is None:
        return words
    return f"{words}, readiness {result.readiness_before:.2f} before, {result.readiness_after:.2f} after"


def build_description(
    snapshot: Snapshot, result: LearningPathResult, aims: Sequence[Aim], reaches: Mapping[str, Sequence[str]]
) -> str:
    """Return the path in words: every step with what it reaches and makes possible, and the targets left."""
    steps = {course.id: number for number, course in enumerate(result.taken, start=1)}
    sentences = [build_subtitle(result, aims)]
    booked = {row.id for row in result.booked}
    for step, course in enumerate(result.taken, start=1):
        mark = " (booked already)" if course.id in booked else ""
        words = f"Step {step}: {course.label}{mark}, {format_number(course.study_hours)} h"
        words += f", reaches {', '.join(reaches[course.id])}" if reaches[course.id] else ""
        later = [str(steps[i]) for i in course.enables if i in steps]
        sentences.append(f"{words}, needed for step {', '.join(later)}." if later else f"{words}.")
    held = [f"{aim.label} (level {aim.level})" for aim in aims if aim.step == 0]
    if held:
        sentences.append(f"Held already: {', '.join(held)}.")
    lost = [aim for aim in aims if aim.step is None]
    sentences += [f"{aim.label} (level {aim.level}) {aim.words}: {aim.reason or 'beyond the budget.'}" for aim in lost]
    sentences += result.remarks
    return " ".join(sentences)
