"""Whom an obligation binds on which days: its runs of bound days for a person, and what is bound with it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Final, NamedTuple

from ontology.analysis.obligations.spans import BEFORE, LAST, Span, Spans, intersect, make_span, merge
from ontology.analysis.profiles.belonging import find_days_of_belonging, get_person_on, is_meant
from ontology.model.records import Person
from ontology.model.work_records import Obligation
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Key", "Rule", "find_runs", "get_rules", "get_rules_about"]

#: What must be held: competency id and level.
Key = tuple[str, int]

_OF_PLACES: Final = "place"


class Rule(NamedTuple):
    """An obligation, the days it is in force, and what it asks.

    `keys`: its own competency first, then, at level 1, all that this holds while others do, what these hang on, and so
    on; each once.
    """

    obligation: Obligation
    in_force: Span
    keys: tuple[Key, ...]


def find_runs(snapshot: Snapshot, person_id: str) -> list[tuple[Rule, Spans]]:
    """Return the runs of days on which each obligation binds a person, by id; none where it never does.

    A run that begins `BEFORE` the calendar has no beginning that is known. O(spells of belonging x obligations that are
    about whoever belongs so); which these are is worked out once for all who belong alike.
    """
    person = snapshot.people[person_id]
    employed = make_span(person.start_date, person.end_date)
    found: dict[str, list[Span]] = {}
    for piece, member in _list_spells(snapshot, person_id):
        for rule in get_rules_about(snapshot, member):
            found.setdefault(rule.obligation.id, []).append(piece)
    for duty in snapshot.get_duties(person_id):
        for rule in _get_of_places(snapshot).get(duty.place, ()):
            found.setdefault(rule.obligation.id, []).append(make_span(duty.from_date, duty.to_date))
    rules = get_rules(snapshot)
    bound = [(rules[i], _clip(found[i], employed, rules[i].in_force)) for i in sorted(found)]
    return [(rule, spans) for rule, spans in bound if spans]


def _clip(pieces: Iterable[Span], employed: Span, in_force: Span) -> Spans:
    return intersect(intersect(merge(pieces), (employed,)), (in_force,))


def _list_spells(snapshot: Snapshot, person_id: str) -> list[tuple[Span, Person]]:
    """Return the stretches in which a person belongs to one team in one role, with the person as they are then."""
    spells = []
    first = BEFORE
    for turn in (*find_days_of_belonging(snapshot, person_id), None):
        last = LAST if turn is None else turn.toordinal() - 1
        if first <= last:
            day = date.fromordinal(first) if first else date.min if not turn or not last else turn - timedelta(days=1)
            spells.append(((first, last), get_person_on(snapshot, person_id, day)))
        first = last + 1
    return spells


def get_rules_about(snapshot: Snapshot, person: Person) -> tuple[Rule, ...]:
    """Return the rules, without those of places, about whoever has a person's team and role of a day, by id.

    The same object for all of whom the same rules are: kept with the Snapshot.
    """
    kept: dict[tuple[int, int], tuple[Rule, ...]] = snapshot.keep("rules by parts", dict)
    by_role = _get_part(snapshot, person, "role", of_roles=True)
    by_team = _get_part(snapshot, person, "team", of_roles=False)
    about = kept.get((id(by_role), id(by_team)))
    if about is None:
        about = kept[id(by_role), id(by_team)] = tuple(sorted((*by_role, *by_team), key=_get_id))
    return about


def _get_part(snapshot: Snapshot, person: Person, field: str, *, of_roles: bool) -> tuple[Rule, ...]:
    """Return those of the rules that hang on the role alone, or on the team alone; the same object for the same."""
    kept: dict[tuple[str, str], tuple[Rule, ...]] = snapshot.keep("rules by team or role", dict)
    group = field, getattr(person, field)
    part = kept.get(group)
    if part is None:
        rows = [(rule, rule.obligation) for rule in get_rules(snapshot).values()]
        rows = [pair for pair in rows if (pair[1].rule == "role") is of_roles]
        rules = [rule for rule, row in rows if is_meant(snapshot, person, row.rule, row.of)]
        alike: dict[tuple[bool, tuple[str, ...]], tuple[Rule, ...]] = snapshot.keep("parts of rules", dict)
        part = kept[group] = alike.setdefault((of_roles, tuple(map(_get_id, rules))), tuple(rules))
    return part


def _get_id(rule: Rule) -> str:
    return rule.obligation.id


def get_rules(snapshot: Snapshot) -> Mapping[str, Rule]:
    """Return every obligation as a rule, by id."""
    return snapshot.keep("rules of obligations", lambda: _build_rules(snapshot))


def _build_rules(snapshot: Snapshot) -> dict[str, Rule]:
    return {
        row.id: Rule(row, make_span(row.from_date, row.to_date), _find_keys(snapshot, row))
        for row in snapshot.obligations.values()
    }


def _find_keys(snapshot: Snapshot, obligation: Obligation) -> tuple[Key, ...]:
    found: dict[Key, None] = {(obligation.competency, obligation.level): None}
    stack, seen = [obligation.competency], {obligation.competency}
    while stack:
        for other in snapshot.competencies[stack.pop()].holds_while:
            if other not in seen:
                seen.add(other)
                stack.append(other)
                found[other, 1] = None
    return tuple(found)


def _get_of_places(snapshot: Snapshot) -> Mapping[str, list[Rule]]:
    """Return the rules about whoever stands at a place, by place."""
    return snapshot.keep("obligations by place", lambda: _build_of_places(snapshot))


def _build_of_places(snapshot: Snapshot) -> dict[str, list[Rule]]:
    found: dict[str, list[Rule]] = {}
    for rule in get_rules(snapshot).values():
        if rule.obligation.rule == _OF_PLACES:
            found.setdefault(rule.obligation.of, []).append(rule)
    return found
