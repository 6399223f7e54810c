"""What is shown of each need of a team and of each slot of its places."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final, NamedTuple

from api.desk.names import Names, join_names
from api.desk.sheet import Ref, State
from api.questions._words import show_state
from ontology.analysis.cover.coverage import STATES, CoverageResult, CoverageRow, ShiftCover
from ontology.analysis.places.filling import FilledPlaces
from ontology.snapshot.snapshot import Snapshot

__all__ = ["NeedView", "PlaceView", "build_need", "iterate_places", "order_needs"]

_EMPTY: Final = State("empty", "empty", "nobody present fills it")
#: People named in a row; how many more there are is said.
_NAMED: Final = 3


class NeedView(NamedTuple):
    """A need where it counts; `was` is the state without the supposed absences, where that differs.

    `shifts` hold every shift of a need for each shift, of which the row itself is the worst.
    """

    id: str
    state: State
    was: str
    competency: Ref
    about: str
    where: str
    present: int
    minimum: int
    target: int
    rests_on: tuple[Ref, ...]
    more: int
    not_appointed: tuple[Ref, ...]
    shifts: tuple[NeedView, ...] = ()


class PlaceView(NamedTuple):
    """A slot of a place: who holds it, or that it is empty and who alone is able."""

    place: Ref
    where: str
    person: Ref | None
    state: State | None
    note: str
    is_changed: bool


def order_needs(result: CoverageResult, before: CoverageResult) -> list[tuple[CoverageRow, CoverageRow]]:
    """Return each need and what it was before, the worse state first, then the more critical."""
    was = {(need.competency, need.level, need.applies): need for need in before.needs}
    ordered = sorted(result.needs, key=lambda need: (_get_order(need), -need.criticality))
    return [(need, was.get((need.competency, need.level, need.applies), need)) for need in ordered]


def build_need(number: int, need: CoverageRow, old: CoverageRow, names: Names) -> NeedView:
    """Return what is shown of a need, the `number`-th of its page; `old` is what it was before."""
    shifts: tuple[NeedView, ...] = ()
    if len(need.shifts) > 1:
        old_shifts = {row.shift: row for row in old.shifts}
        rows = sorted(need.shifts, key=_get_order)
        shifts = tuple([_show("", need, row, old_shifts.get(row.shift, row), names) for row in rows])
    return _show(f"need-{number}", need, need, old, names, shifts)


def _get_order(row: CoverageRow | ShiftCover) -> int:
    return STATES.index(row.state)


def _show(
    id: str,
    need: CoverageRow,
    row: CoverageRow | ShiftCover,
    old: CoverageRow | ShiftCover,
    names: Names,
    shifts: tuple[NeedView, ...] = (),
) -> NeedView:
    is_short_list = len(row.present) <= _NAMED + 1
    shown = row.present if is_short_list else row.present[:_NAMED]
    return NeedView(
        id=id,
        state=show_state(row.state),
        was=show_state(old.state).word if old.state != row.state else "",
        competency=names.refer("competencies", need.competency),
        about=f"level {need.level}, criticality {need.criticality}",
        where=names.shift(row.shift) if row.shift else "whole team",
        present=row.depth,
        minimum=need.minimum,
        target=need.target,
        rests_on=tuple([names.refer("people", one) for one in shown]),
        more=len(row.present) - len(shown),
        not_appointed=tuple([names.refer("people", one) for one in row.not_appointed]),
        shifts=shifts,
    )


def iterate_places(result: FilledPlaces, snapshot: Snapshot, names: Names) -> Iterator[PlaceView]:
    """Yield every slot, empty ones first."""
    alone = {only.place: only.person for only in result.only_one_can}
    was_empty = Counter(result.unfilled_before)
    for place in result.unfilled:
        note = "nobody present is able"
        if place in alone:
            note = f"only {names.person(alone[place])} is able"
        elif place in result.bottleneck.places and result.bottleneck.people:
            note = f"{join_names(map(names.person, result.bottleneck.people))} cannot hold all that compete"
        was_empty[place] -= 1
        yield _show_place(place, snapshot, names, _EMPTY, note, is_changed=was_empty[place] < 0)
    for row in result.assignment:
        note = "nobody else is able" if row.place in alone else ""
        yield _show_place(row.place, snapshot, names, None, note, person=names.ref("people", row.person))


def _show_place(
    place_id: str,
    snapshot: Snapshot,
    names: Names,
    state: State | None,
    note: str,
    *,
    person: Ref | None = None,
    is_changed: bool = False,
) -> PlaceView:
    shift = snapshot.places[place_id].shift
    where = names.shift(shift) if shift else "whole team"
    return PlaceView(names.refer("places", place_id), where, person, state, note, is_changed)
