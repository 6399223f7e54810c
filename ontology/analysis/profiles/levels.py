"""The level of a person in a competency on a date, with what it hangs on and what else counts as it. Pure.

A competency that holds only while others do is suspended, at level 0, on days on which one of these is below 1; it
comes back with them, without a course. Who holds by their own assessments what counts as another competency holds that
too: one direction, one step.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final
from weakref import ref

from ontology.analysis.profiles.own_levels import LevelOnDate, find_own_days, get_own_levels
from ontology.model.records import Competency
from ontology.model.work_records import Equivalence
from ontology.snapshot.keeper import Keeper
from ontology.snapshot.snapshot import Snapshot

#: Ranks kept with a Snapshot: of so many dates, and so many of each, so that memory stays bounded.
_DATES_KEPT: Final = 4
_RANKS_KEPT: Final = 100_000
_LAST_DAY: Final = date.max.toordinal()


def get_level(snapshot: Snapshot, person_id: str, competency: Competency, on: date) -> LevelOnDate:
    """Return what is known of a person's level in a competency on a date.

    Assessments dated after `on` do not count. O(k log k) for k assessments of the pair the first time, O(log k) for
    every date between the same two days on which something changes; as often again for each competency that it hangs
    on or that counts as it.
    """
    if competency.id in get_linked(snapshot):
        return find_ways(snapshot, person_id, competency, on).pick()
    return get_own_levels(snapshot, person_id, (competency,), on)[0]


def get_levels(snapshot: Snapshot, person_id: str, competencies: Sequence[Competency], on: date) -> list[LevelOnDate]:
    """Return what is known of a person's levels in some competencies on a date, each as `get_level` does."""
    levels = get_own_levels(snapshot, person_id, competencies, on)
    linked = get_linked(snapshot)
    if linked:
        for n, competency in enumerate(competencies):
            if competency.id in linked:
                levels[n] = find_ways(snapshot, person_id, competency, on).pick()
    return levels


@dataclass(frozen=True, slots=True)
class Ways:
    """All that a person's level in a competency can rest on: the own assessments first, then what counts as it.

    `is_suspended`: something that the competency holds while is not held, so that none of it counts.
    """

    is_suspended: bool
    found: tuple[LevelOnDate, ...]

    def pick(self, *, is_forced: bool = False) -> LevelOnDate:
        """Return the level that counts: the highest, of equals one that is not due for review, then the own one.

        `is_forced`: as if nothing that it hangs on were missing.
        """
        own = self.found[0]
        best = max(self.found, key=lambda way: (way.level or 0, way.state == "ok"))
        if best is not own:
            renewable = own.renewable_level if own.renewable_level > (best.level or 0) else 0
            best = replace(best, declared=own.declared, renewable_level=renewable, remarks=own.remarks)
        if self.is_suspended and best.level and not is_forced:
            return replace(best, level=0, state="suspended")
        return best

    def is_met(self, level: int) -> bool:
        """Whether something still valid that day gives at least the level, and nothing suspends it.

        A review that is due does not meet it, though the level stays.
        """
        return not self.is_suspended and self.gives(level)

    def gives(self, level: int) -> bool:
        """Whether something still valid that day gives at least the level, be it suspended or not."""
        return any(way.state == "ok" and (way.level or 0) >= level for way in self.found)


def find_ways(snapshot: Snapshot, person_id: str, competency: Competency, on: date) -> Ways:
    """Return all that a person's level in a competency can rest on, on a date.

    Equivalences in force that day count where the person holds the other competency by its own assessments and it is
    not suspended. Those that give the same are in the order of how long they last, longest first, then by id.
    """
    (own,) = get_own_levels(snapshot, person_id, (competency,), on)
    if competency.id not in get_linked(snapshot):
        return Ways(False, (own,))
    standing = _find_standing(snapshot, person_id, competency.id, on)
    others = []
    for row in _get_equivalences(snapshot, competency.id, on):
        if row.competency in standing:
            (known,) = get_own_levels(snapshot, person_id, (snapshot.competencies[row.competency],), on)
            if (known.level or 0) >= row.level:
                others.append(
                    LevelOnDate(
                        competency.id,
                        row.as_level,
                        known.state,
                        known.basis,
                        by_equivalence=row.competency,
                        carried_from=known.carried_from,
                    )
                )
    others.sort(key=lambda way: (-_get_last_day(way).toordinal(), way.by_equivalence))
    return Ways(competency.id not in standing, (own, *others))


def _get_last_day(way: LevelOnDate) -> date:
    return (way.basis.valid_until if way.basis else None) or date.max


def is_in_force(row: Equivalence, on: date | None) -> bool:
    """Whether an equivalence counts on a day, first and last included; without a day, whether it always does."""
    if on is None:
        return row.from_date is None and row.to_date is None
    return (row.from_date is None or row.from_date <= on) and (row.to_date is None or on <= row.to_date)


def _get_equivalences(snapshot: Snapshot, competency_id: str, on: date) -> list[Equivalence]:
    return [row for row in snapshot.get_equivalences_to(competency_id) if is_in_force(row, on)]


def get_linked(snapshot: Snapshot) -> Mapping[str, tuple[str, ...]]:
    """Return competency id -> the competencies its level rests on, itself among them, what it hangs on first.

    Only of competencies that hold while others do, or that others count as; built once for a Snapshot.
    """
    return snapshot.keep("linked competencies", lambda: _build_linked(snapshot))


