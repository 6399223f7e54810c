"""A schedule as what is agreed with a person: the records to be written, or why there is nothing to agree. Pure."""

from __future__ import annotations

import datetime as dt

from ontology.analysis.agreed.agreed_plan import is_open
from ontology.analysis.schedule.schedule_result import ScheduleResult
from ontology.errors import ConflictError, InputError
from ontology.model.agreement_records import AgreedCourse, AgreedPlan
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_agreement"]


def build_agreement(
    snapshot: Snapshot,
    person_id: str,
    schedule: ScheduleResult,
    on: dt.date,
    *,
    agreed_with: str = "",
    note: str = "",
) -> tuple[AgreedPlan, tuple[AgreedCourse, ...]]:
    """Return a schedule as an agreed plan with its courses, each with its first and last day.

    Parameters
    ----------
    schedule : ScheduleResult
        Of this person.
    on : date
        The day it is agreed.
    agreed_with, note : str
        Who agrees to it for the company; what else is agreed.

    Returns
    -------
    plan, courses
        The plan's id is made of the person's and the day.

    Raises
    ------
    UnknownIdError
        There is no such person.
    ConflictError
        A plan that has not ended was agreed with the person.
    InputError
        The schedule holds no course.
    """
    snapshot.require_person(person_id)
    for plan in snapshot.get_agreed_plans(person_id):
        if is_open(plan, on):
            raise ConflictError(
                f"A plan was agreed on {plan.agreed_on} and has not ended ({plan.id}): say first on "
                "which day it ended.",
                table="agreed_plans",
                id=plan.id,
            )
    if not schedule.courses:
        label = snapshot.roles[schedule.role].label
        why = "nothing has to be learned" if schedule.is_target_reached else "no course can be planned"
        if not snapshot.get_requirements(schedule.role):
            why = "it has no requirements"
        raise InputError(f"There is nothing to agree on for {label}: {why}.", parameter="role", value=schedule.role)
    plan_id = _find_free_id(snapshot, f"{person_id}-{on}")
    courses = tuple(AgreedCourse(plan_id, row.id, row.first_day, row.last_day) for row in schedule.courses)
    return AgreedPlan(plan_id, person_id, schedule.role, on, agreed_with, note, None), courses


def _find_free_id(snapshot: Snapshot, wanted: str) -> str:
    number, found = 1, wanted
    while found in snapshot.agreed_plans:
        number += 1
        found = f"{wanted}-{number}"
    return found
