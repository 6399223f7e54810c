"""Who fills what at once: the slots that compete for too few people, who is missing, and every other slot as a list.

Imports cards, cover_words, frame, paging, staffing_slots, style, text, the snapshot and the answer. A thick line:
fills it in this assignment; a dashed one: could fill it too.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, listing, row, small, state, words
from api.pictures.frame import Frame, Picture
from api.pictures.names import get_label, get_shift_label
from api.pictures.paging import Layout, take_page
from api.pictures.staffing_slots import StaffedSlot, find_able, list_slots
from api.pictures.text import format_count, get_link, get_node_name
from ontology.analysis.places.closest import ClosestPerson
from ontology.analysis.places.staffing import StaffingResult
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_staffing_picture"]

CAUTIONS: Final = (
    "A bottleneck is a fault of the organisation, no ground to refuse leave. No roster law is checked.",
    "A level in this graph is not permission to work; only the employer's appointment and the local code give that.",
)
EMPTY: Final = "unfilled"
CONTESTED: Final = "filled, contested"
FILLED: Final = "filled"
_COLOURS: Final = {
    EMPTY: style.STATES["short"],
    CONTESTED: style.STATES["no-reserve"],
    FILLED: style.STATES["covered"],
}
_LABEL_COLUMNS: Final = 36
#: From so many lines on they need room to part.
_MANY_LINES: Final = 10


def build_staffing_picture(
    snapshot: Snapshot, result: StaffingResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of a team's staffing.

    Parameters
    ----------
    snapshot : Snapshot
    result : StaffingResult
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    UnknownIdError
        There is no such team.
    PageError
        There is no such page.

    Notes
    -----
    O(s log s) for s slots, besides the cover graph of the team.
    """
    slots = list_slots(snapshot, result)
    part = take_page(slots, layout, page, count=lambda slot: 3 if slot.is_scarce else 1)
    scarce = [slot for slot in part.rows if slot.is_scarce]
    title = f"Staffing of {get_label(snapshot.teams, snapshot.require_team(result.team).id)} on {result.on.isoformat()}"
    is_crowded = len(scarce) * len(result.bottleneck.people) > _MANY_LINES
    frame = Frame(title, _build_answer(result), rank_gap=1.1 if is_crowded else 0.7, sheet=part.sheet)
    if scarce:
        entries = [_build_slot(snapshot, slot, f"s{position}") for position, slot in enumerate(scarce)]
        frame.add_node("slots", column(entries), tooltip="Slots that compete for too few people")
        _add_people(frame, snapshot, result, scarce)
        _add_closest(frame, snapshot, result, scarce)
    elif slots and not any(slot.is_scarce for slot in slots):
        told = "Every slot is filled, and none is contested."
        frame.add_node("calm", card(_COLOURS[FILLED], told, columns=60), tooltip=told)
    rest = [slot for slot in part.rows if not slot.is_scarce]
    return frame.finish(
        _describe(snapshot, result, slots),
        lists=[_build_list(snapshot, rest)] if rest else [],
        legend_keys=_build_legend(part.rows),
        notes=["Thick line: fills it in this assignment. Dashed line: could fill it too." if scarce else "", *CAUTIONS],
    )


def _get_state(slot: StaffedSlot) -> str:
    return EMPTY if slot.person is None else CONTESTED if slot.is_scarce else FILLED


def _format_filled(snapshot: Snapshot, slot: StaffedSlot) -> str:
    told = EMPTY if slot.person is None else f"filled by {get_label(snapshot.people, slot.person)}"
    told += ", contested" if slot.is_scarce and slot.person is not None else ""
    # places without a label of their own are named by role and shift
    return told if slot.label.endswith(slot.where) else f"{told}; {slot.where}"


def _build_slot(snapshot: Snapshot, slot: StaffedSlot, port: str) -> Entry:
    told = _format_filled(snapshot, slot)
    markup = card(
        _COLOURS[_get_state(slot)],
        slot.label,
        row(cell(words(told, columns=46))),
        border=2 if slot.person is None else 1,
        columns=_LABEL_COLUMNS,
    )
    return Entry(port, markup, f"{slot.label}: {told}", slot.link)


def _add_people(frame: Frame, snapshot: Snapshot, result: StaffingResult, scarce: Sequence[StaffedSlot]) -> None:
    able = find_able(snapshot, result, scarce)
    fills = {slot.person for slot in scarce}
    for person_id in sorted(result.bottleneck.people, key=lambda i: (i not in fills, i)):
        person = snapshot.people[person_id]
        where = get_shift_label(snapshot, person.shift) or "no shift"
        rows = [row(cell(small(where)))]
        if person_id in result.cannot_be_spared:
            rows.append(row(cell(small("without them one slot more is unfilled", columns=24, colour=style.INK))))
        frame.add_node(
            get_node_name("person", person_id),
            card(style.PERSON, get_label(snapshot.people, person.id), *rows),
            tooltip=f"{get_label(snapshot.people, person.id)}, {where}",
            link=get_link("people", person_id),
        )
    for position, slot in enumerate(scarce):
        for person_id in filter(None, (slot.person, *able.get(slot.key, ()))):
            is_filling = person_id == slot.person
            frame.add_edge(
                get_node_name("person", person_id),
                f"slots:s{position}",
                tooltip=f"{get_label(snapshot.people, person_id)}, {slot.label}: "
                + ("fills it in this assignment" if is_filling else "could fill it too"),
                colour=style.INK if is_filling else style.LINE,
                width=3 if is_filling else 1.2,
                is_dashed=not is_filling,
                has_arrow=False,
            )