def add_what_they_rest_on(snapshot: Snapshot, competency_ids: Iterable[str]) -> set[str]:
    """Return the competencies and all that their levels rest on."""
    linked = get_linked(snapshot)
    return {other for i in competency_ids for other in linked.get(i, (i,))}


def _build_linked(snapshot: Snapshot) -> dict[str, tuple[str, ...]]:
    linked: dict[str, tuple[str, ...]] = {}
    for competency in snapshot.competencies.values():
        if competency.holds_while or snapshot.get_equivalences_to(competency.id):
            found: dict[str, None] = {}
            _visit(snapshot, competency.id, found, set())
            linked[competency.id] = tuple(found)
    return linked


def _visit(snapshot: Snapshot, competency_id: str, found: dict[str, None], seen: set[str]) -> None:
    """Add what a level rests on to `found`, depth first, so that what it hangs on comes before it."""
    seen.add(competency_id)
    hangs_on = snapshot.competencies[competency_id].holds_while
    for other in (*hangs_on, *(row.competency for row in snapshot.get_equivalences_to(competency_id))):
        if other not in seen and other in snapshot.competencies:
            _visit(snapshot, other, found, seen)
    found[competency_id] = None


def _find_standing(snapshot: Snapshot, person_id: str, competency_id: str, on: date) -> set[str]:
    """Return those of the competencies that a level rests on which nothing suspends.

    The least set that holds: what hangs on itself in a circle of equivalences does not hold itself up.
    """
    ids = get_linked(snapshot)[competency_id]
    competencies = [snapshot.competencies[i] for i in ids]
    own = dict(zip(ids, get_own_levels(snapshot, person_id, competencies, on), strict=True))
    standing: set[str] = set()

    def is_held(other: str) -> bool:
        if other not in standing:
            return False
        return bool(own[other].level) or any(
            row.competency in standing and (own[row.competency].level or 0) >= row.level
            for row in _get_equivalences(snapshot, other, on)
        )

    while True:
        more = [c.id for c in competencies if c.id not in standing and all(map(is_held, c.holds_while))]
        if not more:
            return standing
        standing.update(more)


def find_days_of_change(
    snapshot: Snapshot, person_id: str, competency: Competency, after: date = date.min
) -> list[date]:
    """Return, sorted, every day after a day on which a level can be otherwise than the day before.

    O(assessments of it and of all it rests on).
    """
    linked = get_linked(snapshot).get(competency.id)
    if linked is None:
        days = find_own_days(snapshot, person_id, competency)
    else:
        found: set[int] = set()
        for other in linked:
            found.update(find_own_days(snapshot, person_id, snapshot.competencies.get(other, competency)))
            for row in snapshot.get_equivalences_to(other):
                found.update(_list_turns(row))
        days = sorted(found)
    return [date.fromordinal(day) for day in days[bisect_right(days, after.toordinal()) :] if day <= _LAST_DAY]


def _list_turns(row: Equivalence) -> list[int]:
    first = [] if row.from_date is None else [row.from_date.toordinal()]
    return first if row.to_date is None else [*first, row.to_date.toordinal() + 1]


class Ranks(dict[tuple[str, str], int], Keeper):
    """(person, competency) -> the level that counts on a date, 0 where there is none; looked up when it is asked for.

    Raises UnknownIdError for a competency that does not exist. Keeps what follows from the Snapshot and the date alone.
    """

    def __init__(self, snapshot: Snapshot, on: date) -> None:
        Keeper.__init__(self)
        self._snapshot = ref(snapshot)  # the Snapshot keeps the ranks, not the other way round
        self._on = on
        self._find = get_levels if get_linked(snapshot) else get_own_levels

    def __missing__(self, key: tuple[str, str]) -> int:
        snapshot = self._snapshot()
        assert snapshot is not None, "ranks are used while their Snapshot is"
        person_id, competency_id = key
        competency = snapshot.require_competency(competency_id)
        rank = self._find(snapshot, person_id, (competency,), self._on)[0].level or 0
        if len(self) < _RANKS_KEPT:
            self[key] = rank
        return rank


def get_ranks(snapshot: Snapshot, on: date) -> Ranks:
    """Return the levels of everyone on a date; those of the last dates asked about are kept with the Snapshot."""
    by_date: dict[date, Ranks] = snapshot.keep("ranks by date", dict)
    ranks = by_date.get(on)
    if ranks is None:
        if len(by_date) >= _DATES_KEPT:
            by_date.clear()
        ranks = by_date.setdefault(on, Ranks(snapshot, on))
    return ranks


def build_levels(snapshot: Snapshot, person_id: str, on: date) -> dict[str, LevelOnDate]:
    """Return competency id -> level on the date, for every competency the person has an assessment of, by id.

    So also for what these count as.
    """
    ids = find_known(snapshot, person_id)
    known = get_levels(snapshot, person_id, [snapshot.competencies[i] for i in ids], on)
    return dict(zip(ids, known, strict=True))


def find_known(snapshot: Snapshot, person_id: str) -> list[str]:
    """Return the competencies that a person has an assessment of, or of what counts as them, sorted."""
    ids = {a.competency for a in snapshot.get_assessments(person_id)}
    if get_linked(snapshot):
        ids |= {row.counts_as for i in ids for row in snapshot.get_equivalences_of(i)}
    return sorted(ids)
