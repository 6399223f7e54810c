"""A team after a cross-training plan: its state on the day that the plan names. Pure.

May import coverage, holding, expected outcomes, the team's calendar and the plan. "After" is what coverage and staffing
say of that day once the plan's outcomes are assessed on their days (expected, to be confirmed): with what lapses until
then, who is absent that day, and who has left or started. A plan closes holes; it renews nothing that lapses meanwhile
unless that is how a hole is closed. What lapses is listed, with the course that would keep it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated

from ontology.analysis.cover.coverage import CoverageResult, CoverageRow, build_need_scopes
from ontology.analysis.cover.nearest import compute_course_time
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.outlook.cover_of_day import compute_cover_of_day
from ontology.analysis.outlook.team_calendar import TeamCalendar
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.paths.offers import Fact
from ontology.analysis.paths.renewing import can_use_outcome, find_keepers
from ontology.analysis.places.holding import build_holding
from ontology.analysis.places.slots import TogetherNeed, count_by_need, list_unsupervised_levels
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.model.identity import PeopleCount, PersonId
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "PlanEffect",
    "UnrenewedLevel",
    "compute_cover_after",
    "compute_plan_effect",
    "find_end_of_level",
    "get_presence_after",
]

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class UnrenewedLevel:
    """A level that counts for the team on the day asked about and no longer on the day after the plan.

    `valid_until` is the last day on which it is held. `renewal` is the course that would keep it, the one with the
    latest `last_day_to_act` (None: no single course does); `is_late` where that day has passed.
    """

    person: Annotated[PersonId, "Id of the person."]
    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level that counts."]
    valid_until: Annotated[date, "The last day on which it is held."]
    renewal: Annotated[str | None, "The course that would keep it, that with the latest last day to act."]
    last_day_to_act: Annotated[date | None, "The last day to begin it."]
    is_late: Annotated[bool, "Whether that day has passed on the day asked about."]


@dataclass(frozen=True)
class PlanEffect:
    """A team on the day that "after the plan" means."""

    on: Annotated[date, "The day the last course is done; the day asked about where there is nothing to do."]
    absent: Annotated[tuple[PersonId, ...], "Members who are not there that day."]
    needs: Annotated[tuple[CoverageRow, ...], "Every cover need on that day."]
    places: Annotated[int, "Slots of places."]
    filled: Annotated[PeopleCount, "How many of them can be filled."]
    together_slots: Annotated[int, "Slots of needs that different people must meet at once."]
    together_filled: Annotated[PeopleCount, "How many of them can be filled."]
    unfilled: Annotated[tuple[str, ...], "A place's id once for every slot that stays empty."]
    unfilled_needs: Annotated[tuple[TogetherNeed, ...], "The needs of groups whose slots stay empty."]
    joining: Annotated[tuple[PersonId, ...], "Who is a member that day and was none on the day asked about."]
    leaving: Annotated[tuple[PersonId, ...], "Who was a member on the day asked about and is none that day."]
    lapses: Annotated[tuple[UnrenewedLevel, ...], "What lapses before that day; the plan does not renew it."]


def get_presence_after(snapshot: Snapshot, plan: CrossTrainingResult) -> Presence:
    """Return who belongs to the team on the day after the plan, in the Snapshot with its outcomes.

    One Snapshot with the outcomes, O(assessments).
    """
    done = [(row.person, row.course, row.finished_on) for row in plan.courses]
    done += [(seat.person, seat.course, seat.ends_on) for seat in plan.booked]
    after = with_outcomes(snapshot, done)
    return get_presence(after, plan.team, plan.after_on, plan.away)


def compute_cover_after(snapshot: Snapshot, plan: CrossTrainingResult) -> CoverageResult:
    """Return the cover of a team after a plan: coverage asked on that day, with the plan's outcomes."""
    return _compute_cover(get_presence_after(snapshot, plan))


def _compute_cover(after: Presence) -> CoverageResult:
    return compute_cover_of_day(after.snapshot, after.team, after.on, frozenset(after.away))


