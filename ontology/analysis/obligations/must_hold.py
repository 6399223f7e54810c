"""On which days a person must hold what: runs of several obligations together, with days of grace. Pure.

From the `days_after`-th day of a run on (0: the first) the person must hold what the obligation asks. Days of grace are
for newcomers: on a day after one on which the same competency had to be held at that level, by whatever obligation,
there is none, so that the grace of a second obligation opens no hole behind the first. Nor has a run whose beginning is
not known any.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from ontology.analysis.obligations.bound import Key, Rule, find_runs, get_rules_about
from ontology.analysis.obligations.spans import BEFORE, Span, Spans, has_day, make_span, merge
from ontology.model.records import Person
from ontology.model.work_records import Obligation
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AskedAlike", "MustHold", "find_alike", "find_days", "find_must_hold"]


class _Asking(NamedTuple):
    """What one obligation asks: days past any grace, and days of grace."""

    rule: Rule
    asked: Spans
    grace: Spans


class MustHold(NamedTuple):
    """The days on which a person must hold a competency at a level, and who asks for it."""

    days: Spans
    asking: Sequence[_Asking]

    def get_obligations(self, first: int, last: int) -> tuple[Obligation, ...]:
        """Return the obligations that ask for it on some day from the first to the last, by id."""
        return tuple([one.rule.obligation for one in self.asking if self._asks(one, first, last)])

    def _asks(self, one: _Asking, first: int, last: int) -> bool:
        if has_day(one.asked, first, last):
            return True
        # in its grace an obligation asks where it had to be held the day before
        days = ((max(a, first), min(b, last)) for a, b in one.grace)
        return any(a <= b and has_day(self.days, a - 1, b - 1) for a, b in days)


def find_must_hold(snapshot: Snapshot, person_id: str) -> dict[Key, MustHold]:
    """Return what a person must hold on some day, by competency and level.

    O(spells of belonging x obligations + runs log runs).
    """
    found: dict[Key, list[_Asking]] = {}
    for rule, runs in find_runs(snapshot, person_id):
        asking = _find_asking(rule, runs)
        for key in rule.keys:
            others = found.get(key)
            if others is None:
                found[key] = [asking]
            else:
                others.append(asking)
    return {key: MustHold(_join(rows), rows) for key, rows in found.items()}


class AskedAlike(NamedTuple):
    """What is asked of all who belong alike: the sorts of days on which it is, and of which sort each thing is.

    `sorts`: rules that bind on the same days with the same grace; `keys`: what is asked, with the number of its sort.
    """

    sorts: Sequence[Sequence[Rule]]
    keys: Sequence[tuple[Key, int]]


def find_days(snapshot: Snapshot, person_id: str) -> list[tuple[Key, Spans]]:
    """Return the days on which a person must hold each competency and level, without who asks for it.

    As `find_must_hold` says, several times as fast for most people; a test holds the two to the same answer.
    """
    alike = find_alike(snapshot, person_id)
    if alike is None:
        return [(key, must.days) for key, must in find_must_hold(snapshot, person_id).items() if must.days]
    asked, days = alike
    return [(key, days[number]) for key, number in asked.keys if days[number]]


def find_alike(snapshot: Snapshot, person_id: str) -> tuple[AskedAlike, list[Spans]] | None:
    """Return what is asked of a person who belongs alike on all days, and the days of each sort of it.

    None for who has memberships or duties. What is asked is the same object for all of whom the same is asked; it is
    kept with the Snapshot.
    """
    person = snapshot.people[person_id]
    if snapshot.get_memberships(person_id) or snapshot.get_duties(person_id):
        return None
    employed = make_span(person.start_date, person.end_date)
    asked = _get_asked(snapshot, person)
    return asked, [_find_days_employed(rules, employed) for rules in asked.sorts]


def _find_days_employed(rules: Sequence[Rule], employed: Span) -> Spans:
    """Return the days on which what some rules ask must be held by someone whom they bind while employed."""
    asking: list[_Asking] = []
    for rule in rules:
        span = max(employed[0], rule.in_force[0]), min(employed[1], rule.in_force[1])
        if span[0] <= span[1]:
            asking.append(_find_asking(rule, (span,)))
    return _join(asking)


def _get_asked(snapshot: Snapshot, person: Person) -> AskedAlike:
    """Return what is asked of whoever has a person's own team and role."""
    kept: dict[int, AskedAlike] = snapshot.keep("asked by rules", dict)
    about = get_rules_about(snapshot, person)  # kept with the Snapshot too: no other has its id
    asked = kept.get(id(about))
    if asked is None:
        by_key: dict[Key, list[Rule]] = {}
        for rule in about:
            for key in rule.keys:
                by_key.setdefault(key, []).append(rule)
        numbers: dict[object, int] = {}
        sorts: list[list[Rule]] = []
        keys = []
        for key, rules in by_key.items():
            sort = tuple([(rule.in_force, rule.obligation.days_after) for rule in rules])
            if numbers.setdefault(sort, len(sorts)) == len(sorts):
                sorts.append(rules)
            keys.append((key, numbers[sort]))
        asked = kept[id(about)] = AskedAlike(sorts, keys)
    return asked


def _find_asking(rule: Rule, runs: Spans) -> _Asking:
    days = rule.obligation.days_after
    if not days:
        return _Asking(rule, runs, ())
    begun = [(first, last, min(first + days - 1, last)) for first, last in runs]
    asked = [(first if first == BEFORE else end + 1, last) for first, last, end in begun]
    grace = [(first, end) for first, _, end in begun]
    return _Asking(rule, tuple([span for span in asked if span[0] <= span[1]]), tuple(grace))


def _join(asking: Sequence[_Asking]) -> Spans:
    """Return the days asked by all together; grace ends where it follows on a day that was asked."""
    if len(asking) == 1:
        return asking[0].asked  # between two runs of one obligation lies a day on which it does not bind
    days = merge(span for one in asking for span in one.asked)
    graces = [span for one in asking for span in one.grace]
    while True:
        more = [cut for grace in graces if (cut := _cut(grace, days))]
        longer = merge([*days, *more])
        if longer == days:
            return days
        days = longer


def _cut(grace: Span, days: Spans) -> Span | None:
    """Return those days of a grace that follow on a day that had to be held, or on one of themselves that does."""
    first = min((max(a, grace[0] - 1) for a, b in days if a < grace[1] and b >= grace[0] - 1), default=None)
    return None if first is None else (first + 1, grace[1])
