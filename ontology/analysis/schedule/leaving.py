"""Who leaves: no course of theirs ends after their last day. Pure."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from ontology.analysis.schedule.renewals import Lapsing
from ontology.analysis.schedule.schedule_report import Placed
from ontology.analysis.schedule.schedule_result import LeftOutCourse
from ontology.analysis.schedule.study_calendar import StudyCalendar
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Leaving"]


class Leaving:
    """What a plan leaves out because it would end after a person's last day; nothing where they stay.

    What waits for a course left out would end later still, so it is left out with it.
    """

    def __init__(self, snapshot: Snapshot, person: Person | None, calendar: StudyCalendar) -> None:
        self._snapshot = snapshot
        self._person = person
        self._calendar = calendar
        self._rows: dict[str, LeftOutCourse] = {}

    @property
    def left_out(self) -> tuple[LeftOutCourse, ...]:
        """The courses left out, by id."""
        return tuple(self._rows[course_id] for course_id in sorted(self._rows))

    def keep_possible(self, course_ids: Sequence[str]) -> Sequence[str]:
        """Return the courses; none where the plan would begin after the last day."""
        person = self._person
        if person is None or person.end_date is None or self._calendar.get_day(0) <= person.end_date:
            return course_ids
        for course_id in course_ids:
            why = f"The last day with the company, {person.end_date}, is over when the plan begins."
            self._add(course_id, None, why)
        return ()

    def leave_out(self, placed: Placed, path_ids: Collection[str]) -> str | None:
        """Return the id of one course that ends too late, and note it; None where none does.

        Renewals go first, then what ends last: without it the others may be in time.
        """
        person = self._person
        if person is None or person.end_date is None:
            return None
        ends = [
            (task.id not in path_ids, window.last, task.id)
            for task, window in zip(placed.problem.tasks, placed.windows, strict=True)
            if self._calendar.get_day(window.last) > person.end_date
        ]
        if not ends:
            return None
        _, last, course_id = max(ends)
        day = self._calendar.get_day(last)
        self._add(course_id, day, f"it would end on {day}, after the last day with the company, {person.end_date}.")
        return course_id

    def drop_renewals(self, lapsing: Iterable[Lapsing]) -> tuple[Lapsing, ...]:
        """Return what lapses, the renewals left out told as such."""
        return tuple(
            replace(row, renewal=None, reason=self._rows[row.renewal].reason) if row.renewal in self._rows else row
            for row in lapsing
        )

    def _add(self, course_id: str, day: dt.date | None, why: str) -> None:
        label = self._snapshot.courses[course_id].label
        self._rows.setdefault(course_id, LeftOutCourse(course_id, label, day, f"{label} is not planned: {why}"))
