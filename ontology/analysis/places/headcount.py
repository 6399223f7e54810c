"""How many people a need or place takes for the hours a year it must be manned, against who is qualified. Pure.

May import coverage, slots, presence and the snapshot. Relief factor: the hours of a post in a year divided by the hours
one person works in it, after leave, training and absence; common practice in round-the-clock work.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import groupby
from typing import Annotated, Final, Literal

from ontology.analysis.cover.coverage import build_need_scopes
from ontology.analysis.cover.presence import Presence, get_presence
from ontology.analysis.places.slots import is_able
from ontology.analysis.profiles.belonging import is_contractor
from ontology.errors import InputError
from ontology.model.identity import CountOf, PersonId
from ontology.model.records import APPLIES_EACH_SHIFT
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "LONGEST_YEAR_HOURS",
    "SHIFT_PATTERNS",
    "HeadcountResult",
    "HeadcountRow",
    "ShiftPattern",
    "compute_headcount",
    "count_people_needed",
]

ShiftPattern = Literal["in-turn", "side-by-side"]
SHIFT_PATTERNS: Final[tuple[ShiftPattern, ...]] = ("in-turn", "side-by-side")

#: Hours of a leap year.
LONGEST_YEAR_HOURS: Final = 8_784


@dataclass(frozen=True, slots=True)
class HeadcountRow:
    """People needed for a need or a place over a year."""

    kind: Annotated[Literal["need", "place"], "What it is."]
    competency: Annotated[str | None, "Of a need."]
    level: Annotated[int | None, "Of a need."]
    applies: Annotated[str | None, "Of a need: team, each-shift, or the id of one shift."]
    place: Annotated[str | None, "Id of a place."]
    role: Annotated[str | None, "Role of a place."]
    shift: Annotated[str | None, "Where it counts; null for the team."]
    minimum: Annotated[int, "People at once."]
    manned_hours: Annotated[float | None, "Hours a year it must be covered or filled; null where not known."]
    relief_factor: Annotated[float | None, "People for one post: those hours divided by the net hours of a person."]
    quotient: Annotated[float | None, "Minimum times that, as it comes out."]
    people_needed: Annotated[int | None, "The next whole number."]
    qualified: Annotated[tuple[PersonId, ...], "Members qualified or able on the day, absent ones included."]
    difference: Annotated[
        int | None, CountOf(plus="people_needed"), "Qualified less needed; below 0 so many are missing."
    ]


@dataclass(frozen=True, slots=True)
class HeadcountResult:
    """The headcount check of a team: needs in their order, then places by id."""

    team: Annotated[str, "The team."]
    on: Annotated[date, "The day asked about."]
    away: Annotated[tuple[PersonId, ...], "People taken as absent because the question said so."]
    net_hours: Annotated[float, "Hours a year one person works."]
    manned_hours: Annotated[float | None, "Hours a year where none are told, as asked."]
    shifts: Annotated[ShiftPattern, "How the shifts of the team work."]
    rows: Annotated[tuple[HeadcountRow, ...], "Needs, then places."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def count_people_needed(minimum: int, manned_hours: float, net_hours: float) -> tuple[float, int]:
    """Return the people needed to man posts: the quotient, and the next whole number.

    Parameters
    ----------
    minimum : int
        Posts at once, >= 0.
    manned_hours : float
        Hours a year each is manned, >= 0.
    net_hours : float
        Hours a year one person works, after leave, training and absence, > 0.

    Raises
    ------
    InputError
        A figure outside these limits.

    Notes
    -----
    Computed on the decimals as written, so that 1.1 x 1,000 hours at 1,100 hours a person is 1, not 2.

    Examples
    --------
    >>> quotient, people = count_people_needed(1, 8760, 1600)
    >>> round(quotient, 3), people
    (5.475, 6)
    """
    if minimum < 0 or not (math.isfinite(manned_hours) and math.isfinite(net_hours)):
        raise InputError("A headcount takes posts and hours of at least 0.", minimum=minimum)
    if manned_hours < 0 or net_hours <= 0:
        raise InputError(
            "Hours manned must be at least 0 and net hours above 0.", parameter="net_hours", value=net_hours
        )
    exact = minimum * Fraction(repr(float(manned_hours))) / Fraction(repr(float(net_hours)))
    return float(exact), math.ceil(exact)


def compute_headcount(
    snapshot: Snapshot,
    team_id: str,
    on: date,
    *,
    net_hours: float,
    manned_hours: float | None = None,
    shifts: ShiftPattern = "in-turn",
    away: frozenset[PersonId] = frozenset(),
) -> HeadcountResult:
    """Return how many people each need and place of a team takes in a year, and how many are qualified today.

    Parameters
    ----------
    net_hours : float
        Hours a year one person works, after leave, training and absence, > 0.
    manned_hours : float or None
        Hours a year for needs and places that tell none of their own.
    shifts : {"in-turn", "side-by-side"}
        "in-turn": the shifts of a team follow each other. A need in each shift is one row, its hours those of all
        shifts together; a need or place of one shift that tells no hours of its own has its share of `manned_hours`.
        "side-by-side": shifts work at the same time. A need in each shift is a row for every shift, and each has all
        the hours.
    away : frozenset of str
        People who are not to be counted.

    Returns
    -------
    HeadcountResult

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` names someone who does not exist.
    InputError
        Hours outside their limits, or no such pattern of shifts.
    """
    if shifts not in SHIFT_PATTERNS:
        raise InputError(
            f"Shifts work {' or '.join(SHIFT_PATTERNS)}, not {shifts!r}.", parameter="shifts", value=shifts
        )
    count_people_needed(1, 0.0 if manned_hours is None else manned_hours, net_hours)
    presence = get_presence(snapshot, team_id, on, away)
    asked = _Asked(net_hours, manned_hours, shifts, len(snapshot.get_shifts(team_id)))
    rows = [*_build_needs(presence, asked), *_build_places(presence, asked)]
    unknown = sum(row.manned_hours is None for row in rows)
    remarks = ["Each row is a check by itself: one person may count in several rows, but works their hours only once."]
    if unknown:
        remarks.append(f"{unknown} of {len(rows)} tell no hours a year, and none were given for them.")
    return HeadcountResult(team_id, on, presence.away, net_hours, manned_hours, shifts, tuple(rows), tuple(remarks))


@dataclass(frozen=True, slots=True)
class _Asked:
    """What was asked, and how many shifts the team has."""

    net_hours: float
    manned_hours: float | None
    shifts: ShiftPattern
    shift_count: int

    def get_hours(self, own: float | None, shift: str | None) -> float | None:
        """Return the hours a year of a need or place: its own, or those given, shared where shifts work in turn."""
        if own is not None or self.manned_hours is None:
            return own
        is_shared = shift is not None and self.shifts == "in-turn" and self.shift_count > 1
        return self.manned_hours / self.shift_count if is_shared else self.manned_hours


def _build_needs(presence: Presence, asked: _Asked) -> list[HeadcountRow]:
    rows = []
    for need, group in groupby(build_need_scopes(presence), key=lambda scope: scope.need):
        scopes = list(group)
        parts: list[tuple[str | None, set[str]]] = [(scope.shift, set(scope.qualified)) for scope in scopes]
        if need.applies == APPLIES_EACH_SHIFT and asked.shifts == "in-turn":
            parts = [(None, set().union(*(people for _, people in parts)))]
        for shift, people in parts:
            hours = asked.get_hours(need.hours_per_year, shift)
            rows.append(
                _build_row(
                    asked.net_hours,
                    hours,
                    kind="need",
                    competency=need.competency,
                    level=need.level,
                    applies=need.applies,
                    shift=shift,
                    minimum=need.minimum,
                    qualified=tuple(sorted(i for i in people if _is_own(presence, i))),
                )
            )
    return rows


def _is_own(presence: Presence, person_id: str) -> bool:
    """Whether someone not away counts as a head of the company: contractors cover needs, but are none."""
    return person_id not in presence.away and not is_contractor(presence.snapshot, person_id, presence.on)


def _build_places(presence: Presence, asked: _Asked) -> list[HeadcountRow]:
    rows = []
    for place in presence.snapshot.get_places(presence.team):
        shift = place.shift or None
        able = tuple(
            person.id
            for person in presence.get_scope(shift)
            if _is_own(presence, person.id) and is_able(presence, person.id, place.role)
        )
        hours = asked.get_hours(place.hours_per_year, shift)
        rows.append(
            _build_row(
                asked.net_hours,
                hours,
                kind="place",
                place=place.id,
                role=place.role,
                shift=shift,
                minimum=place.count,
                qualified=able,
            )
        )
    return rows


def _build_row(
    net_hours: float,
    manned_hours: float | None,
    *,
    kind: Literal["need", "place"],
    shift: str | None,
    minimum: int,
    qualified: tuple[str, ...],
    competency: str | None = None,
    level: int | None = None,
    applies: str | None = None,
    place: str | None = None,
    role: str | None = None,
) -> HeadcountRow:
    factor: float | None = None
    quotient: float | None = None
    people: int | None = None
    if manned_hours is not None:
        factor, _ = count_people_needed(1, manned_hours, net_hours)
        quotient, people = count_people_needed(minimum, manned_hours, net_hours)
    return HeadcountRow(
        kind=kind,
        competency=competency,
        level=level,
        applies=applies,
        place=place,
        role=role,
        shift=shift,
        minimum=minimum,
        manned_hours=manned_hours,
        relief_factor=factor,
        quotient=quotient,
        people_needed=people,
        qualified=qualified,
        difference=None if people is None else len(qualified) - people,
    )
