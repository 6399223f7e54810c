"""Whom an obligation binds on which days: its runs of bound days for a person, and what is bound with it. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Final

from ontology.analysis.obligations.spans import BEFORE, LAST, Span, Spans, intersect, make_span, merge
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_person_on, is_meant
from ontology.model.records import Person
from ontology.model.work_records import Obligation
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Key", "find_runs", "get_keys"]

#: What must be held: competency id and level.
Key = tuple[str, int]

_OF_PLACES: Final = "place"


def get_keys(snapshot: Snapshot, obligation: Obligation) -> tuple[Key, ...]:
    """Return what an obligation asks: its own competency first, then, at level 1, all that this holds while others do.

    Also what these hang on, and so on; each once. Kept with the Snapshot.
    """
    kept: dict[str, tuple[Key, ...]] = snapshot.keep("keys of obligations", dict)
    keys = kept.get(obligation.id)
    if keys is None:
        found: dict[Key, None] = {(obligation.competency, obligation.level): None}
        stack, seen = [obligation.competency], {obligation.competency}
        while stack:
            competency = snapshot.competencies.get(stack.pop())
            for other in competency.holds_while if competency else ():
                if other not in seen:
                    seen.add(other)
                    stack.append(other)
                    found[other, 1] = None
        keys = kept[obligation.id] = tuple(found)
    return keys


def find_runs(snapshot: Snapshot, person_id: str) -> list[tuple[Obligation, Spans]]:
    """Return the runs of days on which each obligation binds a person, by id; none where it never does.

    A run that begins `BEFORE` the calendar has no beginning that is known. O(spells of belonging x obligations), and
    most of it once for all people who belong alike.
    """
    person = snapshot.people[person_id]
    employed = (make_span(person.start_date, person.end_date),)
    turns = find_days_of_belonging(snapshot, person_id)
    found: dict[str, list[Span]] = {}
    first = BEFORE
    for turn in (*turns, None):
        last = LAST if turn is None else turn.toordinal() - 1
        if first <= last:
            day = date.fromordinal(first) if first else (turn - timedelta(days=1) if turn and last else date.min)
            for obligation in _get_meant(snapshot, get_person_on(snapshot, person_id, day)):
                found.setdefault(obligation.id, []).append((first, last))
        first = last + 1
    for place, spans in _find_duties(snapshot, person_id).items():
        for obligation in _get_of_places(snapshot).get(place, ()):
            found[obligation.id] = spans
    runs = []
    for obligation_id in sorted(found):
        obligation = snapshot.obligations[obligation_id]
        in_force = (make_span(obligation.from_date, obligation.to_date),)
        spans_in_force = intersect(intersect(merge(found[obligation_id]), employed), in_force)
        if spans_in_force:
            runs.append((obligation, spans_in_force))
    return runs


def _find_duties(snapshot: Snapshot, person_id: str) -> Mapping[str, list[Span]]:
    """Return the days of a person's duties by place."""
    duties: dict[str, list[Span]] = {}
    for duty in snapshot.get_duties(person_id):
        duties.setdefault(duty.place, []).append(make_span(duty.from_date, duty.to_date))
    return duties


def _get_meant(snapshot: Snapshot, person: Person) -> tuple[Obligation, ...]:
    """Return the obligations that are about whoever has the team and role of a person as they are on a day, by id."""
    kept: dict[tuple[str, str], tuple[Obligation, ...]] = snapshot.keep("obligations by team and role", dict)
    meant = kept.get((person.team, person.role))
    if meant is None:
        rows = snapshot.obligations.values()
        meant = tuple([row for row in rows if is_meant(snapshot, person, row.rule, row.of)])
        kept[person.team, person.role] = meant
    return meant


def _get_of_places(snapshot: Snapshot) -> Mapping[str, list[Obligation]]:
    """Return the obligations of whoever stands at a place, by place."""
    return snapshot.keep("obligations by place", lambda: _build_of_places(snapshot))


def _build_of_places(snapshot: Snapshot) -> dict[str, list[Obligation]]:
    found: dict[str, list[Obligation]] = {}
    for row in snapshot.obligations.values():
        if row.rule == _OF_PLACES:
            found.setdefault(row.of, []).append(row)
    return found
