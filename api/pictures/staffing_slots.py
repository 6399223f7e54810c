"""The slots of a staffing answer one by one, and who else could fill those that compete.

The answer, and the cover graph of its team.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from api.pictures.names import Names
from api.pictures.text import get_link
from ontology.analysis.places.cover_graph import build_cover_graph
from ontology.analysis.places.slots import TogetherNeed
from ontology.analysis.places.staffing import StaffingResult

#: Of needs met together: competency, level, shift.
NeedKey = tuple[str, int, str | None]


class StaffedSlot(NamedTuple):
    """One slot, of a place by its id or of a need, with who fills it; `number` tells slots of one of them apart."""

    of: str | NeedKey
    number: int
    label: str
    where: str
    link: str
    person: str | None
    is_scarce: bool


def list_slots(names: Names, result: StaffingResult) -> list[StaffedSlot]:
    """Return every slot: those that compete first, the empty ones among them first of all."""
    scarce = {*result.bottleneck.places, *map(_get_key, result.bottleneck.needs)}
    counts: Counter[str | NeedKey] = Counter()
    slots = []
    for of, person in _iterate_slots(result):
        counts[of] += 1
        shift: str | None
        if isinstance(of, str):
            place = names.snapshot.places[of]
            label, link, shift = names.place(of), get_link("roles", place.role), place.shift
        else:
            label, link = f"{names.competency(of[0])} (level {of[1]})", get_link("competencies", of[0])
            shift = of[2]
        slots.append(StaffedSlot(of, counts[of], label, names.shift(shift) or "whole team", link, person, of in scarce))
    return sorted(
        slots, key=lambda s: (not s.is_scarce, s.person is not None, s.where, s.label, str(s.of), str(s.number))
    )


def _iterate_slots(result: StaffingResult) -> Iterator[tuple[str | NeedKey, str | None]]:
    yield from ((filled.place, filled.person) for filled in result.assignment)
    yield from ((place, None) for place in result.unfilled)
    yield from (((row.competency, row.level, row.shift), row.person) for row in result.together_assignment)
    for need in result.unfilled_needs:
        yield from [(_get_key(need), None)] * need.slots


def _get_key(need: TogetherNeed) -> NeedKey:
    return (need.competency, need.level, need.shift)


def find_able(names: Names, result: StaffingResult, slots: Sequence[StaffedSlot]) -> dict[StaffedSlot, list[str]]:
    """Return, for each of these slots, who else of the bottleneck's people could fill it."""
    graph = build_cover_graph(names.snapshot, result.team, result.on, frozenset(result.away))
    able = {}
    for slot in slots:
        if isinstance(slot.of, str):
            wanted: tuple[str, ...] = ("place", slot.of)
        else:
            competency, level, shift = slot.of
            wanted = ("need", competency, str(level), shift or "")
        present = {
            node[1]
            for slot_node in graph
            if slot_node[: len(wanted)] == wanted
            for node in graph.neighbors(slot_node)
            if graph.nodes[node]["is_present"]
        }
        able[slot] = sorted(present.intersection(result.bottleneck.people) - {slot.person})
    return able
