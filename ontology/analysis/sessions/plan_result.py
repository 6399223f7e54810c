"""What a plan of sessions tells: who goes when, who gets no seat and why, what it comes to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from ontology.model.identity import PersonId, TellsOf

__all__ = ["LeftOut", "PlaceAtRisk", "PlannedSeat", "PlannedSession", "SessionPlanResult"]


@dataclass(frozen=True, slots=True)
class PlannedSeat:
    """Someone's seat in a session."""

    person: Annotated[PersonId, "Id of the person."]
    course: Annotated[str, "Id of the course."]
    session: Annotated[str, "Id of the session."]
    due: Annotated[date, "The day by which it is due, or wanted."]
    is_late: Annotated[bool, "Whether the session ends after that day."]
    is_request: Annotated[bool, "Whether it was asked for; no: something must be held."]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Someone who needs a course and gets no seat, and why."""

    person: Annotated[PersonId, "Id of the person."]
    course: Annotated[str, "Id of the course."]
    due: Annotated[date, "The day by which it is due, or wanted."]
    is_request: Annotated[bool, "Whether it was asked for; no: something must be held."]
    reason: Annotated[str, "Why there is no seat for them."]


@dataclass(frozen=True, slots=True)
class PlannedSession:
    """A session that was looked at."""

    id: Annotated[str, "Id of the session."]
    course: Annotated[str, "Id of the course."]
    from_date: Annotated[date, "First day."]
    to_date: Annotated[date, "Last day."]
    seats: Annotated[int | None, "Seats; null: no limit."]
    booked: Annotated[int, TellsOf(), "Seats that are booked."]
    planned: Annotated[int, TellsOf(), "Seats that the plan takes."]
    is_held: Annotated[bool, "Whether anybody has a seat in it, or gets one."]


@dataclass(frozen=True, slots=True)
class PlaceAtRisk:
    """A slot that could be filled on a day without the plan, and cannot with it."""

    day: Annotated[date, "The day."]
    team: Annotated[str, "Id of the team."]
    place: Annotated[str | None, "Id of the place that stays empty; null: a slot of a group of needs."]
    people: Annotated[tuple[PersonId, ...], "Who of the team is in a session that day."]


@dataclass(frozen=True, slots=True)
class SessionPlanResult:
    """Who goes when."""

    on: Annotated[date, "The day asked about."]
    until: Annotated[date, "The last day on which a session may end."]
    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: proved, aim by aim; feasible: the best found when the time limit struck.",
    ]
    lower_bound: Annotated[
        float | None, TellsOf(), "Of the first aim that is not proved: no plan has less; null where all are."
    ]
    unproved_aim: Annotated[str | None, "The first aim that is not proved, by the name it has here."]
    late: Annotated[
        int, TellsOf(), "Aim 1: what must be held, is not past due yet, and gets no seat that ends in time."
    ]
    unseated: Annotated[int, TellsOf(), "Aim 2: what must be held and gets no seat."]
    days_past_due: Annotated[
        int, TellsOf(), "Aim 3: days from due days to the ends of sessions, where these are later."
    ]
    unseated_requests: Annotated[int, TellsOf(), "Aim 4: requests without a seat."]
    sessions_opened: Annotated[int, TellsOf(), "Aim 5: planned sessions in which nobody had a seat before."]
    trips: Annotated[int, TellsOf(), "Aim 6: seats at another site than that of the person's team."]
    days_given_away: Annotated[int, TellsOf(), "Aim 7: days of validity lost by coming before the due day."]
    cost: Annotated[float, TellsOf(), "Seats, trips and the sessions opened."]
    seats: Annotated[tuple[PlannedSeat, ...], "By person and course."]
    left_out: Annotated[tuple[LeftOut, ...], "Who gets no seat, by person and course."]
    sessions: Annotated[tuple[PlannedSession, ...], "The sessions that were looked at, by first day and id."]
    places_at_risk: Annotated[tuple[PlaceAtRisk, ...], "By day: where fewer slots can be filled than without the plan."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]
