"""How many rows of many people stand how, counted at once where people belong alike: no row of theirs is made. Pure.

Of most of what is asked of someone nothing was ever assessed: it stands as whatever else they must hold on the same
days and never had. So that is judged once for a person, and only what they were assessed in one by one.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple

from ontology.analysis.obligations.bound import Key
from ontology.analysis.obligations.due import STATES, DueState, find_due
from ontology.analysis.obligations.met import Evidence
from ontology.analysis.obligations.must_hold import AskedAlike, find_alike, find_days
from ontology.analysis.obligations.rows import AHEAD_DAYS, find_absent, judge
from ontology.analysis.obligations.spans import Spans, has_day
from ontology.analysis.profiles.levels import get_linked
from ontology.snapshot.snapshot import Snapshot

__all__ = ["StateCounter", "Tally"]

_NUMBERS: Final = {state: number for number, state in enumerate(STATES)}


class Tally:
    """People, people with something overdue, and rows by state."""

    __slots__ = ("overdue", "people", "rows")

    def __init__(self) -> None:
        self.people = self.overdue = 0
        self.rows = [0] * len(STATES)

    def add(self, rows: Sequence[int], people: int = 1) -> None:
        """Add the rows, by state, of people who have each as many."""
        self.people += people
        self.overdue += people if rows[0] else 0
        self.rows = [had + people * more for had, more in zip(self.rows, rows, strict=True)]

    def list_figures(self) -> tuple[int, ...]:
        """Return people, those with something overdue, rows by state."""
        return (self.people, self.overdue, *self.rows)


class _Sorted(NamedTuple):
    """What is asked alike: the competencies of each sort, and what each assessed competency can change."""

    competencies: Sequence[Sequence[str]]
    touched: Mapping[str, Sequence[tuple[Key, int]]]


class StateCounter:
    """Counts the rows of people by state, for each of them and by competency.

    Parameters
    ----------
    known : Snapshot
        With what was assessed up to `on` alone; see `leave_out_later`.
    """

    def __init__(self, known: Snapshot, on: dt.date) -> None:
        self._known = known
        self._on = on
        self._first = on.toordinal()
        self._by_asked: dict[int, _Sorted | None] = {}
        self._several: defaultdict[str, Tally] = defaultdict(Tally)
        #: People by competency, where each has one row of it, and by sort of what is asked of them.
        self._single: Counter[tuple[str, DueState]] = Counter()
        self._sorts: Counter[tuple[int, int, DueState]] = Counter()

    def count(self, person_id: str) -> list[int]:
        """Count the rows of a person, and return how many there are by state.

        O(sorts of what is asked + what the person was assessed in).
        """
        alike = find_alike(self._known, person_id)
        what = None if alike is None else self._get_sorted(alike[0])
        if alike is None or what is None:
            return self._count_rows(person_id)
        return self._count_alike(person_id, id(alike[0]), what, alike[1])

    def list_competencies(self) -> dict[str, Tally]:
        """Return how all that were counted stand, by competency."""
        single = self._single.copy()
        for (asked, number, state), people in self._sorts.items():
            what = self._by_asked[asked]
            assert what is not None, "only what is asked alike is counted by sorts"
            for competency_id in what.competencies[number]:
                single[competency_id, state] += people
        tallies = defaultdict(Tally, self._several)
        for (competency_id, state), people in single.items():
            if people:
                tallies[competency_id].add(_count((state,)), people)
        return tallies

    def _count_rows(self, person_id: str) -> list[int]:
        """Count row by row."""
        asked = find_days(self._known, person_id)
        rows = [(key[0], due.state) for key, due in judge(self._known, person_id, asked, self._on)]
        states = dict(rows)
        if len(states) == len(rows):
            self._single.update(rows)
        else:  # some competency at two levels: one person all the same
            for competency_id in states:
                self._several[competency_id].add(_count(state for i, state in rows if i == competency_id))
        return _count(state for _, state in rows)

    def _count_alike(self, person_id: str, asked: int, what: _Sorted, days: Sequence[Spans]) -> list[int]:
        evidence, absent = Evidence(self._known, person_id), find_absent(self._known, person_id)
        counts = [0] * len(STATES)
        never: list[DueState | None] = []  # how each sort stands of which nothing was assessed
        for number, spans in enumerate(days):
            if not has_day(spans, self._first, self._first + AHEAD_DAYS):
                never.append(None)
                continue
            state = find_due(spans, (), absent, self._first).state
            never.append(state)
            counts[_NUMBERS[state]] += len(what.competencies[number])
            self._sorts[asked, number, state] += 1
        touched = {key: number for i in evidence.competencies for key, number in what.touched.get(i, ())}
        for (competency_id, level), number in touched.items():
            before = never[number]
            met = evidence.find_met(competency_id, level) if before else ()
            if before and met:
                state = find_due(days[number], met, absent, self._first).state
                if state != before:
                    counts[_NUMBERS[before]] -= 1
                    counts[_NUMBERS[state]] += 1
                    self._single[competency_id, before] -= 1
                    self._single[competency_id, state] += 1
        return counts

    def _get_sorted(self, asked: AskedAlike) -> _Sorted | None:
        """Return what is asked alike by sorts; None where it asks for a competency at two levels."""
        if id(asked) not in self._by_asked:
            ids = {key[0] for key, _ in asked.keys}
            self._by_asked[id(asked)] = self._sort(asked) if len(ids) == len(asked.keys) else None
        return self._by_asked[id(asked)]

    def _sort(self, asked: AskedAlike) -> _Sorted:
        linked = get_linked(self._known)
        competencies: list[list[str]] = [[] for _ in asked.sorts]
        touched: defaultdict[str, list[tuple[Key, int]]] = defaultdict(list)
        for key, number in asked.keys:
            competencies[number].append(key[0])
            for competency_id in linked.get(key[0], (key[0],)):
                touched[competency_id].append((key, number))
        return _Sorted(competencies, touched)


def _count(states: Iterable[DueState]) -> list[int]:
    listed = list(states)
    return [listed.count(state) for state in STATES]
