"""What a cross-training plan changes: needs, places and slots of groups, now and on the day after the plan."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from api.pictures import style
from api.pictures.names import Names
from api.pictures.text import get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.cover.presence import get_presence
from ontology.analysis.places.holding import build_holding
from ontology.analysis.places.slots import Slot
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import PlanEffect

#: A place, or a competency, level, shift and group.
_SlotKey = tuple[str, ...]


class Side(NamedTuple):
    """A need or place at one time: the state whose colour it has, and words."""

    state: str
    words: str


class Change(NamedTuple):
    """A need or place now and then, and who learns for it, by id."""

    name: str
    label: str
    where: str
    link: str
    now: Side
    then: Side
    people: tuple[str, ...]
    is_need: bool

    @property
    def is_telling(self) -> bool:
        """Whether someone learns for it, or it is in another state then or shorter still."""
        is_short = self.then.state == "short" and self.now != self.then
        return bool(self.people) or self.now.state != self.then.state or is_short

    @property
    def told(self) -> str:
        """The whole card in a sentence without its full stop."""
        where = f", {self.where}" if self.where else ""
        return f"{self.label}{where}: now {self.now.words}; then {self.then.words}"


def list_changes(names: Names, coverage: CoverageResult, plan: CrossTrainingResult, effect: PlanEffect) -> list[Change]:
    """Return what is in another state on the day after the plan: needs, the worst first, then slots by name."""
    order = list(style.STATES)
    pairs = sorted(
        zip(coverage.needs, effect.needs, strict=True),
        key=lambda pair: (order.index(pair[0].state), -pair[0].criticality),
    )
    needs = [_build_need(names, old, new, plan) for old, new in pairs]
    return [change for change in (*needs, *_list_slots(names, plan, effect)) if change.is_telling]


def _get_qualified(need: CoverageRow) -> set[str]:
    return {person for scope in need.shifts or (need,) for person in scope.qualified}


def _build_need(names: Names, old: CoverageRow, new: CoverageRow, plan: CrossTrainingResult) -> Change:
    come = _get_qualified(new) - _get_qualified(old)
    where = "each shift, the worst told" if old.shifts else names.shift(old.shift)
    return Change(
        get_node_name("need", old.competency, str(old.level), old.applies),
        f"{names.competency(old.competency)}, level {old.level}",
        "; ".join(filter(None, (where, f"minimum {old.minimum}, target {old.target}"))),
        get_link("competencies", old.competency),
        _build_side(old),
        _build_side(new),
        tuple(learner.person for learner in plan.learners if learner.person in come),
        is_need=True,
    )


def _build_side(need: CoverageRow) -> Side:
    return Side(need.state, f"{style.STATE_WORDS[need.state]}, {need.depth} present")


def _list_slots(names: Names, plan: CrossTrainingResult, effect: PlanEffect) -> list[Change]:
    """Return the places and slots of groups that are filled otherwise, or for which someone learns."""
    before = build_holding(get_presence(names.snapshot, plan.team, plan.on, frozenset(plan.away)))
    total = Counter(map(_get_key, before.slots))
    empty_now = Counter(_get_key(before.slots[index]) for index in before.matching.empty_slots)
    empty_then = Counter(_iterate_empty(effect))
    people = _find_learners(names, plan, empty_now)
    changes = [_build_slots(names, key, total[key], (empty_now[key], empty_then[key]), people) for key in total]
    return sorted(changes, key=lambda change: (change.label, change.where, change.name))


def _get_key(slot: Slot) -> _SlotKey:
    if slot.place is not None:
        return (slot.place,)
    assert slot.need is not None, "a slot is of a place or of a need"
    return (slot.need.competency, str(slot.need.level), slot.shift or "", slot.need.together)


def _iterate_empty(effect: PlanEffect) -> Iterable[_SlotKey]:
    yield from ((place,) for place in effect.unfilled)
    for need in effect.unfilled_needs:
        yield from [(need.competency, str(need.level), need.shift or "", need.together)] * need.slots


def _find_learners(
    names: Names, plan: CrossTrainingResult, empty: Mapping[_SlotKey, int]
) -> Mapping[_SlotKey, set[str]]:
    """Return who learns for places, as the plan says, and for empty slots of groups, by what they reach."""
    people: defaultdict[_SlotKey, set[str]] = defaultdict(set)
    for line in plan.plan:
        for mended in line.mends:
            if mended.place is not None:
                people[(mended.place,)].add(line.person)
        for key in empty:
            if len(key) == 1:
                continue
            competency, level, shift, _ = key
            is_for_it = competency == line.competency and int(level) <= line.level
            if is_for_it and shift in ("", names.snapshot.people[line.person].shift):
                people[key].add(line.person)
    return people


def _build_slots(
    names: Names, key: _SlotKey, total: int, empty: tuple[int, int], people: Mapping[_SlotKey, set[str]]
) -> Change:
    if len(key) == 1:
        place = names.snapshot.places[key[0]]
        label, shift = names.place(place.id), names.shift(place.shift)
        where, link = "" if label.endswith(shift) else shift, get_link("roles", place.role)
    else:
        label = f"{names.competency(key[0])}, level {key[1]}"
        where = "; ".join(filter(None, (names.shift(key[2]), f"slots of group {key[3]}")))
        link = get_link("competencies", key[0])
    now, then = (_build_filled(total, lack) for lack in empty)
    learners = tuple(sorted(people.get(key, ())))
    return Change(get_node_name("slots", *key), label, where, link, now, then, learners, is_need=False)


def _build_filled(total: int, lack: int) -> Side:
    state = "short" if lack else "covered"
    return Side(state, f"{style.STATE_WORDS[state]}, {total - lack} of {total} filled")
