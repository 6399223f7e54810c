"""How many things must be held by when, by team and by competency: counts alone, nobody is named. Pure."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.obligations.met import leave_out_later
from ontology.analysis.obligations.rows import Counts, get_home_on
from ontology.analysis.obligations.state_counter import StateCounter, Tally
from ontology.model.identity import CountOf, PeopleCount, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = ["CompanyObligations", "CompetencyDues", "TeamDues", "count_company_obligations"]


@dataclass(frozen=True)
class _OfTeam:
    """Whose it is: of several bases the members of the last are told first."""

    team: Annotated[str | None, "Id of the team people belong to on the day, or on their first one; null: none."]
    people: Annotated[PeopleCount, "People who must hold something."]
    people_overdue: Annotated[int, CountOf(of="people"), "Of them, those with something overdue."]


@dataclass(frozen=True)
class _OfCompetency:
    """Of what it is."""

    competency: Annotated[str, "Id of the competency."]
    people: Annotated[PeopleCount, "People who must hold it."]
    people_overdue: Annotated[int, CountOf(of="people"), "Of them, those with whom it is overdue."]


@dataclass(frozen=True, slots=True)
class TeamDues(Counts, _OfTeam):
    """How what the people of a team must hold stands."""


@dataclass(frozen=True, slots=True)
class CompetencyDues(Counts, _OfCompetency):
    """How those stand who must hold a competency."""


@dataclass(frozen=True, slots=True)
class CompanyObligations:
    """How what must be held in the company stands; teams and competencies by id, those without any left out."""

    on: Annotated[dt.date, "The day asked about."]
    # beside what is told of each team, here and in its own answer, a sum would tell of the team that is hidden
    people: Annotated[int, TellsOf(), "People who must hold something."]
    people_overdue: Annotated[int, TellsOf(), "Of them, those with something overdue."]
    teams: Annotated[tuple[TeamDues, ...], "By team, by id; people of its parts count there."]
    competencies: Annotated[tuple[CompetencyDues, ...], "By competency, by id."]


def count_company_obligations(snapshot: Snapshot, *, on: dt.date) -> CompanyObligations:
    """Return how many things must be held by when.

    Notes
    -----
    O(people x what is asked of each): by spans between days of change, never day by day.
    """
    known = leave_out_later(snapshot, on)
    counter = StateCounter(known, on)
    by_team: defaultdict[str, Tally] = defaultdict(Tally)
    whole = Tally()
    for person in known.people.values():
        counts = counter.count(person.id)
        if any(counts):
            by_team[get_home_on(known, person, on)].add(counts)
            whole.add(counts)
    by_competency = counter.list_competencies()
    return CompanyObligations(
        on=on,
        people=whole.people,
        people_overdue=whole.overdue,
        teams=tuple(TeamDues(team or None, *figures) for team, figures in _list(by_team)),
        competencies=tuple(CompetencyDues(competency, *figures) for competency, figures in _list(by_competency)),
    )


def _list(tallies: Mapping[str, Tally]) -> list[tuple[str, tuple[int, ...]]]:
    return [(key, tallies[key].list_figures()) for key in sorted(tallies)]
