"""Learning paths and routes by trying everything, for small companies: read from the text, not from the program.

Uses the records and the Snapshot only, none of the analysis, so that a shared mistake cannot hide.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ontology.model.records import Course
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True)
class Learner:
    """Levels at the start, what may be renewed, the present role, and hours a week for study."""

    levels: Mapping[str, int]
    renewable: Mapping[str, int]
    role: str
    pace: float


def take(snapshot: Snapshot, learner: Learner, levels: dict[str, int], course: Course) -> bool:
    """Take a course if its entry conditions are met; return whether it was taken."""
    for condition in snapshot.get_entry_conditions(course.id):
        if levels.get(condition.competency, 0) < condition.level:
            return False
    for outcome in snapshot.get_outcomes(course.id):
        lost_lately = learner.renewable.get(outcome.competency, 0) >= outcome.level
        if outcome.renews and not lost_lately:
            continue
        levels[outcome.competency] = max(levels.get(outcome.competency, 0), outcome.level)
    return True


def take_all(snapshot: Snapshot, learner: Learner, levels: dict[str, int], courses: Iterable[Course]) -> bool:
    """Take all courses in some order; return whether there is one."""
    waiting = list(courses)
    while waiting:
        for course in waiting:
            if take(snapshot, learner, levels, course):
                waiting.remove(course)
                break
        else:
            return False
    return True


def minutes(courses: Iterable[Course]) -> int:
    return sum(round(course.hours * 60) for course in courses)


def cents(courses: Iterable[Course]) -> int:
    return sum(round(course.cost * 100) for course in courses)


def reach_everything(snapshot: Snapshot, learner: Learner) -> dict[str, int]:
    """Return the levels after every course that can be taken."""
    levels = dict(learner.levels)
    for _ in snapshot.courses:
        for course in snapshot.courses.values():
            take(snapshot, learner, levels, course)
    return levels


def find_best_path(
    snapshot: Snapshot, learner: Learner, targets: Mapping[str, int], minimise: str
) -> tuple[tuple[int, int, int], tuple[str, ...]] | None:
    """Return the least (first aim, second, third) and the smallest sorted ids over all sets of courses."""
    best = None
    courses = list(snapshot.courses.values())
    for size in range(len(courses) + 1):
        for chosen in itertools.combinations(courses, size):
            levels = dict(learner.levels)
            if not take_all(snapshot, learner, levels, chosen):
                continue
            if any(levels.get(i, 0) < level for i, level in targets.items()):
                continue
            hours, money = minutes(chosen), cents(chosen)
            aims = {
                "hours": (hours, money, size),
                "cost": (money, hours, size),
                "courses": (size, hours, money),
            }[minimise]
            found = (aims, tuple(sorted(course.id for course in chosen)))
            if best is None or found < best:
                best = found
    return best


def asked(snapshot: Snapshot, role: str) -> list[Any]:
    return [r for r in snapshot.get_requirements(role) if r.necessity != "desirable"]


def is_certificate(snapshot: Snapshot, competency: str) -> bool:
    return snapshot.competencies[competency].kind == "certificate"


def is_legal(
    snapshot: Snapshot,
    learner: Learner,
    sequence: tuple[str, ...],
    stages: list[list[Course]],
    limit_hours: float,
    level_limit: int,
) -> bool:
    """Whether these courses before each move make every move legal."""
    levels = dict(learner.levels)
    for role, courses in zip(sequence, stages, strict=True):
        for requirement in asked(snapshot, role):
            above = requirement.entry_level - levels.get(requirement.competency, 0)
            if above > level_limit and not is_certificate(snapshot, requirement.competency):
                return False
        if minutes(courses) > limit_hours * 60 + 1e-6:
            return False
        if not take_all(snapshot, learner, levels, courses):
            return False
        if any(levels.get(r.competency, 0) < r.entry_level for r in asked(snapshot, role)):
            return False
        for requirement in snapshot.get_requirements(role):
            comes_by_time = requirement.learned_on_job
            if comes_by_time is None:
                comes_by_time = requirement.necessity != "desirable"
            if comes_by_time and not is_certificate(snapshot, requirement.competency):
                levels[requirement.competency] = max(levels.get(requirement.competency, 0), requirement.level)
    return True


def iterate_placements(courses: list[Course], stage_count: int) -> Iterator[list[list[Course]]]:
    for places in itertools.product(range(stage_count + 1), repeat=len(courses)):
        stages: list[list[Course]] = [[] for _ in range(stage_count)]
        for course, place in zip(courses, places, strict=True):
            if place < stage_count:
                stages[place].append(course)
        yield stages


def find_least_minutes(
    snapshot: Snapshot, learner: Learner, sequence: tuple[str, ...], limit_hours: float, level_limit: int
) -> int | None:
    """Return the least minutes over every placement of every course, None where no placement is legal."""
    best = None
    for stages in iterate_placements(list(snapshot.courses.values()), len(sequence)):
        total = sum(minutes(stage) for stage in stages)
        if (best is None or total < best) and is_legal(snapshot, learner, sequence, stages, limit_hours, level_limit):
            best = total
    return best


def find_legal_routes(
    snapshot: Snapshot, learner: Learner, target: str, max_moves: int, limit_hours: float, level_limit: int
) -> dict[tuple[str, ...], int]:
    """Return every legal sequence of roles with its least minutes."""
    between = [r for r in snapshot.roles if r not in (target, learner.role) and snapshot.get_requirements(r)]
    legal = {}
    for count in range(max_moves):
        for middle in itertools.permutations(between, count):
            sequence = (*middle, target)
            least = find_least_minutes(snapshot, learner, sequence, limit_hours, level_limit)
            if least is not None:
                legal[sequence] = least
    return legal


def keep_asked(
    legal: Mapping[tuple[str, ...], int], avoid: Collection[str], via: str | None
) -> dict[tuple[str, ...], int]:
    """Return the sequences that move into no role to avoid and pass through `via` before the target."""
    return {
        sequence: least
        for sequence, least in legal.items()
        if not set(avoid) & set(sequence) and (via is None or via in sequence[:-1])
    }


def keep_shown(legal: Mapping[tuple[str, ...], int]) -> dict[tuple[str, ...], int]:
    """Return the routes that lose by leaving out any single intermediate role."""
    shown = {}
    for sequence, least in legal.items():
        shorter = [sequence[:k] + sequence[k + 1 :] for k in range(len(sequence) - 1)]
        if all(s not in legal or legal[s] > least for s in shorter):
            shown[sequence] = least
    return shown


def compute_months(snapshot: Snapshot, learner: Learner, sequence: tuple[str, ...], least: int) -> Fraction:
    study = Fraction(least, 60) / Fraction(learner.pace) / Fraction(52, 12)
    return study + sum(snapshot.roles[role].months_to_full for role in sequence[:-1])
