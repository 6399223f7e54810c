"""How often someone did what a competency is about in twelve months, and how many holders a year's work keeps current.

Pure. Cover does not change by it: who has not practised for long still counts, and is remarked on.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from typing import Annotated, Final, Literal

from ontology.model.identity import PersonId
from ontology.model.records import Competency, CoverNeed
from ontology.model.validity import add_months
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "SOON_DAYS",
    "PersonPractice",
    "PracticeState",
    "describe_lack",
    "find_practice",
    "find_window_begin",
    "get_practice_ceiling",
    "is_practice_kept",
]

PracticeState = Literal["below", "soon", "current", "not-asked"]

#: Who falls below the practice asked for within so many days falls below it soon.
SOON_DAYS: Final = 90
_YEAR_MONTHS: Final = 12
_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class PersonPractice:
    """How often one person did it in the twelve months up to a day."""

    person: Annotated[PersonId, "Id of the person."]
    count: Annotated[int, "How often they did it in the twelve months up to the day asked about."]
    last_day: Annotated[date | None, "The last day they did it, also before these months; null: none is recorded."]
    falls_below_on: Annotated[
        date | None,
        "The first day below what is asked if nothing is added; null: it is below already, or none is asked.",
    ]
    state: Annotated[PracticeState, "below what is asked, soon (within 90 days), current, or not-asked."]


def find_practice(snapshot: Snapshot, person_id: str, competency: Competency, on: date) -> PersonPractice:
    """Return how often someone did what a competency is about in the twelve months up to a day, against what is asked.

    The months are those after the same day of the year before, up to the day itself: on 2026-11-24 from 2025-11-25 on.
    What is dated after the day does not count. O(n) for n records of the pair.
    """
    begin = find_window_begin(on)
    known = [row for row in snapshot.get_practices(person_id, competency.id) if row.date <= on and row.count]
    counted = [row for row in known if row.date >= begin]
    count = sum(row.count for row in counted)
    asked = competency.practices_per_year or 0
    falls_below_on = None
    left = count
    if count >= asked > 0:
        for row in counted:
            left -= row.count
            if left < asked:
                falls_below_on = _find_first_day_without(row.date)
                break
    return PersonPractice(
        person=person_id,
        count=count,
        last_day=known[-1].date if known else None,
        falls_below_on=falls_below_on,
        state=_judge(count, asked, falls_below_on, on),
    )


def _judge(count: int, asked: float, falls_below_on: date | None, on: date) -> PracticeState:
    if not asked:
        return "not-asked"
    if count < asked:
        return "below"
    return "soon" if falls_below_on is not None and (falls_below_on - on).days <= SOON_DAYS else "current"


def find_window_begin(on: date) -> date:
    """Return the first of the twelve months' days that end with a day.

    Examples
    --------
    >>> find_window_begin(date(2026, 11, 24))
    datetime.date(2025, 11, 25)
    """
    try:
        return add_months(on, -_YEAR_MONTHS) + _DAY
    except OverflowError:
        return date.min


def _find_first_day_without(done: date) -> date | None:
    """Return the first day whose twelve months do not hold another; None where the calendar has none."""
    try:
        day = add_months(done, _YEAR_MONTHS)
    except OverflowError:
        return None
    # a 29 February stands in the months up to the 28th of the year after
    return day if find_window_begin(day) > done else day + _DAY


def describe_lack(snapshot: Snapshot, need: CoverNeed, person_id: str, on: date) -> str | None:
    """Return the remark on someone qualified for a need who practises too little for it; None where there is none.

    Nothing is said while no practice of anyone is recorded.
    """
    competency = snapshot.competencies[need.competency]
    if not competency.practices_per_year or not is_practice_kept(snapshot):
        return None
    practice = find_practice(snapshot, person_id, competency, on)
    if practice.state != "below":
        return None
    done, asked = format_count(practice.count, "time"), f"{competency.practices_per_year:g}"
    return (
        f"{person_id} is qualified for {need.competency} at level {need.level} and counts for it, but did it {done} in "
        f"the twelve months up to {on}: {asked} keep someone current."
    )


def is_practice_kept(snapshot: Snapshot) -> bool:
    """Whether anyone's practice is recorded at all: without it a count of 0 says nothing."""
    return bool(snapshot.get_table("practices"))


def get_practice_ceiling(snapshot: Snapshot, need: CoverNeed) -> int | None:
    """Return how many holders the occasions of a year can keep current: whole occasions / practices for each.

    None where either is not told, or no practice is asked for. More holders than that are cover on paper.
    """
    practices = snapshot.competencies[need.competency].practices_per_year
    if need.occasions_per_year is None or not practices:
        return None
    # from the written decimals, so that 0.3 / 0.1 is 3
    return math.floor(Fraction(repr(need.occasions_per_year)) / Fraction(repr(practices)))
