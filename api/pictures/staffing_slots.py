"""The slots of a staffing answer one by one, and who else could fill those that compete. Imports cover_words, text.

The snapshot, the answer, and the cover graph of its team.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from api.pictures.names import get_label, get_place_label, get_shift_label
from api.pictures.text import get_link, get_node_name
from ontology.analysis.places.cover_graph import build_cover_graph
from ontology.analysis.places.slots import TogetherNeed
from ontology.analysis.places.staffing import StaffingResult
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class StaffedSlot:
    """One slot with who fills it; `key` tells slots of one place or need apart."""

    key: str
    label: str
    where: str
    link: str
    place: str | None
    need: tuple[str, int, str | None] | None
    person: str | None
    is_scarce: bool


def list_slots(snapshot: Snapshot, result: StaffingResult) -> list[StaffedSlot]:
    """Return every slot: those that compete first, the empty ones among them first of all."""
    scarce_places = set(result.bottleneck.places)
    scarce_needs = {_get_need_key(need) for need in result.bottleneck.needs}
    found: list[StaffedSlot] = []
    counts: Counter[str] = Counter()

    def add(place: str | None, need: tuple[str, int, str | None] | None, shift: str | None, person: str | None) -> None:
        name = place or f"{need}"
        counts[name] += 1
        if place is not None:
            label, link = get_place_label(snapshot, place), get_link("roles", snapshot.places[place].role)
            is_scarce = place in scarce_places
        else:
            assert need is not None, "a slot is of a place or of a need"
            label = f"{get_label(snapshot.competencies, need[0])} (level {need[1]})"
            link = get_link("competencies", need[0])
            is_scarce = need in scarce_needs
        where = get_shift_label(snapshot, shift) or "whole team"
        key = get_node_name("slot", place or "/".join(map(str, need or ())), str(counts[name]))
        found.append(StaffedSlot(key, label, where, link, place, need, person, is_scarce))

    for manned in result.assignment:
        add(manned.place, None, manned.shift, manned.person)
    for place in result.unfilled:
        add(place, None, snapshot.places[place].shift, None)
    for row in result.together_assignment:
        add(None, (row.competency, row.level, row.shift), row.shift, row.person)
    for need in result.unfilled_needs:
        for _ in range(need.slots):
            add(None, _get_need_key(need), need.shift, None)
    return sorted(
        found, key=lambda slot: (not slot.is_scarce, slot.person is not None, slot.where, slot.label, slot.key)
    )


def _get_need_key(need: TogetherNeed) -> tuple[str, int, str | None]:
    return (need.competency, need.level, need.shift)


def find_able(snapshot: Snapshot, result: StaffingResult, slots: Sequence[StaffedSlot]) -> Mapping[str, Sequence[str]]:
    """Return, for each slot that competes, who else of the bottleneck's people could fill it: by the slot's key."""
    if not any(slot.is_scarce for slot in slots):
        return {}
    graph = build_cover_graph(snapshot, result.team, result.on, frozenset(result.away))
    people = set(result.bottleneck.people)
    able: dict[str, list[str]] = {}
    for slot in slots:
        if not slot.is_scarce:
            continue
        if slot.place is not None:
            wanted: tuple[str, ...] = ("place", slot.place)
        else:
            competency, level, shift = slot.need or ("", 0, None)
            wanted = ("need", competency, str(level), shift or "")
        found = {
            other[1]
            for node in graph
            if node[: len(wanted)] == wanted
            for other in graph.neighbors(node)
            if other[1] in people and graph.nodes[other]["is_present"]
        }
        able[slot.key] = sorted(found - {slot.person})
    return able
