"""From the courses chosen to what is said of the path: courses, requirements, booked ones, budget, variants. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.aims import DEFAULT_PACE, Aim, Levels
from ontology.analysis.paths.alternatives import Alternative, find_alternatives
from ontology.analysis.paths.assess_savings import AssessSaving, find_assess_savings
from ontology.analysis.paths.booking import BookedCourse, describe_booked
from ontology.analysis.paths.budget import Budget, limit_to_budget
from ontology.analysis.paths.catalogue import Catalogue, Offer, build_idle_offer
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.paths.path_courses import describe_courses, order_offers
from ontology.analysis.paths.path_problem import PathProblem, PathSolver
from ontology.analysis.paths.path_results import BudgetReport, LearningPathResult, PathStatus
from ontology.analysis.paths.path_rows import build_requirement_rows, get_readiness
from ontology.analysis.paths.path_within_budget import Choice
from ontology.analysis.paths.unreachable import UnreachableLevel
from ontology.analysis.profiles.gap import get_standing
from ontology.analysis.profiles.profile import Profile, count_levels
from ontology.model.records import Requirement
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DEFAULT_ALTERNATIVES", "PathAsked", "build_path_result"]

#: Alternatives shown without being asked for, and the most courses that may matter then: so many are quick.
DEFAULT_ALTERNATIVES: Final = 2
_QUICK_SIZE: Final = 600


@dataclass(frozen=True, slots=True)
class PathAsked:
    """What is asked besides the profile and the targets."""

    minimise: Aim
    budget: Budget
    exclude: AbstractSet[str]
    booked: AbstractSet[str]
    seats: Mapping[str, Session]
    alternatives: int | None
    time_limit_s: float | None
    unassessed: frozenset[str]
    levels: Levels = "full"


def build_path_result(
    snapshot: Snapshot,
    profile: Profile,
    role_id: str,
    targets: Mapping[str, int],
    requirements: Sequence[Requirement],
    asked: PathAsked,
    problem: PathProblem,
    reached: Mapping[str, int],
    choice: Choice,
    unreachable: tuple[UnreachableLevel, ...],
    deadline: Deadline,
) -> LearningPathResult:
    """Return all that is said of the courses chosen; variants are computed as far as the deadline allows.

    Parameters
    ----------
    snapshot, profile, role_id, requirements
        The question; no role and no requirements for a path to bare levels.
    targets : Mapping of competency id to level
        By competency id.
    problem, reached
        What was solved, and the levels that all courses together reach.
    unreachable : tuple of UnreachableLevel
    """
    status: PathStatus = "optimal" if choice.is_proved else "feasible"
    if unreachable:
        status = "unreachable"
    elif all(profile.get(i) >= level for i, level in targets.items()):
        status = "nothing-to-do"
    booked = _get_booked_offers(snapshot, problem.catalogue, asked.booked)
    order, after = order_offers(profile.levels, [*choice.offers, *booked.values()])
    described = describe_courses(snapshot, profile, order, choice.goals, problem.pace)
    courses = tuple(row for row in described if row.id not in asked.booked)
    taken = describe_booked(snapshot, asked.booked, booked, described, after, problem.pace, asked.seats)
    minutes, cents = _add_up(choice.offers)
    booked_minutes, booked_cents = _add_up(list(booked.values()))
    counted = count_levels(snapshot, after)
    readiness = get_readiness(requirements, counted)
    variants = _Variants(snapshot, problem, choice, asked, deadline)
    return LearningPathResult(
        role=role_id,
        minimise=asked.minimise,
        status=status,
        study_hours=minutes / 60,
        cost=cents / 100,
        lower_bound=choice.lower_bound,
        courses=courses,
        unreachable=unreachable,
        assess_first=tuple(i for i in targets if i in asked.unassessed),
        targets=targets,
        coach_hours=sum(round(row.coach_hours * 60) for row in courses) / 60,
        weeks=float(sum((offer.get_weeks(problem.pace) for offer in choice.offers), Fraction(0))),
        months=compute_months(minutes, profile.study_hours_per_week),
        readiness_before=get_readiness(requirements, count_levels(snapshot, profile.levels)),
        readiness_after=readiness,
        standing_after=get_standing(requirements, counted) if role_id else None,
        is_target_reached=not unreachable and choice.within_budget is not False,
        requirements=build_requirement_rows(
            snapshot,
            _ask_levels(requirements, asked),
            profile,
            order,
            targets=targets,
            unreachable=[row.competency for row in unreachable],
            unassessed=asked.unassessed,
        ),
        order=tuple(offer.id for offer in order),
        booked=taken,
        booked_hours=booked_minutes / 60,
        booked_cost=booked_cents / 100,
        within_budget=choice.within_budget,
        budget=_report_budget(snapshot, asked.budget, choice, requirements, profile, reached, readiness),
        assess_savings=variants.find_savings(targets),
        alternatives=variants.find_alternatives(),
        indispensable=variants.find_indispensable(),
        remarks=tuple(_list_remarks(snapshot, profile, taken, choice.offers)),
    )


def _ask_levels(requirements: Sequence[Requirement], asked: PathAsked) -> Sequence[Requirement]:
    """Return the requirements at the levels that the path leads to."""
    if asked.levels == "full":
        return requirements
    return [replace(row, level=row.entry_level) for row in requirements]


def _get_booked_offers(snapshot: Snapshot, catalogue: Catalogue, booked: AbstractSet[str]) -> dict[str, Offer]:
    if not booked:
        return {}
    of_use = {offer.id: offer for offer in catalogue.offers if offer.id in booked}
    return {i: of_use.get(i) or build_idle_offer(snapshot, i) for i in sorted(booked)}


def _add_up(offers: Sequence[Offer]) -> tuple[int, int]:
    return sum(offer.minutes for offer in offers), sum(offer.cents for offer in offers)


def _report_budget(
    snapshot: Snapshot,
    budget: Budget,
    choice: Choice,
    requirements: Sequence[Requirement],
    profile: Profile,
    reached: Mapping[str, int],
    readiness: float | None,
) -> BudgetReport | None:
    if budget.is_open:
        return None
    minutes, cents = _add_up(choice.offers)
    needed_minutes, needed_cents = _add_up(choice.whole)
    bound = None
    if choice.within_budget is False and readiness is not None:
        most = get_readiness(requirements, count_levels(snapshot, {**profile.levels, **reached}))
        assert most is not None, "there is a readiness after the path"
        bound = readiness if choice.is_proved else max(readiness, most - float(choice.forgone_bound))
    return BudgetReport(
        max_hours=budget.max_hours,
        max_cost=budget.max_cost,
        needed_hours=needed_minutes / 60,
        needed_cost=needed_cents / 100,
        left_hours=None if budget.max_minutes is None else (budget.max_minutes - minutes) / 60,
        left_cost=None if budget.max_cents is None else (budget.max_cents - cents) / 100,
        readiness_bound=bound,
    )


def _list_remarks(
    snapshot: Snapshot, profile: Profile, booked: Sequence[BookedCourse], offers: Sequence[Offer]
) -> list[str]:
    remarks = []
    for row in booked:
        if row.session is not None:
            days = f"on {row.first_day}" if row.first_day == row.last_day else f"{row.first_day} to {row.last_day}"
            remarks.append(f"Taken as booked: {row.label} ({row.id}), a seat in session {row.session}, {days}.")
        if not row.is_possible:
            waits = " and ".join(
                f"{snapshot.competencies[w.competency].label} ({w.competency}) at level {w.level}"
                for w in row.waits_for
            )
            remarks.append(
                f"The booked course {row.label} ({row.id}) waits for {waits}: nothing on this path gives it."
            )
    if profile.study_hours_per_week <= 0 and any(offer.own_weeks is None for offer in offers):
        remarks.append(
            f"No hours a week are free for study: courses that name no weeks are counted at {DEFAULT_PACE:g} h a week."
        )
    return remarks


class _Variants:
    """The same question asked otherwise: without a course, with a level confirmed."""

    def __init__(
        self, snapshot: Snapshot, problem: PathProblem, choice: Choice, asked: PathAsked, deadline: Deadline
    ) -> None:
        self._snapshot = snapshot
        self._problem = problem
        self._choice = choice
        self._asked = asked
        self._deadline = deadline
        self._whole = PathSolver(problem, choice.staged, deadline)

    def find_alternatives(self) -> tuple[Alternative, ...] | None:
        count = self._asked.alternatives
        if count is None:
            count = DEFAULT_ALTERNATIVES if self._whole.size <= _QUICK_SIZE else 0
        if not count or self._choice.within_budget is False:
            return None
        solver = self._whole
        if not self._asked.budget.is_open:
            limited = limit_to_budget(self._choice.staged, self._asked.budget)
            solver = PathSolver(self._problem, limited, self._deadline)
        choice = self._choice
        return find_alternatives(self._snapshot, solver, choice.offers, count, is_proved=choice.is_proved)

    def find_indispensable(self) -> tuple[str, ...]:
        if self._choice.within_budget is False:
            return ()
        return self._whole.find_indispensable(offer.id for offer in self._choice.offers)

    def find_savings(self, targets: Mapping[str, int]) -> tuple[AssessSaving, ...]:
        choice = self._choice
        return find_assess_savings(
            self._snapshot, self._whole, choice.whole, choice.is_whole_proved, targets, self._asked.unassessed
        )
