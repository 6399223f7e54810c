"""A learning path in words: what it comes to, step by step, and what of the target is left."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

from api.desk.plain_cells import line_up
from api.pictures.names import Names
from api.pictures.path_steps import BroughtRow, Step
from api.pictures.text import TIE, format_cost, format_count, format_number
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.profiles.profile import Profile

_MORE: Final = {"hours": "study hours", "cost": "cost", "courses": "courses", "weeks": "weeks"}
Levels = Sequence[tuple[str, int]]
#: A target level that is not reached: competency, level, why.
Lost = tuple[str, int, str]


def get_start_name(names: Names, profile: Profile) -> str:
    """Return what the start of a path or route is called inside a sentence."""
    if profile.kind == "person" and profile.held_by in names.snapshot.people:
        return names.person(profile.held_by)
    if profile.held_by in names.snapshot.roles:
        return f"someone at full level as {names.role(profile.held_by)}"
    return "someone new"


def format_level(names: Names, competency_id: str, level: int) -> str:
    """Return a level with its competency."""
    return f"{names.competency(competency_id)}{TIE}{level}"


def format_levels(names: Names, levels: Levels) -> str:
    """Return several levels."""
    return ", ".join(format_level(names, *level) for level in levels)


def format_facts(names: Names, step: Step) -> str:
    """Return a course's hours, delivery method and cost, and whether it is booked already."""
    course = step.course
    facts = [f"{format_number(course.study_hours)}{TIE}h", names.snapshot.courses[course.id].method]
    facts += [format_cost(course.cost) if course.cost else "", "booked already" if step.is_booked else ""]
    return ", ".join(filter(None, facts))


def format_purpose(row: BroughtRow) -> str:
    """Return what a level that a step brings is good for."""
    parts = ["target"] * row.is_target + ["towards a target"] * row.is_towards
    parts += [f"for {', '.join(map(str, row.steps))}"] if row.steps else []
    return ", ".join(parts)


def find_other_courses(names: Names, competency_id: str, level: int, taken: Collection[str]) -> str:
    """Return the courses, none of them `taken`, that reach a level too: with their hours, the shortest first."""
    found = {
        outcome.course
        for outcome in names.snapshot.get_outcomes_of_competency(competency_id)
        if outcome.level >= level and not outcome.renews and outcome.course not in taken
    }
    courses = sorted((names.snapshot.courses[i] for i in found), key=lambda c: (c.hours, c.label, c.id))
    return line_up([f"{names.course(course.id)} ({format_number(course.hours)} h)" for course in courses])


def tell_path(result: LearningPathResult, lost: int) -> str:
    """Return what the path comes to, in a sentence."""
    if not result.targets:
        return "There are no target levels."
    if result.status == "nothing-to-do":
        return "Nothing to do: every target level is held already."
    hours = f"{format_number(result.study_hours)} study {'hour' if result.study_hours == 1 else 'hours'}"
    total = f"{format_count(len(result.courses), 'course')}, {hours}"
    if result.months:
        total += f", at least {format_number(result.months)} {'month' if result.months == 1 else 'months'}"
    total += f", {format_cost(result.cost)}" if result.cost else ""
    total += f", beside {len(result.booked)} booked already" if result.booked else ""
    if result.within_budget is False:
        return f"{total}: what the budget buys. The target is not reached: {_tell_missing(result, lost)}."
    if result.status == "optimal":
        least = "lowest cost" if result.minimise == "cost" else f"fewest {_MORE[result.minimise]}"
        return f"{total}: the {least}, proved for these entries."
    if result.status == "feasible":
        bound = f"{format_number(result.lower_bound)} {_MORE[result.minimise]}"
        return f"{total}: the best found in the time given; no path takes less than {bound}."
    return f"{total} to what can be reached; {format_count(lost, 'target level')} cannot be reached by any courses."


def _tell_missing(result: LearningPathResult, lost: int) -> str:
    told = f"{format_count(lost, 'target level')} {'stays' if lost == 1 else 'stay'} open"
    if result.readiness_before is None or result.readiness_after is None:
        return told
    return f"{told}, readiness (0 to 1) {result.readiness_before:.2f} before, {result.readiness_after:.2f} after"


def list_lost(names: Names, steps: Sequence[Step], held: Levels, result: LearningPathResult) -> list[Lost]:
    """Return the target levels that are not reached: competency, level, why."""
    reasons = {row.competency: row.reason for row in result.unreachable}
    there = {i for i, _ in held} | {row.competency for step in steps for row in step.rows if row.is_target}
    lost = ((i, level) for i, level in result.targets.items() if i not in there or i in reasons)
    ranked = sorted(lost, key=lambda row: (names.snapshot.competencies[row[0]].label, row[0]))
    return [(i, level, reasons.get(i, "beyond the budget")) for i, level in ranked]


def list_proofs(names: Names, result: LearningPathResult) -> list[str]:
    """Return what was never assessed, as notes: certificates are shown, the rest is assessed."""
    certificates = [i for i in result.assess_first if names.snapshot.competencies[i].is_certificate]
    rest = [i for i in result.assess_first if i not in certificates]
    told = {"Show proof of": certificates, "Assess first": rest}
    return [f"{words}: {names.join('competencies', ids)}." for words, ids in told.items() if ids]


def tell_step(names: Names, step: Step) -> str:
    """Return a step with what it brings and needs."""
    told = [f"Step {step.number}: {names.course(step.course.id)}, {format_facts(names, step)}"]
    counting = [row for row in step.rows if row.counts]
    brought = [f"{format_level(names, row.competency, row.level)} ({format_purpose(row)})" for row in counting]
    told += [f"brings {', '.join(brought)}"] if brought else []
    needed = [f"{format_levels(names, levels)} of step {number}" for number, levels in step.needs.items()]
    told += [f"needs {', '.join(needed)}"] if needed else []
    told += [f"needs, held already: {format_levels(names, step.held)}"] if step.held else []
    return "; ".join(told)


def describe_path(
    names: Names, result: LearningPathResult, steps: Sequence[Step], held: Levels, lost: Sequence[Lost]
) -> str:
    """Return the path in words: every step with what it reaches and makes possible, and the targets left."""
    sentences = [tell_path(result, len(lost))]
    sentences += [f"{tell_step(names, step)}." for step in steps]
    sentences += [f"Held already: {format_levels(names, held)}."] if held else []
    sentences += [f"Not reached: {format_level(names, i, level)}: {why.rstrip('.')}." for i, level, why in lost]
    return " ".join([*sentences, *result.remarks])
