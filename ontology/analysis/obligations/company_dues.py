"""How many things must be held by when, by team and by competency: counts alone, nobody is named. Pure."""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.obligations.due import STATES, DueState
from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.must_hold import find_days
from ontology.analysis.obligations.rows import get_home_on, judge
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CompanyObligations", "CompetencyDues", "TeamDues", "count_company_obligations"]


@dataclass(frozen=True, slots=True)
class TeamDues:
    """How what the people of a team must hold stands."""

    team: Annotated[str | None, "Id of the team people belong to on the day, or on their first one; null: none."]
    people: Annotated[int, "People who must hold something."]
    people_overdue: Annotated[int, "Of them, those with something overdue."]
    overdue: Annotated[int, "Due before the day asked about."]
    within_30: Annotated[int, "Due within 30 days."]
    within_60: Annotated[int, "Due within 60 days, not within 30."]
    within_90: Annotated[int, "Due within 90 days, not within 60."]
    current: Annotated[int, "Met, and not due within 90 days."]
    later: Annotated[int, "Not met yet, and not due within 90 days."]


@dataclass(frozen=True, slots=True)
class CompetencyDues:
    """How those stand who must hold a competency."""

    competency: Annotated[str, "Id of the competency."]
    people: Annotated[int, "People who must hold it."]
    people_overdue: Annotated[int, "Of them, those with whom it is overdue."]
    overdue: Annotated[int, "Due before the day asked about."]
    within_30: Annotated[int, "Due within 30 days."]
    within_60: Annotated[int, "Due within 60 days, not within 30."]
    within_90: Annotated[int, "Due within 90 days, not within 60."]
    current: Annotated[int, "Met, and not due within 90 days."]
    later: Annotated[int, "Not met yet, and not due within 90 days."]


@dataclass(frozen=True, slots=True)
class CompanyObligations:
    """How what must be held in the company stands; teams and competencies by id, those without any left out."""

    on: Annotated[dt.date, "The day asked about."]
    people: Annotated[int, "People who must hold something."]
    people_overdue: Annotated[int, "Of them, those with something overdue."]
    teams: Annotated[tuple[TeamDues, ...], "By team, by id; people of its parts count there."]
    competencies: Annotated[tuple[CompetencyDues, ...], "By competency, by id."]


class _Tally:
    """People, people with something overdue, and rows by state."""

    __slots__ = ("overdue", "people", "rows")

    def __init__(self) -> None:
        self.people = self.overdue = 0
        self.rows = [0] * len(STATES)

    def add(self, rows: Sequence[int], people: int = 1) -> None:
        """Add the rows, by state, of people who have each as many."""
        self.people += people
        self.overdue += people if rows[0] else 0
        self.rows = [had + people * more for had, more in zip(self.rows, rows, strict=True)]

    def list_figures(self) -> tuple[int, ...]:
        return (self.people, self.overdue, *self.rows)


def _count(states: Sequence[DueState]) -> tuple[int, ...]:
    return tuple([states.count(state) for state in STATES])


def count_company_obligations(snapshot: Snapshot, *, on: dt.date) -> CompanyObligations:
    """Return how many things must be held by when.

    Notes
    -----
    O(people x what is asked of each): by spans between days of change, never day by day.
    """
    known = leave_out_later(snapshot, on)
    by_team: defaultdict[str, _Tally] = defaultdict(_Tally)
    by_competency: defaultdict[str, _Tally] = defaultdict(_Tally)
    #: How many people there are with each single row of a competency: added up at the end.
    single: Counter[tuple[str, DueState]] = Counter()
    whole = _Tally()
    for person in known.people.values():
        rows = [(key[0], due.state) for key, due in judge(known, person.id, find_days(known, person.id), on)]
        if not rows:
            continue
        counts = _count([state for _, state in rows])
        by_team[get_home_on(known, person, on)].add(counts)
        whole.add(counts)
        states = dict(rows)
        if len(states) == len(rows):
            single.update(rows)
        else:  # some competency at two levels
            for competency_id in states:
                by_competency[competency_id].add(_count([state for i, state in rows if i == competency_id]))
    for (competency_id, state), people in single.items():
        by_competency[competency_id].add(_count([state]), people)
    return CompanyObligations(
        on=on,
        people=whole.people,
        people_overdue=whole.overdue,
        teams=tuple(TeamDues(team or None, *figures) for team, figures in _list(by_team)),
        competencies=tuple(CompetencyDues(competency, *figures) for competency, figures in _list(by_competency)),
    )


def _list(tallies: Mapping[str, _Tally]) -> list[tuple[str, tuple[int, ...]]]:
    return [(key, tallies[key].list_figures()) for key in sorted(tallies)]
