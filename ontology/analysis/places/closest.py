"""Who is closest to the slots that nobody able is left for: an offer to learn, never a ranking. Pure.

May import presence, levels, slots and scipy. The free people present are given to the empty slots so that as many
slots as possible get someone and the levels missing add up to the least: the linear assignment problem (Kuhn 1955,
Naval Research Logistics Quarterly 2).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from scipy.optimize import linear_sum_assignment

from ontology.analysis.cover.presence import Presence
from ontology.analysis.places.slots import Slot, list_unsupervised_levels
from ontology.analysis.profiles.appointments import find_appointed
from ontology.analysis.profiles.levels import get_level
from ontology.model.identity import PersonId
from ontology.model.records import Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ClosestPerson", "MissingLevel", "assign_least_gaps", "find_closest", "find_missing_levels"]


@dataclass(frozen=True, slots=True)
class MissingLevel:
    """A level that is needed in a slot without supervision, and the level held: None where not assessed."""

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level needed without supervision."]
    have: Annotated[int | None, "The level held, 0 when lapsed; null when not assessed."]

    @property
    def gap(self) -> int:
        """Levels missing; not assessed computes as 0."""
        return self.level - (self.have or 0)


@dataclass(frozen=True, slots=True)
class ClosestPerson:
    """Who could learn to fill an empty slot with the least, all empty slots taken together.

    `place` is None for a slot of a `together` need, whose `competency` and `level` stand in `missing`; `gap` is the
    sum of the missing levels.
    """

    place: Annotated[str | None, "Id of the place; null for a need of a group."]
    together: Annotated[str | None, "The group of the need; null for a place."]
    shift: Annotated[str | None, "The shift; null for the team."]
    person: Annotated[PersonId, "Id of the person."]
    gap: Annotated[int, "Levels missing, summed."]
    missing: Annotated[tuple[MissingLevel, ...], "Blocking and essential requirements that are not met."]


def find_missing_levels(presence: Presence, person_id: str, role_id: str) -> tuple[MissingLevel, ...]:
    """Return what a person lacks of a role's blocking and essential requirements at unsupervised level."""
    rows = []
    for requirement in presence.snapshot.get_requirements(role_id):
        have = presence.get_level_rank(person_id, requirement.competency)
        if requirement.necessity != "desirable" and have < requirement.unsupervised_level:
            rows.append(_get_missing(presence, person_id, requirement.competency, requirement.unsupervised_level))
    return tuple(rows)


def _get_missing(presence: Presence, person_id: str, competency_id: str, level: int) -> MissingLevel:
    competency = presence.snapshot.require_competency(competency_id)
    return MissingLevel(competency_id, level, get_level(presence.snapshot, person_id, competency, presence.on).level)


def find_closest(presence: Presence, empty: Sequence[Slot], busy: Collection[str]) -> tuple[ClosestPerson, ...]:
    """Return who is closest to each empty slot, all of them taken together.

    Parameters
    ----------
    empty : sequence of Slot
        The slots nobody fills, in order.
    busy : collection of str
        Who fills a slot already.

    Returns
    -------
    tuple of ClosestPerson
        In the order of slots, one person one slot. A slot is left out when nobody free is in its shift, or its role
        asks for nothing. As many slots as possible, then the least sum of gaps, then for each slot in order the
        smallest id.

    Notes
    -----
    One assignment problem for each slot: O(e^2 n (e + n)) for e empty slots and n free people.
    """
    free = [person for person in presence.present if person.id not in busy]
    lacking = [_list_lacking(presence, slot, free) for slot in empty]
    gaps = [[None if row is None else sum(m.gap for m in row) for row in rows] for rows in lacking]
    found = []
    for slot, rows, column in zip(empty, lacking, assign_least_gaps(gaps), strict=True):
        missing = None if column is None else rows[column]
        if column is not None and missing is not None:
            together = slot.need.together if slot.need else None
            gap = sum(m.gap for m in missing)
            found.append(ClosestPerson(slot.place, together, slot.shift, free[column].id, gap, missing))
    return tuple(found)


def _list_lacking(presence: Presence, slot: Slot, free: Sequence[Person]) -> list[tuple[MissingLevel, ...] | None]:
    """Return what each of some people lacks for a slot; None where learning would not let them fill it."""
    ids = [person.id for person in free if slot.shift in (None, person.shift)]
    could = frozenset(find_appointed(presence.snapshot, ids, _list_levels(presence.snapshot, slot), presence.on))
    return [_get_lacking(presence, slot, person.id) if person.id in could else None for person in free]


def _list_levels(snapshot: Snapshot, slot: Slot) -> list[tuple[str, int]]:
    if slot.need is not None:
        return [(slot.need.competency, slot.need.level)]
    return list_unsupervised_levels(snapshot, snapshot.places[slot.place or ""].role)


def _get_lacking(presence: Presence, slot: Slot, person_id: str) -> tuple[MissingLevel, ...] | None:
    if slot.need is not None:
        return (_get_missing(presence, person_id, slot.need.competency, slot.need.level),)
    role = presence.snapshot.places[slot.place or ""].role
    return find_missing_levels(presence, person_id, role) if presence.snapshot.get_requirements(role) else None


def assign_least_gaps(gaps: Sequence[Sequence[int | None]]) -> list[int | None]:
    """Return a column for each row: as many as possible, then the least sum, then the smallest columns row by row.

    Parameters
    ----------
    gaps : sequence of sequence of int or None, shape (e, n)
        At least 0; None where row and column do not fit.

    Returns
    -------
    list of int or None, length e
        No column twice; None for a row without one.

    Notes
    -----
    A column of its own that stands for "nobody" is added for each row, dearer than any real assignment. Each row is
    then settled by one assignment problem in which its columns in order cost a little more, so that the result does
    not hang on how the solver breaks ties.

    Examples
    --------
    >>> assign_least_gaps([[2, 1], [1, None]])
    [1, 0]
    """
    if not gaps or not gaps[0]:
        return [None] * len(gaps)
    rows, columns = len(gaps), len(gaps[0])
    nobody = 1 + rows * max((gap for row in gaps for gap in row if gap is not None), default=0)
    unfit = nobody * (rows + 1) + 1
    cost = np.full((rows, columns + rows), unfit, dtype=np.int64)
    for i, row in enumerate(gaps):
        cost[i, :columns] = [unfit if gap is None else gap for gap in row]
        cost[i, columns + i] = nobody
    cost *= columns + 1
    open_columns = np.arange(columns + rows)
    chosen: list[int | None] = []
    for i in range(rows):
        tied = cost[i:, open_columns]
        tied[0] += np.minimum(open_columns, columns)
        picked, places = linear_sum_assignment(tied)
        column = int(open_columns[places[picked == 0][0]])
        chosen.append(column if column < columns else None)
        open_columns = open_columns[open_columns != column]
    return chosen
