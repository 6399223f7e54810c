"""What a change of the framework, offers and teams can touch; what it does not touch answers as before. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from ontology.analysis.effect.telling import Edits, find_edits
from ontology.analysis.effect.worse import is_only_worse
from ontology.analysis.profiles.levels import get_linked
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Touched", "find_touched"]

#: Tables of which it is known what a record touches here; a change of any other touches everything.
_KNOWN: Final = frozenset(
    {
        *("scales", "competencies", "equivalences", "assessments", "replacements", "level_maps", "requirements"),
        *("courses", "outcomes", "entry_conditions", "sessions", "cover_needs", "places", "shifts", "teams"),
    }
)
#: Tables that change nothing that is asked here: who must hold what, what newcomers meet, where a team works; of a role
#: itself its name and how long it takes to grow into it.
_ELSEWHERE: Final = frozenset({"obligations", "orientation_items", "sites", "roles"})

Sides = tuple[Snapshot, Snapshot]


@dataclass(frozen=True, slots=True)
class Touched:
    """What a change touches, before or after it.

    Attributes
    ----------
    competencies : frozenset of str
        Whose levels may differ: they, their scale, or what their level rests on changed.
    roles : frozenset of str
        A requirement of them changed, or they ask for a touched competency.
    requirements : mapping of role to how many of its requirements changed
    courses : frozenset of str
        They, what they teach, build on, or a session of them changed.
    worse : frozenset of str
        Those courses that only got worse: dearer, longer, teaching less, asking more, or gone.
    teams : frozenset of str
        A need, place or shift of them changed, a need on a touched competency, a place of a touched role.
    """

    competencies: frozenset[str]
    roles: frozenset[str]
    requirements: Counter[str]
    courses: frozenset[str]
    worse: frozenset[str]
    teams: frozenset[str]


def find_touched(before: Snapshot, after: Snapshot) -> Touched:
    """Return what the differences of two states can touch; safe: what is not in it is equal.

    O(records of the tables that differ + needs, and what names the touched).
    """
    edits, sides = find_edits(before, after), (before, after)
    requirements = Counter(str(key[0]) for key in edits.get("requirements", ()))
    if not edits.keys() <= _KNOWN | _ELSEWHERE:
        every = (frozenset(before.get_table(name)) | frozenset(after.get_table(name)) for name in _COUNTED)
        competencies, roles, courses, teams = (frozenset(str(key[0]) for key in keys) for keys in every)
        return Touched(competencies, roles, requirements, courses, frozenset(), teams)
    competencies = frozenset(_spread(sides, {*_list_competencies(sides, edits)}))
    asking = {row.role for side in sides for i in competencies for row in side.get_requirements_of_competency(i)}
    roles = frozenset(requirements.keys() | asking)
    courses = frozenset(_list_courses(edits))
    return Touched(
        competencies=competencies,
        roles=roles,
        requirements=requirements,
        courses=courses,
        worse=frozenset(i for i in courses if is_only_worse(i, edits)),
        teams=frozenset(_list_teams(sides, edits, competencies, roles)),
    )


_COUNTED: Final = ("competencies", "roles", "courses", "teams")


def _iterate(edits: Edits, *tables: str) -> Iterator[Any]:
    """Yield the records before and after of some tables."""
    for name in tables:
        for pair in edits.get(name, {}).values():
            yield from (record for record in pair if record is not None)


def _list_competencies(sides: Sides, edits: Edits) -> Iterator[str]:
    for row in _iterate(edits, "competencies"):
        yield row.id
    for row in _iterate(edits, "assessments"):
        yield row.competency
    for row in _iterate(edits, "equivalences"):
        yield row.counts_as
    for row in _iterate(edits, "replacements"):
        yield from (row.old, row.new)
    scales = {row.scale for row in _iterate(edits, "scales")}
    scales |= {scale for row in _iterate(edits, "level_maps") for scale in (row.from_scale, row.to_scale)}
    for side in sides:
        yield from (one.id for scale in scales for one in side.get_competencies_of_scale(scale))


def _spread(sides: Sides, touched: set[str]) -> set[str]:
    """Return the touched competencies with what took their place, and all whose level rests on one of them."""
    found, stack = set(touched), list(touched)
    while stack:
        old = stack.pop()
        # levels recorded of what is retired are read for what took its place, and on
        new = {row.new for side in sides for row in side.get_replacements(("competencies", old))} - found
        found |= new
        stack += new
    for side in sides:
        found |= {i for i, rests_on in get_linked(side).items() if not found.isdisjoint(rests_on)}
    return found


def _list_courses(edits: Edits) -> Iterator[str]:
    for row in _iterate(edits, "courses"):
        yield row.id
    for row in _iterate(edits, "outcomes", "entry_conditions", "sessions"):
        yield row.course


def _list_teams(sides: Sides, edits: Edits, competencies: frozenset[str], roles: frozenset[str]) -> Iterator[str]:
    for row in _iterate(edits, "teams"):
        yield row.id
    for row in _iterate(edits, "cover_needs", "places", "shifts"):
        yield row.team
    sessions = {row.id for row in _iterate(edits, "sessions")}
    for side in sides:
        if competencies:
            yield from (row.team for row in side.get_table("cover_needs").values() if row.competency in competencies)
        yield from (place.team for role in roles for place in side.get_places_of_role(role))
        # who is in a session is not there on its days
        people = {booking.person for i in sessions for booking in side.get_bookings_of_session(i)}
        for person in people:
            yield side.people[person].team
            yield from (row.team for row in side.get_memberships(person))
