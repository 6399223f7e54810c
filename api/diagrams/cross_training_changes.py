"""What a cross-training plan changes: each need and place for which someone learns, now and after the plan.

Imports cover_words, text, the snapshot and the answers.
"""

from __future__ import annotations

from collections import defaultdict
from typing import NamedTuple

from api.diagrams.cover_words import STATES, get_shift_label
from api.diagrams.text import format_count, get_link, get_node_name
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import compute_cover_after
from ontology.graph.names import get_name, get_place_name
from ontology.graph.snapshot import Snapshot

__all__ = ["Change", "Side", "list_changes"]


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
    def told(self) -> str:
        """The whole card in a sentence without its full stop."""
        where = f", {self.where}" if self.where else ""
        return f"{self.label}{where}: now {self.now.words}; then {self.then.words}"


def list_changes(snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult) -> list[Change]:
    """Return what the plan changes: needs, the worst before first, then places by name."""
    after = compute_cover_after(snapshot, plan)
    order = list(STATES)
    pairs = [
        (old, new)
        for old, new in zip(coverage.needs, after.needs, strict=True)
        if _get_qualified(new) != _get_qualified(old) or (new.state, new.depth) != (old.state, old.depth)
    ]
    pairs.sort(key=lambda pair: (order.index(pair[0].state), -pair[0].criticality))
    return [_build_need(snapshot, old, new, plan) for old, new in pairs] + _list_places(snapshot, plan)


def _get_qualified(need: CoverageRow) -> set[str]:
    return {person for scope in need.shifts or (need,) for person in scope.qualified}


def _build_need(snapshot: Snapshot, old: CoverageRow, new: CoverageRow, plan: CrossTrainingResult) -> Change:
    come = _get_qualified(new) - _get_qualified(old)
    name = get_node_name("need", old.competency, str(old.level), old.applies)
    where = "each shift, the worst told" if old.shifts else get_shift_label(snapshot, old.shift)
    return Change(
        name,
        f"{get_name(snapshot.competencies, old.competency)}, level {old.level}",
        "; ".join(filter(None, (where, f"minimum {old.minimum}, target {old.target}"))),
        get_link("competencies", old.competency),
        _build_side(old),
        _build_side(new),
        tuple(learner.person for learner in plan.learners if learner.person in come),
        is_need=True,
    )


def _build_side(need: CoverageRow) -> Side:
    return Side(need.state, f"{STATES[need.state]}, {need.depth} present")


def _list_places(snapshot: Snapshot, plan: CrossTrainingResult) -> list[Change]:
    """Return the places for which someone learns: they had too few people before."""
    people: defaultdict[str, set[str]] = defaultdict(set)
    for line in plan.plan:
        for mended in line.mends:
            if mended.place is not None:
                people[mended.place].add(line.person)
    lacking = {place: row.missing for row in plan.unmet_places for place in row.places}
    lacking |= {row.place: row.missing for row in plan.unmet if row.place is not None}
    changes = []
    for place in sorted(people, key=lambda i: (get_place_name(snapshot, i), i)):
        still = lacking.get(place, 0)
        then = (
            Side("short", f"{format_count(still, 'person', 'people')} too few")
            if still
            else Side("covered", "can be filled")
        )
        label, shift = get_place_name(snapshot, place), get_shift_label(snapshot, snapshot.places[place].shift)
        changes.append(
            Change(
                get_node_name("place", place),
                label,
                "" if label.endswith(shift) else shift,
                get_link("roles", snapshot.places[place].role),
                Side("short", "too few can fill it"),
                then,
                tuple(sorted(people[place])),
                is_need=False,
            )
        )
    return changes
