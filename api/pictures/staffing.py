"""Who fills what at once: the slots that compete for too few people, who is missing, and every other slot as a list.

A thick line: fills it in this assignment; a dashed one: could fill it too.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.desk.plain_cells import say_day
from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, line, listing, row, small, state, words
from api.pictures.frame import NO_PERMISSION, Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, take_page
from api.pictures.staffing_slots import StaffedSlot, find_able, list_slots
from api.pictures.text import format_count, get_link, get_node_name
from ontology.analysis.places.closest import ClosestPerson
from ontology.analysis.places.staffing import StaffingResult
from ontology.snapshot.snapshot import Snapshot

_CAUTION: Final = "A bottleneck is a fault of the organisation, no ground to refuse leave. No roster law is checked."
_EMPTY: Final = "unfilled"
_CONTESTED: Final = "filled, contested"
_FILLED: Final = "filled"
_COLOURS: Final = {
    _EMPTY: style.STATES["short"],
    _CONTESTED: style.STATES["no-reserve"],
    _FILLED: style.STATES["covered"],
}
_LABEL_COLUMNS: Final = 36
#: From so many lines on they need room to part.
_MANY_LINES: Final = 10


def build_staffing_picture(
    snapshot: Snapshot, result: StaffingResult, *, layout: Layout = "screen", page: int = 1
) -> Picture:
    """Return the picture of a team's staffing. O(s log s) for s slots, besides the cover graph of the team."""
    team, names = snapshot.require_team(result.team), Names(snapshot)
    slots = list_slots(names, result)
    part = take_page(slots, layout, page, count=lambda slot: 3 if slot.is_scarce else 1)
    scarce = [slot for slot in part.rows if slot.is_scarce]
    title = f"Staffing of {names.get('teams', team.id)} on {say_day(result.on)}"
    is_crowded = len(scarce) * len(result.bottleneck.people) > _MANY_LINES
    frame = Frame(title, _build_answer(result), rank_gap=1.1 if is_crowded else 0.7, sheet=part.sheet)
    if scarce:
        entries = [_build_slot(names, slot, f"s{position}") for position, slot in enumerate(scarce)]
        frame.add_node("slots", column(entries), tooltip="Slots that compete for too few people")
        _add_people(frame, names, result, scarce)
        _add_closest(frame, names, result, scarce)
    elif slots and not any(slot.is_scarce for slot in slots):
        frame.add_calm("Every slot is filled, and none is contested.")
    states = {_get_state(slot) for slot in part.rows}
    people = [(style.PERSON, "person")] if scarce else []
    return frame.finish(
        _describe(names, result, slots),
        lists=[_build_list(names, [slot for slot in part.rows if not slot.is_scarce])],
        legend_keys=people + [(colour, word) for word, colour in _COLOURS.items() if word in states],
        notes=[
            "Thick line: fills it in this assignment. Dashed line: could fill it too." if scarce else "",
            _CAUTION,
            NO_PERMISSION,
        ],
    )


def _get_state(slot: StaffedSlot) -> str:
    return _EMPTY if slot.person is None else _CONTESTED if slot.is_scarce else _FILLED


def _format_filled(names: Names, slot: StaffedSlot) -> str:
    told = _EMPTY if slot.person is None else f"filled by {names.person(slot.person)}"
    told += ", contested" if slot.is_scarce and slot.person is not None else ""
    # places without a label of their own are named by role and shift
    return told if slot.label.endswith(slot.where) else f"{told}; {slot.where}"


def _build_slot(names: Names, slot: StaffedSlot, port: str) -> Entry:
    told, border = _format_filled(names, slot), 2 if slot.person is None else 1
    rows = line(words(told, columns=46))
    markup = card(_COLOURS[_get_state(slot)], slot.label, rows, border=border, columns=_LABEL_COLUMNS)
    return Entry(port, markup, f"{slot.label}: {told}", slot.link)


