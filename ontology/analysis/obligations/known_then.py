"""What was known on a day: the records written down by then and not taken back by then. Pure.

A record that names no day on which it was written down is taken as written down on its own day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from ontology.model.records import Assessment
from ontology.model.tables import TABLES
from ontology.model.work_records import Appointment
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_known_then", "get_recorded_on", "list_records"]


def get_recorded_on(row: Assessment | Appointment) -> date:
    """Return the day on which a record was written down."""
    return row.recorded_on or (row.date if isinstance(row, Assessment) else row.from_date)


def list_records(snapshot: Snapshot, person_id: str) -> list[Assessment | Appointment]:
    """Return a person's assessments, as they were recorded, and appointments, those taken back too."""
    competencies = [i for i, row in snapshot.competencies.items() if row.appointment]
    appointments = [row for i in competencies for row in snapshot.get_appointments(person_id, i)]
    # one that is read for several competencies was recorded once
    assessments = {snapshot.get_recorded_of(row) or row: None for row in snapshot.get_assessments(person_id)}
    return [*assessments, *appointments]


def build_known_then(snapshot: Snapshot, people: Iterable[str], known_on: date) -> Snapshot:
    """Return the Snapshot as it was known on a day, of some people.

    What was taken back after that day counted then. O(records of these people); itself where nothing was otherwise.
    """
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, tuple[Any, ...]]] = []
    for row in (row for person_id in people for row in list_records(snapshot, person_id)):
        table = "assessments" if isinstance(row, Assessment) else "appointments"
        withdrawn_on = row.withdrawn_on if isinstance(row, Assessment) else None
        if get_recorded_on(row) > known_on or (withdrawn_on is not None and withdrawn_on <= known_on):
            remove.append((table, TABLES[table].get_key(row)))
        elif isinstance(row, Assessment) and withdrawn_on is not None:
            put.append((table, replace(row, withdrawn_on=None)))
    return snapshot.with_changes(put, remove) if put or remove else snapshot
