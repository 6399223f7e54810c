"""How it is said who fills the places of a team, which stay empty, and what competes for too few people."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

from api.desk.names import Names, count, join_names
from api.desk.sheet import Cell, Column, State, Table
from ontology.analysis.places.filling import FilledPlaces

_UNFILLED: Final = State("empty", "empty", "nobody present fills it")
#: People and kinds of slots named in a sentence.
_NAMED: Final = 3


def show_places(result: FilledPlaces, names: Names) -> Iterator[Table]:
    """Yield every slot of a place with who fills it, the empty ones first; then those of groups, if any."""

    def show(place: str, person: Cell) -> tuple[Cell, ...]:
        return names.place(place), names.ref("shifts", names.shift_of(place)) or "whole team", person

    filled = [show(row.place, names.ref("people", row.person)) for row in result.assignment]
    empty = [show(place, _UNFILLED) for place in result.unfilled]
    columns = (Column("place"), Column("where"), Column("person"))
    yield Table("Places", columns, (*empty, *filled), "The team has no places.")
    if result.together_slots:
        yield _show_together(result, names)


def tell_filled(result: FilledPlaces) -> str:
    """Return how many places are filled, and how many slots of groups."""
    if not result.places and not result.together_slots:
        return "This team has no places."
    together = f", {result.together_filled} of {result.together_slots} slots of groups" if result.together_slots else ""
    return f"{result.filled} of {result.places} places filled{together}."


def tell_bottleneck(result: FilledPlaces, names: Names) -> str:
    """Return what competes for whom; "" where nothing does."""
    slots = _name_contested(result, names)
    if not slots:
        return ""
    people = result.bottleneck.people
    if not people:
        return f"Nobody present can fill {_count(slots)}."
    can = "only one person can" if len(people) == 1 else f"only {len(people)} people can"
    who = f": {join_names(map(names.person, people))}" if len(people) <= _NAMED else ""
    return f"{count(len(slots), 'slot')} of {_count_kinds(slots)} compete, and {can} fill them{who}."


def _name_contested(result: FilledPlaces, names: Names) -> list[str]:
    slots = [names.place(place) for place in result.bottleneck.places]
    for need in result.bottleneck.needs:
        slots += [names.need(need.competency, need.level, need.shift)] * need.slots
    return slots


def _count_kinds(slots: list[str]) -> str:
    kinds = list(dict.fromkeys(slots))
    return join_names(kinds[:_NAMED] + ([f"{len(kinds) - _NAMED} more"] if len(kinds) > _NAMED else []))


def _show_together(result: FilledPlaces, names: Names) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (row.together, names.need(row.competency, row.level, row.shift), names.ref("people", row.person))
        for row in result.together_assignment
    ]
    for need in result.unfilled_needs:
        rows += [(need.together, names.need(need.competency, need.level, need.shift), _UNFILLED)] * need.slots
    columns = (Column("group"), Column("need"), Column("person"))
    return Table("Needed together, by different people", columns, tuple(rows), "")


def _count(slots: Iterable[str]) -> str:
    return ", ".join(slot if n == 1 else f"{slot} ({n} times)" for slot, n in Counter(slots).items())