def _add_closest(frame: Frame, snapshot: Snapshot, result: StaffingResult, scarce: Sequence[StaffedSlot]) -> None:
    """Add, for each kind of empty slot, who lacks the least for it; several empty slots of a kind may have one each."""
    for number, closest in enumerate(result.closest):
        position = next((n for n, slot in enumerate(scarce) if slot.person is None and _is_for(closest, slot)), None)
        if position is None:
            continue
        who, slot = get_label(snapshot.people, closest.person), scarce[position]
        name = f"closest/{number}"
        frame.add_node(
            name,
            _build_closest(snapshot, closest, f"Closest to filling it (voluntary): {who}"),
            tooltip=f"Closest to filling {slot.label} (voluntary): {who}",
            link=get_link("people", closest.person),
        )
        told = f"{who} could learn to fill {slot.label}"
        frame.add_edge(f"slots:s{position}", name, tooltip=told, has_arrow=False)


def _is_for(closest: ClosestPerson, slot: StaffedSlot) -> bool:
    if closest.place is not None:
        return closest.place == slot.place
    missing = {(level.competency, level.level) for level in closest.missing}
    return slot.need is not None and slot.need[2] == closest.shift and slot.need[:2] in missing


def _build_closest(snapshot: Snapshot, closest: ClosestPerson, title: str) -> str:
    head = row(cell(small("still missing")), *(cell(small(word), align="CENTER") for word in ("has", "needs")))
    rows = [
        row(
            cell(words(get_label(snapshot.competencies, level.competency), columns=30)),
            cell(words("not assessed" if level.have is None else str(level.have)), align="CENTER"),
            cell(words(str(level.level)), align="CENTER"),
        )
        for level in closest.missing
    ]
    return card(style.PERSON, title, head, *rows, span=3, columns=40)


def _build_list(snapshot: Snapshot, slots: Sequence[StaffedSlot]) -> str:
    rows = []
    for slot in slots:
        name = get_label(snapshot.people, slot.person) if slot.person is not None else "nobody"
        link = get_link("people", slot.person) if slot.person is not None else ""
        status = _get_state(slot)
        rows.append(
            (
                state(status, _COLOURS[status]),
                cell(words(slot.label, columns=_LABEL_COLUMNS), link=slot.link, tooltip=f"{slot.label}: {name}"),
                words(slot.where, columns=26),
                cell(words(name, columns=26), link=link, tooltip=name),
            )
        )
    return listing(("state", "place", "where", "by"), rows)


def _build_legend(slots: Sequence[StaffedSlot]) -> list[tuple[str, str]]:
    there = {_get_state(slot) for slot in slots}
    people = [(style.PERSON, "person")] if any(slot.is_scarce for slot in slots) else []
    return people + [(colour, word) for word, colour in _COLOURS.items() if word in there]


def _build_answer(result: StaffingResult) -> str:
    if not result.places and not result.together_slots:
        return "This team has no places yet."
    parts = []
    if result.places:
        parts.append(f"{result.filled} of {format_count(result.places, 'place')} filled")
    if result.together_slots:
        parts.append(f"{result.together_filled} of {result.together_slots} slots of needs met together filled")
    told = ", ".join(parts) + "."
    slots = len(result.bottleneck.places) + sum(need.slots for need in result.bottleneck.needs)
    if slots:
        people = len(result.bottleneck.people)
        verb = "competes" if slots == 1 else "compete"
        told += f" {format_count(slots, 'slot')} {verb} for {format_count(people, 'person', 'people')}."
    return told


def _describe(snapshot: Snapshot, result: StaffingResult, slots: Sequence[StaffedSlot]) -> str:
    sentences = [_build_answer(result)]
    sentences += [f"{slot.label}: {_format_filled(snapshot, slot)}." for slot in slots]
    for closest in result.closest:
        lacks = ", ".join(
            f"{get_label(snapshot.competencies, level.competency)} level {level.level} "
            f"({'not assessed' if level.have is None else f'has {level.have}'})"
            for level in closest.missing
        )
        sentences.append(
            f"Closest to an unfilled slot (voluntary): {get_label(snapshot.people, closest.person)}, lacks {lacks}."
        )
    names = [get_label(snapshot.people, i) for i in result.bottleneck.people]
    if names:
        sentences.append(f"Candidates for contested slots: {', '.join(names)}.")
    if result.cannot_be_spared:
        spared = ", ".join(get_label(snapshot.people, i) for i in result.cannot_be_spared)
        sentences.append(f"Without any of these one slot more is unfilled: {spared}.")
    return " ".join(sentences)
