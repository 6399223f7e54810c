"""As whom one looks, until there is sign-in: the people to choose from, by name."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from api.access.actor import Actor
from api.desk.names import Names, count
from api.pages.page import Page
from ontology.model.records import Person
from ontology.snapshot.names import sort_people
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LookView", "Pick", "build_view", "describe_look"]

_MOST: Final = 60


@dataclass(frozen=True, slots=True)
class Pick:
    """A person to look as."""

    id: str
    name: str
    told: str


@dataclass(frozen=True, slots=True)
class LookView:
    """All that stands on the page; `present` is the name of whom one looks as, "" for nobody."""

    lead: str
    q: str
    people: tuple[Pick, ...]
    left_out: int
    empty: str
    present: str
    wrong: str


def build_view(
    snapshot: Snapshot, actor: Actor, *, q: str = "", found: Collection[str] | None = None, wrong: str = ""
) -> LookView:
    """Return the people to choose from; `found` are those that the words find, None where none are said."""
    names = Names(snapshot)
    ids = [one for one in snapshot.people if found is None or one in found]
    people = [snapshot.people[one] for one in sort_people(snapshot.people, ids)]
    picks = [Pick(row.id, names.person(row.id), _tell_place(row, names)) for row in people[:_MOST]]
    present = actor.name if actor.person else ""
    lead = f"You look as {present}." if present else "You look as nobody yet: choose a person."
    if found is not None and people:
        lead = f"{count(len(people), 'person has', 'people have')} the words “{q}” in their name."
    empty = f"Nobody has the words “{q}” in their name." if q else "There are no people yet."
    return LookView(lead, q, tuple(picks), max(0, len(people) - _MOST), empty, present, wrong)


def _tell_place(person: Person, names: Names) -> str:
    team = names.team(person.team) if person.team else ""
    role = names.role(person.role) if person.role else ""
    return ", ".join(filter(None, (team, role)))


def describe_look(view: LookView) -> Page:
    """Return the page."""
    return Page("look_as.html", {"view": view}, way="stand")
