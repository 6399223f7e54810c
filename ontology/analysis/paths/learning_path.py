"""Learning path: the cheapest set of courses that leads from a profile to target levels, in an order one can take.

Minimum-cost delete-free planning, since a course needs all its entry conditions and a level may come from any of
several courses; a plain shortest path would count shared courses twice. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import replace

from ontology.analysis.engine.solver import Deadline
from ontology.analysis.paths.aims import AIMS, Aim, Levels, get_aim_order, get_pace
from ontology.analysis.paths.budget import Budget
from ontology.analysis.paths.catalogue import (
    build_catalogue,
    leave_out,
    reach_levels,
)
from ontology.analysis.paths.included import count_included
from ontology.analysis.paths.path_courses import PathCourse
from ontology.analysis.paths.path_graph import build_path_graph
from ontology.analysis.paths.path_problem import PathProblem
from ontology.analysis.paths.path_report import PathAsked, build_path_result
from ontology.analysis.paths.path_results import LearningPathResult, PathStatus
from ontology.analysis.paths.path_within_budget import choose_courses
from ontology.analysis.paths.unreachable import explain_unreachable
from ontology.analysis.profiles.profile import Profile, add_what_it_hangs_on
from ontology.errors import InputError
from ontology.model.records import Requirement
from ontology.model.work_records import Session
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "LearningPathResult",
    "PathCourse",
    "PathStatus",
    "build_path_graph",
    "find_learning_path",
    "find_path_to_levels",
    "get_targets",
]


def get_targets(
    snapshot: Snapshot, role_id: str, *, with_desirable: bool = False, levels: Levels = "full"
) -> dict[str, int]:
    """Return competency id -> level asked by a role's blocking and essential (and desirable) requirements.

    Raises
    ------
    UnknownIdError
        There is no such role.
    """
    snapshot.require_role(role_id)
    return {
        r.competency: _get_asked(r, levels)
        for r in snapshot.get_requirements(role_id)
        if with_desirable or r.necessity != "desirable"
    }


def _get_asked(requirement: Requirement, levels: Levels) -> int:
    return requirement.entry_level if levels == "entry" else requirement.level


def find_learning_path(
    snapshot: Snapshot,
    profile: Profile,
    role_id: str,
    *,
    minimise: Aim = "hours",
    with_desirable: bool = False,
    levels: Levels = "full",
    time_limit_s: float | None = None,
    unassessed: frozenset[str] = frozenset(),
    max_hours: float | None = None,
    max_cost: float | None = None,
    exclude: AbstractSet[str] = frozenset(),
    include: AbstractSet[str] = frozenset(),
    already_booked: AbstractSet[str] = frozenset(),
    seats: Mapping[str, Session] | None = None,
    alternatives: int | None = 0,
) -> LearningPathResult:
    """Return the learning path from a profile to the levels of a role.

    Parameters
    ----------
    profile : Profile
        Where it starts.
    minimise : {"hours", "cost", "courses", "weeks"}
        The first aim; ties are settled by hours, cost, courses in this order, then by the smallest sorted id tuple.
        Weeks are the sum of the courses' own weeks; one that names none counts its hours at the profile's study
        hours a week (at 4 where none are free). A sum, not a calendar: courses may overlap.
    with_desirable : bool
        Whether desirable requirements are targets too.
    levels : {"full", "entry"}
        Which levels the path leads to: with the entry levels it is the preparation of the move into the role.
        Readiness and standing speak of the full role all the same.
    time_limit_s : float or None
        Seconds after which the best path found is returned; None: until proved.
    unassessed : frozenset of str
        Competencies never assessed (see `gap.find_unassessed`): the targets among them are listed under
        `assess_first`, because the first act is to assess, and under `assess_savings` with what that may save.
    max_hours, max_cost : float or None
        A budget. Where some courses within it lead to every target that can be reached, the cheapest of those are
        the answer; otherwise the largest readiness that it buys, over all requirements of the role.
    exclude : set of str
        Courses never used.
    include : set of str
        Courses of the path in any case, where they bring something: those of the way that was chosen.
    already_booked : set of str
        Courses taken as soon as their entry conditions are met, at no cost to path and budget.
    seats : mapping of course id to Session, optional
        The sessions in which there is a seat. Their courses are taken as booked, too, where they can matter for a
        target and are not excluded: an instruction that leads nowhere near it has no place on the path.
    alternatives : int or None
        How many next-best sets of courses; None: two, where few courses can matter. Within the same budget; none
        where the budget does not lead to every target.

    Returns
    -------
    LearningPathResult

    Raises
    ------
    UnknownIdError
        There is no such role, or no such course to exclude, include or booked.
    InputError
        `minimise` is none of the four, a limit is below 0, a course is both excluded and booked or included, or one to
        include cannot be taken, or stands beside a budget.

    Notes
    -----
    NP-hard in general (Bylander 1994, Artificial Intelligence 69); exact by minimum-cost hitting sets.
    """
    targets = get_targets(snapshot, role_id, with_desirable=with_desirable, levels=levels)
    requirements = snapshot.get_requirements(role_id)
    remarks = () if requirements else ("The role has no requirements: there is no target.",)
    asked = PathAsked(
        minimise,
        Budget(max_hours, max_cost),
        exclude,
        already_booked | include,
        seats or {},
        alternatives,
        time_limit_s,
        unassessed,
        levels,
    )
    if include:
        _require_includable(asked, include)
    result = _find(snapshot, profile, targets, role_id, requirements, asked, remarks)
    return count_included(result, include - already_booked, profile) if include else result


def _require_includable(asked: PathAsked, include: AbstractSet[str]) -> None:
    both = sorted(asked.exclude & include)
    if both:
        raise InputError(f"A course cannot be excluded and included: {', '.join(both)}.", parameter="include")
    if not asked.budget.is_open:
        raise InputError("Courses are included whatever they take: leave the budget out.", parameter="include")


def find_path_to_levels(
    snapshot: Snapshot,
    profile: Profile,
    targets: Mapping[str, int],
    *,
    minimise: Aim = "hours",
    time_limit_s: float | None = None,
    unassessed: frozenset[str] = frozenset(),
    exclude: AbstractSet[str] = frozenset(),
    already_booked: AbstractSet[str] = frozenset(),
    alternatives: int | None = 0,
) -> LearningPathResult:
    """Return the learning path from a profile to levels of competencies; see `find_learning_path`.

    Raises
    ------
    UnknownIdError
        There is no such competency, or no such course to exclude or booked.
    InputError
        `minimise` is none of the four, or a course is both excluded and booked.
    """
    for competency_id in targets:
        snapshot.require_competency(competency_id)
    asked = PathAsked(minimise, Budget(), exclude, already_booked, {}, alternatives, time_limit_s, unassessed)
    return _find(snapshot, profile, targets, "", (), asked, ())


def _require(snapshot: Snapshot, asked: PathAsked) -> None:
    if asked.minimise not in AIMS:
        raise InputError(
            f"A path can minimise hours, cost, courses or weeks, not {asked.minimise!r}.", parameter="minimise"
        )
    for limit in (asked.budget.max_hours, asked.budget.max_cost):
        if limit is not None and not limit >= 0:
            raise InputError(f"A budget is 0 or more, not {limit}.")
    for course_id in sorted(asked.exclude | asked.booked):
        snapshot.require_course(course_id)
    both = sorted(asked.exclude & asked.booked)
    if both:
        raise InputError(f"A course cannot be excluded and booked: {', '.join(both)}.", parameter="already_booked")


def _find(
    snapshot: Snapshot,
    profile: Profile,
    targets: Mapping[str, int],
    role_id: str,
    requirements: Sequence[Requirement],
    asked: PathAsked,
    remarks: tuple[str, ...],
) -> LearningPathResult:
    _require(snapshot, asked)
    deadline = Deadline(asked.time_limit_s)
    wanted = dict(sorted(add_what_it_hangs_on(snapshot, targets).items()))
    open_targets = {i: level for i, level in wanted.items() if level > profile.get(i)}
    catalogue = leave_out(build_catalogue(snapshot, profile), asked.exclude)
    reached = reach_levels(catalogue, profile.levels) if open_targets else {}
    problem = PathProblem(
        catalogue=catalogue,
        levels=profile.levels,
        goals=frozenset((i, level) for i, level in open_targets.items() if level <= reached.get(i, 0)),
        aims=get_aim_order(asked.minimise),
        booked=asked.booked,
        pace=get_pace(profile.study_hours_per_week),
    )
    if asked.seats:
        # the catalogue holds none that are excluded
        seated = {offer.id for offer, _ in problem.build().operators} & asked.seats.keys()
        asked = replace(asked, booked=asked.booked | seated)
        problem = replace(problem, booked=asked.booked)
    choice = choose_courses(snapshot, problem, requirements, reached, asked.budget, deadline)
    unreachable = tuple(
        explain_unreachable(snapshot, catalogue, reached, i, level, excluded=asked.exclude)
        for i, level in open_targets.items()
        if level > reached.get(i, 0)
    )
    result = build_path_result(
        snapshot, profile, role_id, wanted, requirements, asked, problem, reached, choice, unreachable, deadline
    )
    return replace(result, remarks=remarks + result.remarks) if remarks else result
