"""Who mans what at once, and the bottleneck: the slots that compete and the too few people who can fill them.

Imports sides, drawing, staffing_slots, sheet, the snapshot and the answer. People stand at the left, slots at the
right. A thick line: fills the slot in this assignment; a thin one, in the bottleneck only: could fill it too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.cover_words import get_shift_label
from api.diagrams.drawing import Drawing
from api.diagrams.old_cards import Key, Line
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.sides import SideLine, add_side, add_side_lines
from api.diagrams.staffing_slots import StaffedSlot, find_able, list_slots
from api.diagrams.text import format_count, get_link, get_node_name
from ontology.analysis.places.staffing import StaffingResult
from ontology.graph.snapshot import Snapshot

CAUTION: Final = (
    "No roster law is checked. A level in this graph is no authorisation to work: the employer's appointment of a "
    "competent person and the local code are. A bottleneck is a fault of the organisation, no ground to refuse leave."
)
_WIDTH: Final = 1240
#: The two columns and the room for lines between them take the whole width.
_PEOPLE: Final = 340
_SPACE: Final = 320
_SLOTS: Final = _WIDTH - _PEOPLE - _SPACE

_FILLS: Final = style.Mark("fills it in this assignment", style.INK, width=2.2)
_COULD: Final = style.Mark("could fill it too", style.LINE, width=0.9)
_SHORT: Final = style.COVER_STATES["short"]
_FILLED: Final = style.COVER_STATES["covered"]


def build_staffing_picture(snapshot: Snapshot, result: StaffingResult) -> Picture:
    """Return the picture of a team's staffing, for a screen.

    Parameters
    ----------
    snapshot : Snapshot
    result : StaffingResult

    Raises
    ------
    UnknownIdError
        There is no such team.

    Notes
    -----
    O(s log s) for s slots, besides the cover graph of the team.
    """
    slots, title = list_slots(snapshot, result), _get_title(snapshot, result)
    drawing = Drawing(title)
    heading = build_fixed_heading(title, _build_subtitle(result), _build_keys(slots, has_lines=True), CAUTION, _WIDTH)
    drawing.add_card("heading", 0, 0, heading, link=get_link("teams", result.team), tooltip=title)
    people = add_side(drawing, _build_people_groups(snapshot, result, slots), 0, heading.height, _PEOPLE)
    side = add_side(drawing, _build_slot_groups(snapshot, result, slots), _PEOPLE + _SPACE, heading.height, _SLOTS)
    add_side_lines(drawing, people, side, _build_lines(snapshot, result, slots))
    return drawing.finish(_describe(snapshot, result, slots), CAUTION)


def build_staffing_sheet(snapshot: Snapshot, result: StaffingResult, page: int = 1) -> Picture:
    """Return one page of a team's staffing on paper: slots with who fills them, people in the bottleneck.

    Raises
    ------
    UnknownIdError
        There is no such team.
    PageError
        There is no such page.
    """
    slots = list_slots(snapshot, result)
    team = snapshot.require_team(result.team)
    head = Cell(
        get_node_name("team", team.id),
        (Line("team", colour=style.QUIET), Line(team.label, style.NAME_PT, bold=True, max_lines=None)),
        style.PERSON.colour,
        f"Team {team.id}: {team.label}",
        get_link("teams", team.id),
    )
    groups = [*_build_slot_groups(snapshot, result, slots), *_build_people_groups(snapshot, result, slots)]
    return build_sheet_picture(
        SheetContent(
            _get_title(snapshot, result),
            _build_subtitle(result),
            _build_keys(slots, has_lines=False),
            CAUTION,
            head,
            style.PERSON,
            groups,
            _describe(snapshot, result, slots),
        ),
        page,
    )


def _get_title(snapshot: Snapshot, result: StaffingResult) -> str:
    return f"Staffing of {snapshot.require_team(result.team).label} on {result.on.isoformat()}"


def _build_slot_groups(snapshot: Snapshot, result: StaffingResult, slots: Sequence[StaffedSlot]) -> list[Group]:
    closest: defaultdict[str, list[str]] = defaultdict(list)
    for row in result.closest:
        lacks = ", ".join(
            f"{snapshot.competencies[m.competency].label} level {m.level} (has {m.have or 'none'})" for m in row.missing
        )
        closest[row.place or ""].append(f"closest: {snapshot.people[row.person].name}, lacks {lacks}")
    only = {(row.place, row.shift) for row in result.only_one_can}
    groups = []
    for key, words, chosen, mark in (
        ("scarce", "Compete for too few people", [slot for slot in slots if slot.is_scarce], _SHORT),
        ("filled", "Filled", [slot for slot in slots if not slot.is_scarce], _FILLED),
    ):
        cells = tuple(_build_slot(snapshot, slot, closest, {place for place, _ in only}) for slot in chosen)
        if cells:
            groups.append(Group(f"slots/{key}", f"{words} ({len(cells)})", cells, mark.colour))
    return groups


def _build_slot(snapshot: Snapshot, slot: StaffedSlot, closest: dict[str, list[str]], only: set[str]) -> Cell:
    words = "empty" if slot.person is None else f"filled by {snapshot.people[slot.person].name}"
    rows = [
        Line(slot.label, style.TEXT_PT, bold=True, max_lines=None),
        Line(f"{words}; {slot.where}", max_lines=None, bold=slot.person is None),
    ]
    if slot.place in only:
        rows.append(Line("only one person can fill it", colour=style.QUIET))
    if slot.person is None and closest.get(slot.place or ""):
        rows.append(Line(closest[slot.place or ""].pop(0), colour=style.QUIET, max_lines=None))
    told = "; ".join(row.text for row in rows)
    return Cell(
        slot.key,
        tuple(rows),
        (_SHORT if slot.person is None else style.COVER_STATES["no-reserve"] if slot.is_scarce else _FILLED).colour,
        told,
        slot.link,
        border_width=2 if slot.person is None else 1,
        is_dashed=slot.person is None,
    )


def _build_people_groups(snapshot: Snapshot, result: StaffingResult, slots: Sequence[StaffedSlot]) -> list[Group]:
    """Return the people in the order of the slots they fill."""
    order = {slot.person: number for number, slot in enumerate(slots) if slot.person is not None}
    scarce = sorted(result.bottleneck.people, key=lambda i: (order.get(i, len(slots)), i))
    others = sorted(order.keys() - set(scarce), key=lambda i: order[i])
    needed = set(result.cannot_be_spared)
    groups = []
    for key, words, ids in (
        ("scarce", "All who can fill what competes", scarce),
        ("others", "Others who fill a slot", others),
    ):
        cells = tuple(_build_person(snapshot, i, is_needed=i in needed) for i in ids)
        if cells:
            groups.append(Group(f"people/{key}", f"{words} ({len(cells)})", cells, style.PERSON.colour))
    return groups


def _build_person(snapshot: Snapshot, person_id: str, *, is_needed: bool) -> Cell:
    person = snapshot.people[person_id]
    where = get_shift_label(snapshot, person.shift) or "no shift"
    rows = [Line(person.name, style.TEXT_PT, bold=True, max_lines=3), Line(where, colour=style.QUIET, max_lines=2)]
    if is_needed:
        rows.append(Line("without them one slot more is empty", max_lines=2))
    return Cell(
        get_node_name("person", person_id),
        tuple(rows),
        style.PERSON.colour,
        "; ".join([f"{person.name} ({person_id})", *(row.text for row in rows[1:])]),
        get_link("people", person_id),
    )


def _build_lines(snapshot: Snapshot, result: StaffingResult, slots: Sequence[StaffedSlot]) -> list[SideLine]:
    able = find_able(snapshot, result, slots)
    lines = []
    for slot in slots:
        pairs = [] if slot.person is None else [(slot.person, _FILLS)]
        pairs += [(person, _COULD) for person in able.get(slot.key, ())]
        lines += [
            SideLine(
                get_node_name("person", person),
                slot.key,
                mark,
                f"{snapshot.people[person].name}, {slot.label} ({slot.where}): {mark.word}",
            )
            for person, mark in pairs
        ]
    return lines


def _build_keys(slots: Sequence[StaffedSlot], *, has_lines: bool) -> list[list[Key]]:
    if not slots:
        return []
    keys = [Key(_FILLED.colour, "filled")]
    if any(slot.is_scarce for slot in slots):
        keys = [
            Key(_SHORT.colour, "empty (dashed border)"),
            Key(style.COVER_STATES["no-reserve"].colour, "filled, but competes"),
            *keys,
        ]
    lines = [Key(_FILLS.colour, "thick: fills it in this assignment", "line")]
    if any(slot.is_scarce for slot in slots):
        lines.append(Key(_COULD.colour, "thin: could fill it too", "line"))
    return [keys, lines] if has_lines else [keys]


def _build_subtitle(result: StaffingResult) -> str:
    if not result.places and not result.together_slots:
        return "This team has no places yet."
    parts = []
    if result.places:
        parts.append(f"{result.filled} of {format_count(result.places, 'place')} filled")
    if result.together_slots:
        parts.append(f"{result.together_filled} of {result.together_slots} slots of needs met together filled")
    words = ", ".join(parts) + "."
    people = len(result.bottleneck.people)
    slots = len(result.bottleneck.places) + sum(need.slots for need in result.bottleneck.needs)
    if slots:
        words += f" {format_count(slots, 'slot')} compete for {format_count(people, 'person', 'people')}."
    return words


def _describe(snapshot: Snapshot, result: StaffingResult, slots: Sequence[StaffedSlot]) -> str:
    sentences = [_build_subtitle(result)]
    sentences += [
        f"{group.words}: {'. '.join(cell.tooltip for cell in group.cells)}."
        for group in _build_slot_groups(snapshot, result, slots)
    ]
    names = [snapshot.people[i].name for i in result.bottleneck.people]
    if names:
        sentences.append(f"All who can fill what competes: {', '.join(names)}.")
    if result.cannot_be_spared:
        spared = ", ".join(snapshot.people[i].name for i in result.cannot_be_spared)
        sentences.append(f"Without any of these one slot more is empty: {spared}.")
    return " ".join(sentences)
