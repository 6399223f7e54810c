"""Where someone stands on the last day of a plan: the gap of that day, with what the plan brings. Pure.

The one place that says readiness afterwards, standing and target reached, for paths, schedules and development plans.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ontology.analysis.paths.expected import DoneCourse, expect_assessments
from ontology.analysis.paths.path_rows import RequirementRow
from ontology.analysis.profiles.gap import Standing, compute_gap
from ontology.analysis.profiles.levels import add_what_they_rest_on, get_level
from ontology.model.records import Assessment
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LastDay", "compute_last_day"]


@dataclass(frozen=True, slots=True)
class LastDay:
    """What holds on the last day of a plan; without a role there is no readiness and no standing."""

    day: date
    readiness: float | None
    standing: Standing | None
    is_target_reached: bool
    requirements: tuple[RequirementRow, ...]


def compute_last_day(
    snapshot: Snapshot,
    person_id: str,
    role_id: str,
    targets: Mapping[str, int],
    requirements: Sequence[RequirementRow],
    done: Iterable[DoneCourse],
    day: date,
    *,
    usable_on: date | None = None,
) -> LastDay:
    """Return where a person stands on the last day of a plan.

    Parameters
    ----------
    role_id : str
        The target role; empty for a plan to bare levels.
    targets : mapping of competency id to level
    requirements : sequence of RequirementRow
        As the path says them; returned with the levels of the day.
    done : iterable of DoneCourse
    usable_on : date, optional
        The day on which it is decided what a refresher is good for; each course's own where left out.

    Raises
    ------
    UnknownIdError
        There is no such person, role, course or competency.
    """
    done = tuple(done)
    courses = {row.course for row in done}
    added = expect_assessments(snapshot, done, usable_on=usable_on)
    asked = {*targets, *(row.competency for row in requirements)}
    after = _look_at(snapshot, person_id, role_id, asked, added)

    def get(competency_id: str) -> int:
        return get_level(after, person_id, after.require_competency(competency_id), day).level or 0

    gap = compute_gap(after, role_id, person_id=person_id, on=day) if role_id else None
    return LastDay(
        day=day,
        readiness=gap.readiness if gap else None,
        standing=gap.standing if gap else None,
        is_target_reached=all(get(i) >= level for i, level in targets.items()),
        requirements=tuple(_settle(row, get(row.competency), courses) for row in requirements),
    )


def _look_at(
    snapshot: Snapshot, person_id: str, role_id: str, asked: set[str], added: Iterable[Assessment]
) -> Snapshot:
    """Return the Snapshot of one person and one role: `with_outcomes` would copy the assessments of a company."""
    asked.update(r.competency for r in snapshot.get_requirements(role_id))
    rested_on = add_what_they_rest_on(snapshot, asked)
    recorded = [a for i in rested_on for a in snapshot.get_assessments(person_id, i)]
    return Snapshot(
        {
            "competencies": [snapshot.require_competency(i) for i in rested_on],
            "equivalences": [row for i in rested_on for row in snapshot.get_equivalences_to(i)],
            "roles": [snapshot.require_role(role_id)] if role_id else [],
            "requirements": snapshot.get_requirements(role_id),
            "people": [snapshot.require_person(person_id)],
            "assessments": [*recorded, *(a for a in added if a.competency in rested_on)],
        }
    )


def _settle(row: RequirementRow, reached: int, courses: Collection[str]) -> RequirementRow:
    """Return the row with the level of the last day: what was held or reached may have lapsed by then."""
    state = row.state
    if reached < row.level and state in ("held", "reached"):
        state = "lapses" if row.reached_by is None or row.reached_by in courses else "left-out"
    elif reached >= row.level and state not in ("held", "reached"):
        state = "reached"
    return replace(row, reached=reached, state=state)
