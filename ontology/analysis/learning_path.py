"""Learning path: the cheapest set of courses that leads from a profile to target levels, in an order one can take.

Minimum-cost delete-free planning, since a course needs all its entry conditions and a level may come from any of
several courses; a plain shortest path would count shared courses twice. Pure.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import networkx as nx

from ontology.analysis.catalogue import (
    Aim,
    Fact,
    Stage,
    build_catalogue,
    build_staged_problem,
    get_aim_order,
    reach_levels,
)
from ontology.analysis.levels import Profile
from ontology.analysis.path_courses import PathCourse, describe_courses
from ontology.analysis.planner import solve_staged
from ontology.analysis.unreachable import UnreachableLevel, explain_unreachable
from ontology.errors import InputError
from ontology.graph.snapshot import Snapshot

__all__ = [
    "LearningPathResult",
    "PathCourse",
    "PathStatus",
    "build_path_graph",
    "find_learning_path",
    "find_path_to_levels",
    "get_targets",
]

PathStatus = Literal["optimal", "feasible", "unreachable", "nothing-to-do"]


@dataclass(frozen=True, slots=True)
class LearningPathResult:
    """The cheapest courses to the targets that can be reached, and the targets that cannot.

    `status` is "optimal" (proved for these entries), "feasible" (best found when the time limit struck),
    "unreachable" (at least one target; the courses are those for the rest) or "nothing-to-do". `lower_bound` is in
    the unit of the aim: hours, cost or number of courses. `targets` holds competency id -> level.
    """

    role: str
    minimise: Aim
    status: PathStatus
    study_hours: float
    cost: float
    lower_bound: float
    courses: tuple[PathCourse, ...]
    unreachable: tuple[UnreachableLevel, ...]
    assess_first: tuple[str, ...]
    targets: Mapping[str, int]
    remarks: tuple[str, ...] = ()


def get_targets(snapshot: Snapshot, role_id: str, *, with_desirable: bool = False) -> dict[str, int]:
    """Return competency id -> full level of a role's blocking and essential (and desirable) requirements.

    Raises
    ------
    UnknownIdError
        There is no such role.
    """
    snapshot.require_role(role_id)
    return {
        r.competency: r.level
        for r in snapshot.get_requirements(role_id)
        if with_desirable or r.necessity != "desirable"
    }


def find_learning_path(
    snapshot: Snapshot,
    profile: Profile,
    role_id: str,
    *,
    minimise: Aim = "hours",
    with_desirable: bool = False,
    time_limit_s: float | None = None,
    unassessed: frozenset[str] = frozenset(),
) -> LearningPathResult:
    """Return the learning path from a profile to the full levels of a role.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        Where it starts.
    role_id : str
    minimise : {"hours", "cost", "courses"}
        The first aim; ties are settled by the others in this order, then by the smallest sorted id tuple.
    with_desirable : bool
        Whether desirable requirements are targets too.
    time_limit_s : float or None
        Seconds after which the best path found is returned; None: until proved.
    unassessed : frozenset of str
        Competencies never assessed (see `gap.find_unassessed`): the targets among them are listed under
        `assess_first`, because the first act is to assess.

    Returns
    -------
    LearningPathResult

    Raises
    ------
    UnknownIdError
        There is no such role.
    InputError
        `minimise` is none of the three.

    Notes
    -----
    NP-hard in general (Bylander 1994, Artificial Intelligence 69); exact by minimum-cost hitting sets.
    """
    targets = get_targets(snapshot, role_id, with_desirable=with_desirable)
    remarks = () if snapshot.get_requirements(role_id) else ("The role has no requirements: there is no target.",)
    return _find(snapshot, profile, targets, role_id, minimise, time_limit_s, unassessed, remarks)


def find_path_to_levels(
    snapshot: Snapshot,
    profile: Profile,
    targets: Mapping[str, int],
    *,
    minimise: Aim = "hours",
    time_limit_s: float | None = None,
    unassessed: frozenset[str] = frozenset(),
) -> LearningPathResult:
    """Return the learning path from a profile to levels of competencies; see `find_learning_path`.

    Raises
    ------
    UnknownIdError
        There is no such competency.
    InputError
        `minimise` is none of the three.
    """
    for competency_id in targets:
        snapshot.require_competency(competency_id)
    return _find(snapshot, profile, targets, "", minimise, time_limit_s, unassessed, ())


def _find(
    snapshot: Snapshot,
    profile: Profile,
    targets: Mapping[str, int],
    role_id: str,
    minimise: Aim,
    time_limit_s: float | None,
    unassessed: frozenset[str],
    remarks: tuple[str, ...],
) -> LearningPathResult:
    if minimise not in ("hours", "cost", "courses"):
        raise InputError(f"A path can minimise hours, cost or courses, not {minimise!r}.")
    wanted = dict(sorted(targets.items()))
    open_targets = {i: level for i, level in wanted.items() if level > profile.get(i)}
    catalogue = build_catalogue(snapshot, profile)
    reached = reach_levels(catalogue, profile.levels) if open_targets else {}
    goals = frozenset((i, level) for i, level in open_targets.items() if level <= reached.get(i, 0))
    staged = build_staged_problem(catalogue, [Stage(profile.levels, goals)], aims=get_aim_order(minimise))
    plan = solve_staged(staged, time_limit_s=time_limit_s)
    assert plan is not None, "goals that can be reached have a plan where nothing limits it"
    offers = [offer for offer, _ in plan.order]
    unreachable = tuple(
        explain_unreachable(snapshot, catalogue, reached, i, level)
        for i, level in open_targets.items()
        if level > reached.get(i, 0)
    )
    status: PathStatus = "optimal" if plan.is_proved else "feasible"
    if unreachable:
        status = "unreachable"
    elif not open_targets:
        status = "nothing-to-do"
    return LearningPathResult(
        role=role_id,
        minimise=minimise,
        status=status,
        study_hours=sum(offer.minutes for offer in offers) / 60,
        cost=sum(offer.cents for offer in offers) / 100,
        lower_bound=plan.lower_bound / {"hours": 60, "cost": 100, "courses": 1}[minimise],
        courses=describe_courses(snapshot, profile, offers, goals),
        unreachable=unreachable,
        assess_first=tuple(i for i in wanted if i in unassessed),
        targets=wanted,
        remarks=remarks,
    )


def build_path_graph(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> nx.DiGraph[tuple[str, ...]]:
    """Return the learning graph of an answer, to be drawn.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : LearningPathResult

    Returns
    -------
    nx.DiGraph
        Nodes ("course", id) with `kind`, `label`, `study_hours`, `cost`, `position`; nodes
        ("level", competency id, rank as text) with `kind`, `label`, `competency`, `level`, `is_target`, `is_held`,
        `is_reachable`. Edges `kind` "reaches" from a course to the levels it gives that are a target or asked for, and
        "asked-by" from a level to the course that asks for it. Acyclic but for levels that several courses give.
    """
    graph: nx.DiGraph[tuple[str, ...]] = nx.DiGraph()
    catalogue = build_catalogue(snapshot, profile)
    by_id = {offer.id: offer for offer in catalogue.offers}
    offers = [by_id[course.id] for course in result.courses]
    lost = {row.competency for row in result.unreachable}
    levels: dict[Fact, bool] = dict.fromkeys(result.targets.items(), True)
    for offer in offers:
        for fact in offer.conditions:
            levels.setdefault(fact, False)
    for (i, level), is_target in sorted(levels.items()):
        graph.add_node(
            _level_node(i, level),
            kind="level",
            label=snapshot.competencies[i].label,
            competency=i,
            level=level,
            is_target=is_target,
            is_held=profile.get(i) >= level,
            is_reachable=not (is_target and i in lost),
        )
    for position, (offer, course) in enumerate(zip(offers, result.courses, strict=True), start=1):
        node = ("course", offer.id)
        graph.add_node(
            node,
            kind="course",
            label=course.label,
            study_hours=course.study_hours,
            cost=course.cost,
            position=position,
        )
        graph.add_edges_from((_level_node(*fact), node, {"kind": "asked-by"}) for fact in offer.conditions)
    for offer in offers:
        effects = dict(offer.effects)
        for i, level in sorted(levels):
            if profile.get(i) < level <= effects.get(i, 0):
                graph.add_edge(("course", offer.id), _level_node(i, level), kind="reaches")
    return graph


def _level_node(competency_id: str, level: int) -> tuple[str, ...]:
    return ("level", competency_id, str(level))
