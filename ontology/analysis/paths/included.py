"""Courses that a path holds in any case, as the way that was chosen has them before its move. Pure.

They are looked for as booked ones are, taken as soon as they can be; but they are the path's own: their hours and cost
are counted. One that brings nothing that is not there by its turn is left out.
"""

from __future__ import annotations

from collections.abc import Iterable
from collections.abc import Set as AbstractSet
from dataclasses import fields, replace

from ontology.analysis.paths.booking import BookedCourse
from ontology.analysis.paths.pace import compute_months
from ontology.analysis.paths.path_courses import PathCourse
from ontology.analysis.paths.path_results import LearningPathResult
from ontology.analysis.profiles.profile import Profile
from ontology.errors import InputError

__all__ = ["count_included"]


def count_included(result: LearningPathResult, include: AbstractSet[str], profile: Profile) -> LearningPathResult:
    """Return the path with the courses that were to be included counted as its own.

    Parameters
    ----------
    result : LearningPathResult
        Found with these courses taken as booked.
    include : set of str
        Those in which the person has a seat stay booked.
    profile : Profile
        Its study hours a week pace the months.

    Raises
    ------
    InputError
        One of them cannot be taken on this path.
    """
    asked = [row for row in result.booked if row.id in include and row.session is None]
    for row in asked:
        _require_possible(row)
    new = [row for row in asked if row.brings]
    idle = [row for row in asked if not row.brings]
    left = {row.id for row in idle}
    order = tuple(i for i in result.order if i not in left)
    courses = {row.id: row for row in (*result.courses, *map(_make_own, new))}
    booked = tuple(row for row in result.booked if row not in asked)
    hours, cost = _sum_hours(courses.values()), _sum_cost(courses.values())
    amounts = {
        "hours": _sum_hours(new),
        "cost": _sum_cost(new),
        "courses": len(new),
        "weeks": sum(r.weeks for r in new),
    }
    remarks = [f"{row.label} is left out: it brings nothing that is not held already." for row in idle]
    return replace(
        result,
        status="optimal" if result.status == "nothing-to-do" and courses else result.status,
        study_hours=hours,
        cost=cost,
        lower_bound=result.lower_bound + amounts[result.minimise],
        courses=tuple(courses[i] for i in order if i in courses),
        coach_hours=sum(round(row.coach_hours * 60) for row in courses.values()) / 60,
        weeks=result.weeks + amounts["weeks"],
        months=compute_months(round(hours * 60), profile.study_hours_per_week),
        order=order,
        booked=booked,
        booked_hours=_sum_hours(booked),
        booked_cost=_sum_cost(booked),
        remarks=(*result.remarks, *remarks),
    )


def _require_possible(row: BookedCourse) -> None:
    if not row.is_possible:
        waits = " and ".join(f"{level.competency} at level {level.level}" for level in row.waits_for)
        raise InputError(
            f"{row.label} cannot be taken on this path: it waits for {waits}.", parameter="include", value=row.id
        )


def _make_own(row: BookedCourse) -> PathCourse:
    return PathCourse(**{field.name: getattr(row, field.name) for field in fields(PathCourse)})


def _sum_hours(rows: Iterable[PathCourse]) -> float:
    return sum(round(row.study_hours * 60) for row in rows) / 60


def _sum_cost(rows: Iterable[PathCourse]) -> float:
    return sum(round(row.cost * 100) for row in rows) / 100
