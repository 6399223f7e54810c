"""What is open of all newcomers' plans, by who sees to it. Pure.

Plans of those who started lately or will start, and of those who change the role by a membership.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Annotated, Final

from ontology.analysis.cover.presence import is_employed
from ontology.analysis.orientation.orientation import OrientationState, build_rows
from ontology.analysis.profiles.belonging import get_person_on
from ontology.errors import InputError
from ontology.model.identity import CountOf, PeopleCount, PersonId, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "LATELY_DAYS",
    "OpenItem",
    "OpenOrientationResult",
    "OwnerItems",
    "Start",
    "find_open_items",
    "find_open_orientation",
    "find_starts",
]

#: Starts longer ago than this are left out: a year after the first day a plan is no longer a newcomer's.
LATELY_DAYS: Final = 365
_DAY: Final = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Start:
    """A day from which a plan counts."""

    person: str
    day: date
    is_change_of_role: bool


@dataclass(frozen=True, slots=True)
class OpenItem:
    """An item that is not done."""

    person: Annotated[PersonId, "Id of the newcomer."]
    start: Annotated[date, "The first day, or that of the change of role."]
    is_change_of_role: Annotated[bool, "Whether it is a change of role."]
    item: Annotated[str, "Id of the item."]
    label: Annotated[str, "What it is."]
    due: Annotated[date, "Its day."]
    state: Annotated[OrientationState, "overdue (its day has passed), due (within 7 days) or later."]
    before_work: Annotated[bool, "Whether it must be done before work begins."]


@dataclass(frozen=True, slots=True)
class OwnerItems:
    """What one owner has to see to."""

    owner: Annotated[PersonId, "Who sees to it; empty: nobody is named."]
    overdue: Annotated[int, TellsOf(), "Items whose day has passed."]
    due: Annotated[int, TellsOf(), "Items whose day comes within 7 days."]
    later: Annotated[int, TellsOf(), "The other ones."]
    items: Annotated[tuple[OpenItem, ...], "By day, item and person."]


@dataclass(frozen=True, slots=True)
class OpenOrientationResult:
    """What is open, by owner."""

    on: Annotated[date, "The day asked about."]
    people: Annotated[
        PeopleCount, "People who started at most 365 days ago, will start, or change the role in that time."
    ]
    people_overdue: Annotated[int, CountOf(of="people"), "Of them, those with an item below whose day has passed."]
    owners: Annotated[tuple[OwnerItems, ...], "By owner."]


def find_open_orientation(snapshot: Snapshot, on: date, *, owner: str | None = None) -> OpenOrientationResult:
    """Return the open items of everyone who started at most a year ago, will start or changes the role, by owner.

    Parameters
    ----------
    on : date
        What is done after it is not done yet.
    owner : str, optional
        Only what this owner sees to; "" for what has no owner. Left out: all.

    Raises
    ------
    InputError
        No item has that owner.

    Notes
    -----
    O(people + memberships) to find the starts, then as `build_orientation` for each.
    """
    if owner is not None and all(item.owner != owner for item in snapshot.orientation_items.values()):
        raise InputError(f"No orientation item has the owner {owner!r}.", parameter="owner", value=owner)
    starts = list(find_starts(snapshot, on))
    by_owner: defaultdict[str, list[OpenItem]] = defaultdict(list)
    for start in starts:
        for item in find_open_items(snapshot, on, start):
            whose = snapshot.orientation_items[item.item].owner
            if owner in (None, whose):
                by_owner[whose].append(item)
    late = {item.person for items in by_owner.values() for item in items if item.state == "overdue"}
    return OpenOrientationResult(
        on=on,
        people=len({start.person for start in starts}),
        people_overdue=len(late),
        owners=tuple(_build_owner(name, by_owner[name]) for name in sorted(by_owner)),
    )


def find_open_items(snapshot: Snapshot, on: date, start: Start) -> list[OpenItem]:
    """Return the items of a start that are not done, by day and id."""
    rows = build_rows(snapshot, start.person, on, start.day, is_change_of_role=start.is_change_of_role)
    return [
        OpenItem(
            start.person,
            start.day,
            start.is_change_of_role,
            row.item,
            row.label,
            row.due,
            row.state,
            row.before_work,
        )
        for row in rows
        if row.done is None
    ]


def _build_owner(owner: str, items: list[OpenItem]) -> OwnerItems:
    states = [item.state for item in items]
    return OwnerItems(
        owner=owner,
        overdue=states.count("overdue"),
        due=states.count("due"),
        later=states.count("later"),
        items=tuple(sorted(items, key=lambda row: (row.due, row.item, row.person, row.start))),
    )


def find_starts(snapshot: Snapshot, on: date, people: Iterable[str] | None = None) -> Iterator[Start]:
    """Yield the starts of which a plan is kept on a day: not over a year ago, of people who have not left; by person.

    Besides first days, the first day of a membership whose role is another than that of the day before. `people`: only
    of these, in their order; None: of everyone.
    """
    for person in map(snapshot.people.__getitem__, snapshot.people if people is None else people):
        if person.end_date is not None and person.end_date < on:
            continue
        if person.start_date is not None and _is_recent(person.start_date, on):
            yield Start(person.id, person.start_date, False)
        for row in snapshot.get_memberships(person.id):
            if _is_recent(row.from_date, on) and _changes_role(snapshot, person.id, row.from_date):
                yield Start(person.id, row.from_date, True)


def _is_recent(day: date, on: date) -> bool:
    return (on - day).days <= LATELY_DAYS


def _changes_role(snapshot: Snapshot, person_id: str, first: date) -> bool:
    """Whether someone employed on a day and the day before has another role then."""
    person = snapshot.people[person_id]
    if first == date.min or not (is_employed(person, first - _DAY) and is_employed(person, first)):
        return False
    role = get_person_on(snapshot, person_id, first).role
    return bool(role) and role != get_person_on(snapshot, person_id, first - _DAY).role