def compute_plan_effect(snapshot: Snapshot, plan: CrossTrainingResult, after: Presence | None = None) -> PlanEffect:
    """Return the team after a plan.

    Parameters
    ----------
    snapshot : Snapshot
        The one the plan was made of.
    after : Presence, optional
        From `get_presence_after`, where it is known already.
    """
    after = get_presence_after(snapshot, plan) if after is None else after
    before = get_presence(snapshot, plan.team, plan.on, plan.away)
    cover = _compute_cover(after)
    holding = build_holding(after)
    empty = [holding.slots[index] for index in holding.matching.empty_slots]
    places = sum(slot.place is not None for slot in holding.slots)
    unfilled = tuple(slot.place for slot in empty if slot.place is not None)
    together = len(holding.slots) - places
    members, staying = ({person.id for person in presence.members} for presence in (before, after))
    return PlanEffect(
        on=after.on,
        absent=cover.absent,
        needs=cover.needs,
        places=places,
        filled=places - len(unfilled),
        together_slots=together,
        together_filled=together - (len(empty) - len(unfilled)),
        unfilled=unfilled,
        unfilled_needs=count_by_need(empty),
        joining=tuple(sorted(staying - members)),
        leaving=tuple(sorted(members - staying)),
        lapses=tuple(sorted(_find_lapses(before, after), key=lambda row: row.valid_until)),
    )


def find_end_of_level(calendar: TeamCalendar, person_id: str, facts: Iterable[Fact], on: date) -> date | None:
    """Return the last day on which someone who holds some levels on a day holds them all; None without an end."""
    days = [calendar.find_first_day_below(person_id, competency, level, on) for competency, level in facts]
    first = min((day for day in days if day is not None), default=None)
    return None if first is None else first - _DAY


def _find_lapses(before: Presence, after: Presence) -> Iterator[UnrenewedLevel]:
    """Yield what the members of both days lose between them of what counts."""
    staying = {person.id for person in after.members}
    calendar = TeamCalendar(after.snapshot, before.team, before.on, after.on)
    for person in before.members:
        if person.id not in staying:
            continue
        for competency, level in sorted(_get_counted(before, person.shift)):
            is_held = before.get_level_rank(person.id, competency) >= level
            if is_held and after.get_level_rank(person.id, competency) < level:
                yield _describe_lapse(calendar, person.id, competency, level)


def _get_counted(presence: Presence, shift: str) -> set[Fact]:
    """Return the levels that a need or place asks of the people of a shift ("": of those without one)."""
    snapshot = presence.snapshot
    facts = {
        (scope.need.competency, scope.need.level)
        for scope in build_need_scopes(presence)
        if scope.has_scope and scope.shift in (None, shift)
    }
    for place in snapshot.get_places(presence.team):
        if place.shift in ("", shift):
            facts |= set(list_unsupervised_levels(snapshot, place.role))
    return facts


def _describe_lapse(calendar: TeamCalendar, person_id: str, competency_id: str, level: int) -> UnrenewedLevel:
    snapshot, on = calendar.snapshot, calendar.first
    lapse = calendar.find_first_day_below(person_id, competency_id, level, on)
    assert lapse is not None, "a level that is held on the first day and not on the last ends between them"
    held, gone = _find_lost(calendar, person_id, competency_id, lapse)
    choices = []
    for outcome in () if gone.state == "suspended" else find_keepers(snapshot, held):
        course = snapshot.courses[outcome.course]
        conditions = snapshot.get_entry_conditions(course.id)
        if all(calendar.get_rank(person_id, row.competency, on) >= row.level for row in conditions):
            # a refresher for holders alone must be done while the level is held
            due = lapse if can_use_outcome(outcome, gone) else lapse - _DAY
            choices.append((-compute_course_time([course]).days, due.toordinal(), -course.hours, course.id))
    best = max(choices, key=lambda row: (row[0] + row[1], row[2]), default=None)
    if best is None:
        return UnrenewedLevel(person_id, competency_id, level, lapse - _DAY, None, None, False)
    last = date.fromordinal(max(best[0] + best[1], 1))
    return UnrenewedLevel(person_id, competency_id, level, lapse - _DAY, best[3], last, last < on)


def _find_lost(
    calendar: TeamCalendar, person_id: str, competency_id: str, lapse: date
) -> tuple[LevelOnDate, LevelOnDate]:
    """Return what is known the day before a level is lost and on that day.

    Of one that is suspended, that on which it hangs; its own where it hangs on several that are not held.
    """
    held, gone = (calendar.get_known(person_id, competency_id, day) for day in (lapse - _DAY, lapse))
    if gone.state == "suspended":
        hangs_on = calendar.snapshot.competencies[competency_id].holds_while
        lost = [i for i in hangs_on if not calendar.get_rank(person_id, i, lapse)]
        if len(lost) == 1:
            return _find_lost(calendar, person_id, lost[0], lapse)
    return held, gone
