"""Services of the employee's plans: a learning path as a calendar, and the development plan that is built on it."""

from __future__ import annotations

from datetime import date
from typing import Any, Unpack, cast

from api import cautions
from api.answers import to_json
from api.services.answering import build_answer_on, get_profile
from api.services.learning_paths import PathOptions, find_path
from api.services.paths import find_upskilling_routes
from ontology.analysis.engine.solver import Deadline
from ontology.analysis.schedule.development_plan import DevelopmentPlan, build_development_plan
from ontology.analysis.schedule.schedule import DEFAULT_AT_ONCE, ScheduleResult, plan_schedule
from ontology.graph.snapshot import Snapshot

__all__ = [
    "DEFAULT_AT_ONCE",
    "CalendarWishes",
    "answer_development_plan",
    "find_development_plan",
    "find_schedule",
    "get_development_plan",
    "get_schedule",
]


class CalendarWishes(PathOptions, total=False):
    """What a calendar may be asked: what its learning path may, and the rest as in `schedule.plan_schedule`."""

    start: date | None
    study_hours_per_week: float | None
    at_once: int
    holidays: tuple[date, ...]


def find_schedule(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    **wishes: Unpack[CalendarWishes],
) -> ScheduleResult:
    """Return the result record of a schedule, for answers, pictures and plans; see `get_schedule`."""
    deadline = Deadline(wishes.get("time_limit_s"))
    options = cast(PathOptions, {name: wish for name, wish in wishes.items() if name in PathOptions.__annotations__})
    path = find_path(snapshot, role_id, person_id=person_id, from_role_id=from_role_id, on=on, **options)
    return plan_schedule(
        snapshot,
        get_profile(snapshot, person_id, from_role_id, on),
        path,
        on=on,
        start=wishes.get("start"),
        study_hours_per_week=wishes.get("study_hours_per_week"),
        at_once=wishes.get("at_once", DEFAULT_AT_ONCE),
        holidays=wishes.get("holidays", ()),
        time_limit_s=deadline.get_remaining_s(),
    )


def get_schedule(
    snapshot: Snapshot,
    role_id: str,
    *,
    person_id: str | None = None,
    from_role_id: str | None = None,
    on: date,
    **wishes: Unpack[CalendarWishes],
) -> dict[str, Any]:
    """Return the learning path from a person (or a role's profile) to a role as a calendar that ends early.

    Raises
    ------
    UnknownIdError
        There is no such role, person or course.
    InputError
        No hours a week are free, the start lies before `on`, the plan would take more than fifty years, or a wish of
        the path makes no sense.
    """
    result = find_schedule(snapshot, role_id, person_id=person_id, from_role_id=from_role_id, on=on, **wishes)
    return build_answer_on(snapshot, result, cautions.SCHEDULE, on, person_id, from_role_id)


def find_development_plan(
    snapshot: Snapshot, role_id: str, person_id: str, *, on: date, **wishes: Unpack[CalendarWishes]
) -> DevelopmentPlan:
    """Return the result record of a development plan without routes; see `get_development_plan`."""
    schedule = find_schedule(snapshot, role_id, person_id=person_id, on=on, **wishes)
    return build_development_plan(snapshot, person_id, schedule, on)


def get_development_plan(
    snapshot: Snapshot,
    role_id: str,
    person_id: str,
    *,
    on: date,
    with_routes: bool = False,
    **wishes: Unpack[CalendarWishes],
) -> dict[str, Any]:
    """Return what a person takes to their manager: standing, gaps, calendar, practice, assessment, follow-up.

    Raises
    ------
    UnknownIdError
        There is no such role or person.
    InputError
        As `get_schedule`.
    """
    plan = find_development_plan(snapshot, role_id, person_id, on=on, **wishes)
    return answer_development_plan(snapshot, plan, person_id, with_routes=with_routes, **wishes)


def answer_development_plan(
    snapshot: Snapshot,
    plan: DevelopmentPlan,
    person_id: str,
    *,
    with_routes: bool = False,
    **wishes: Unpack[CalendarWishes],
) -> dict[str, Any]:
    """Return the answer that a plan is.

    `routes` is None unless it is asked for and the target is another role with requirements: then it tells whether the
    direct move is within the usual limits, and the route with the least study hours.
    """
    routes, on = None, plan.now.on
    if with_routes and plan.now.gaps and snapshot.people[person_id].role != plan.role:
        found = find_upskilling_routes(
            snapshot,
            plan.role,
            person_id=person_id,
            on=on,
            study_hours_per_week=wishes.get("study_hours_per_week"),
            time_limit_s=wishes.get("time_limit_s"),
        )
        routes = {
            "status": found.status,
            "within_reach": found.direct.within_reach,
            "broken_limits": to_json(found.direct.broken_limits),
            "best": to_json(found.best.study_hours),
        }
    # a plan cut short anywhere may come out better next time
    is_short = plan.schedule.status == "feasible" or (routes is not None and routes["status"] == "feasible")
    status = "feasible" if is_short else plan.schedule.status
    answer = build_answer_on(snapshot, plan, cautions.DEVELOPMENT_PLAN, on, person_id)
    return answer | {"status": status, "routes": routes}