def _add_people(frame: Frame, names: Names, result: StaffingResult, scarce: Sequence[StaffedSlot]) -> None:
    able = find_able(names, result, scarce)
    fills = {slot.person for slot in scarce}
    for person in sorted(result.bottleneck.people, key=lambda i: (i not in fills, i)):
        label, where = names.person(person), names.shift_on(person, result.on)
        rows = [line(small(where))]
        if person in result.cannot_be_spared:
            rows.append(line(small("without them one slot more is unfilled", columns=24, colour=style.INK)))
        markup, link = card(style.PERSON, label, *rows), get_link("people", person)
        frame.add_node(get_node_name("person", person), markup, tooltip=f"{label}, {where}", link=link)
    for position, slot in enumerate(scarce):
        for person in filter(None, (slot.person, *able[slot])):
            is_filling = person == slot.person
            told = "fills it in this assignment" if is_filling else "could fill it too"
            frame.add_line(
                get_node_name("person", person),
                f"slots:s{position}",
                tooltip=f"{names.person(person)}, {slot.label}: {told}",
                is_thick=is_filling,
                is_dashed=not is_filling,
            )


def _add_closest(frame: Frame, names: Names, result: StaffingResult, scarce: Sequence[StaffedSlot]) -> None:
    """Add, for each kind of empty slot, who lacks the least for it; several empty slots of a kind may have one each."""
    for number, closest in enumerate(result.closest):
        position = next((n for n, slot in enumerate(scarce) if slot.person is None and _is_for(closest, slot)), None)
        if position is None:
            continue
        who, label, node = names.person(closest.person), scarce[position].label, f"closest/{number}"
        frame.add_node(
            node,
            _build_closest(names, closest, f"Closest to filling it (voluntary): {who}"),
            tooltip=f"Closest to filling {label} (voluntary): {who}",
            link=get_link("people", closest.person),
        )
        frame.add_edge(f"slots:s{position}", node, tooltip=f"{who} could learn to fill {label}", has_arrow=False)


def _is_for(closest: ClosestPerson, slot: StaffedSlot) -> bool:
    if closest.place is not None or isinstance(slot.of, str):
        return closest.place == slot.of
    missing = {(level.competency, level.level, closest.shift) for level in closest.missing}
    return slot.of in missing


def _build_closest(names: Names, closest: ClosestPerson, title: str) -> str:
    head = row(cell(small("still missing")), *(cell(small(word), align="CENTER") for word in ("has", "needs")))
    rows = [
        row(
            cell(words(names.competency(level.competency), columns=30)),
            cell(words("not assessed" if level.have is None else str(level.have)), align="CENTER"),
            cell(words(str(level.level)), align="CENTER"),
        )
        for level in closest.missing
    ]
    return card(style.PERSON, title, head, *rows, span=3, columns=40)


def _build_list(names: Names, slots: Sequence[StaffedSlot]) -> str:
    rows = []
    for slot in slots:
        name, link = "nobody", ""
        if slot.person is not None:
            name, link = names.person(slot.person), get_link("people", slot.person)
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


def _build_answer(result: StaffingResult) -> str:
    if not result.places and not result.together_slots:
        return "This team has no places yet."
    parts = [f"{result.filled} of {format_count(result.places, 'place')} filled"] if result.places else []
    if result.together_slots:
        parts.append(f"{result.together_filled} of {result.together_slots} slots of needs met together filled")
    told = ", ".join(parts) + "."
    if slots := len(result.bottleneck.places) + sum(need.slots for need in result.bottleneck.needs):
        people = format_count(len(result.bottleneck.people), "person", "people")
        told += f" {format_count(slots, 'slot')} {'competes' if slots == 1 else 'compete'} for {people}."
    return told


def _describe(names: Names, result: StaffingResult, slots: Sequence[StaffedSlot]) -> str:
    sentences = [_build_answer(result)]
    sentences += [f"{slot.label}: {_format_filled(names, slot)}." for slot in slots]
    for closest in result.closest:
        lacks = ", ".join(
            f"{names.competency(level.competency)} level {level.level} "
            f"({'not assessed' if level.have is None else f'has {level.have}'})"
            for level in closest.missing
        )
        sentences.append(f"Closest to an unfilled slot (voluntary): {names.person(closest.person)}, lacks {lacks}.")
    told = {
        "Candidates for contested slots": result.bottleneck.people,
        "Without any of these one slot more is unfilled": result.cannot_be_spared,
    }
    sentences += [f"{words}: {names.join('people', people)}." for words, people in told.items() if people]
    return " ".join(sentences)
