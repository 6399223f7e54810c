"""Where people belong on a day: team, shift, role, site; whom a rule that names one of these is about. Pure.

On a day a membership that holds it decides; else the person's own record does. An empty role is the person's own, an
empty shift theirs in their own team, else none.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

from ontology.model.records import Person
from ontology.model.work_records import Membership
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.workplaces import get_site_of_team, get_teams_above

__all__ = [
    "find_days_of_belonging",
    "find_last_day_in_team",
    "get_membership",
    "get_people_of_team",
    "get_person_on",
    "get_site_of_team",
    "get_teams_above",
    "is_contractor",
    "is_meant",
]


def get_membership(snapshot: Snapshot, person_id: str, on: date) -> Membership | None:
    """Return the membership that holds a day, or None where the person's own record decides. O(memberships)."""
    for row in snapshot.get_memberships(person_id):
        if row.from_date <= on and (row.to_date is None or on <= row.to_date):
            return row
    return None


def get_person_on(snapshot: Snapshot, person_id: str, on: date) -> Person:
    """Return a person as they are on a day: their record with the team, shift and role of that day.

    Whether they are employed that day is not asked. O(memberships of the person).
    """
    person = snapshot.people[person_id]
    row = get_membership(snapshot, person_id, on)
    if row is None:
        return person
    kept: dict[tuple[str, date], Person] = snapshot.keep("people by membership", dict)
    there = kept.get((person_id, row.from_date))
    if there is None:
        shift = row.shift or (person.shift if row.team == person.team else "")
        there = kept[person_id, row.from_date] = replace(
            person, team=row.team, shift=shift, role=row.role or person.role
        )
    return there


def is_meant(snapshot: Snapshot, person: Person, rule: str, of: str) -> bool:
    """Whether a rule is about a person, as they are on a day (`get_person_on`).

    Parameters
    ----------
    rule : str
        everyone, role, team (theirs or one above it) or site (of their team); any other is about nobody here.
    of : str
        Id of what the rule names.
    """
    if rule == "everyone":
        return True
    if not of:
        return False
    if rule == "role":
        return person.role == of
    if rule == "team":
        return of in get_teams_above(snapshot, person.team)
    return rule == "site" and get_site_of_team(snapshot, person.team) == of


def is_contractor(snapshot: Snapshot, person_id: str, on: date) -> bool:
    """Whether someone is there that day for another company: they count for cover, not among the own people."""
    row = get_membership(snapshot, person_id, on)
    return row is not None and row.kind == "contractor"


def get_people_of_team(snapshot: Snapshot, team_id: str) -> tuple[Person, ...]:
    """Return everyone who belongs to a team on some day, by their own record or a membership, by id."""
    lent = snapshot.get_memberships_of_team(team_id)
    if not lent:
        return snapshot.get_members(team_id)
    found: Mapping[str, Person] = {
        **{person.id: person for person in snapshot.get_members(team_id)},
        **{row.person: snapshot.people[row.person] for row in lent},
    }
    return tuple([found[i] for i in sorted(found)])


def find_days_of_belonging(snapshot: Snapshot, person_id: str) -> list[date]:
    """Return, sorted, every day on which team, shift or role may be others than the day before."""
    days: set[date] = set()
    for row in snapshot.get_memberships(person_id):
        days.add(row.from_date)
        if row.to_date is not None and row.to_date < date.max:
            days.add(row.to_date + timedelta(days=1))
    return sorted(days)


def find_last_day_in_team(snapshot: Snapshot, person_id: str, team_id: str, on: date) -> date | None:
    """Return the last day of someone's stay in a team that holds a day; None where no end is known.

    The stay ends with the employment, or with the day before they belong to another team.
    """
    end = snapshot.people[person_id].end_date
    for day in find_days_of_belonging(snapshot, person_id):
        if day > on and get_person_on(snapshot, person_id, day).team != team_id:
            last = day - timedelta(days=1)
            return last if end is None else min(last, end)
    return end
