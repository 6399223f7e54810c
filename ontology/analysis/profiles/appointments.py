"""The employer's appointments: who may do on a day what only appointed people count for. Pure.

Gap, readiness, paths and obligations do not ask for them: they say what someone can do, not what they are charged with.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from ontology.model.records import Competency
from ontology.model.work_records import Appointment
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_appointed", "find_days_of_appointment", "is_appointed"]


def is_appointed(snapshot: Snapshot, person_id: str, competency: Competency, level: int, on: date) -> bool:
    """Whether someone may count for a competency at a level on a day.

    Always where the competency asks for no appointment, or nothing is asked of it (level 0). An appointment without a
    level is one for any. O(appointments of the pair).
    """
    if not competency.appointment or level < 1:
        return True
    return any(
        _is_in_force(row, on) and (row.level is None or row.level >= level)
        for row in snapshot.get_appointments(person_id, competency.id)
    )


def find_appointed(
    snapshot: Snapshot, person_ids: Iterable[str], levels: Iterable[tuple[str, int]], on: date
) -> list[str]:
    """Return those of some people who may count for all of some levels by competency id on a day, in order.

    Learning brings no appointment: nobody else would count once they have learned them.
    """
    asked = [(competency, k) for i, k in levels if (competency := snapshot.competencies[i]).appointment]
    if not asked:
        return list(person_ids)
    return [i for i in person_ids if all(is_appointed(snapshot, i, competency, k, on) for competency, k in asked)]


def find_days_of_appointment(snapshot: Snapshot, person_id: str, competency: Competency) -> list[date]:
    """Return, sorted, every day on which an appointment may begin to count or have ended."""
    days: set[date] = set()
    for row in snapshot.get_appointments(person_id, competency.id) if competency.appointment else ():
        days.add(row.from_date)
        if row.to_date is not None and row.to_date < date.max:
            days.add(row.to_date + timedelta(days=1))
    return sorted(days)


def _is_in_force(row: Appointment, on: date) -> bool:
    return row.from_date <= on and (row.to_date is None or on <= row.to_date)
