"""Who in the whole company holds a competency on a date, is employed and is not absent. Pure.

May import presence, levels, the snapshot and records.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from operator import attrgetter
from typing import Annotated

from ontology.analysis.cover.presence import is_absent, is_employed
from ontology.analysis.profiles.appointments import is_appointed
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.levels import get_level, get_linked
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.model.records import Assessment, Competency, Person
from ontology.snapshot.snapshot import Snapshot

__all__ = ["LevelBasis", "build_company_levels", "get_assessed_people", "iterate_holders", "make_level_basis"]


@dataclass(frozen=True, slots=True)
class LevelBasis:
    """A level that counts and what it rests on.

    `state` is "ok" or "review-due"; `valid_until` is the last day it counts, None where it has no end.
    """

    competency: Annotated[str, "Id of the competency."]
    have: Annotated[int, "The level."]
    state: Annotated[str, "Whether a review is due."]
    source: Annotated[str, "Who assessed it."]
    assessed_on: Annotated[date, "The day it was assessed."]
    valid_until: Annotated[date | None, "The last day it counts; null where it has no end."]


def make_level_basis(known: LevelOnDate) -> LevelBasis | None:
    """Return a level that counts with its basis; None where there is none."""
    if not known.level or known.basis is None:
        return None
    basis = known.basis
    return LevelBasis(known.competency, known.level, known.state, basis.source, basis.date, basis.valid_until)


def get_assessed_people(snapshot: Snapshot, competency_id: str) -> tuple[str, ...]:
    """Return the ids of all who have any assessment of a competency, or of what counts as it, sorted.

    The index is built once for a Snapshot.
    """
    assessed = snapshot.keep("assessed people", lambda: _build_assessed(snapshot))
    others = {row.competency for row in snapshot.get_equivalences_to(competency_id)}
    if not others:
        return assessed.get(competency_id, ())
    return tuple(sorted({person for i in (competency_id, *others) for person in assessed.get(i, ())}))


def _build_assessed(snapshot: Snapshot) -> dict[str, tuple[str, ...]]:
    groups: defaultdict[str, set[str]] = defaultdict(set)
    for assessment in snapshot.list_assessments():
        groups[assessment.competency].add(assessment.person)
    return {competency: tuple(sorted(people)) for competency, people in groups.items()}


def iterate_holders(
    snapshot: Snapshot, competency_id: str, level: int, on: date, away: Collection[str] = ()
) -> Iterator[tuple[Person, LevelOnDate]]:
    """Yield everyone at or above a level who counts on a date, with what is known, by id.

    They are employed, not absent, and appointed where the competency asks for that; each as they are that day.

    Parameters
    ----------
    competency_id : str
        A competency that exists.
    level : int
        >= 1.
    away : collection of str
        People taken as absent on top of the recorded absences.

    Notes
    -----
    O(people with an assessment of the competency).
    """
    competency = snapshot.require_competency(competency_id)
    for person_id in get_assessed_people(snapshot, competency_id):
        known = get_level(snapshot, person_id, competency, on)
        if (known.level or 0) < level or person_id in away:
            continue
        person = get_person_on(snapshot, person_id, on)
        is_there = is_employed(person, on) and not is_absent(snapshot, person_id, on)
        if is_there and is_appointed(snapshot, person_id, competency, level, on):
            yield person, known


def build_company_levels(snapshot: Snapshot, on: date, competencies: Iterable[str]) -> dict[str, dict[str, int]]:
    """Return competency id -> person id -> level >= 1 that counts on a date, of everyone, employed or not, by id.

    One pass over the assessments: O(n) for n of them. Who has a single one of a competency, as most have, is judged
    here without the record that `get_level` makes of it; a test holds the two to the same level.
    """
    levels: dict[str, dict[str, int]] = {}
    asked = {}
    for competency_id in sorted(set(competencies)):
        asked[competency_id] = snapshot.require_competency(competency_id)
        levels[competency_id] = {}
    linked = get_linked(snapshot)
    for competency_id in sorted(asked.keys() & linked.keys()):
        for person_id in get_assessed_people(snapshot, competency_id):
            if rank := get_level(snapshot, person_id, asked[competency_id], on).level:
                levels[competency_id][person_id] = rank
    # assessments are in the order of person and competency: those of a pair follow each other
    pairs = groupby(snapshot.list_assessments(), key=attrgetter("person", "competency"))
    for (person_id, competency_id), group in pairs:
        competency = asked.get(competency_id)
        if competency is None or competency_id in linked:
            continue
        assessment = next(group)
        if next(group, None) is None:
            rank = _get_rank_of_one(competency, assessment, on)
        else:
            rank = get_level(snapshot, person_id, competency, on).level or 0
        if rank:
            levels[competency_id][person_id] = rank
    return levels


def _get_rank_of_one(competency: Competency, assessment: Assessment, on: date) -> int:
    """Return the level that counts where this is the only assessment of the pair."""
    source = assessment.source
    counts = source == "certificate" or (not competency.is_certificate and source in ("assessor", "manager"))
    if not counts or assessment.date > on:
        return 0
    if assessment.withdrawn_on is not None:
        return 0
    is_valid = assessment.valid_until is None or assessment.valid_until >= on
    return assessment.level if is_valid or competency.expiry == "review" else 0
