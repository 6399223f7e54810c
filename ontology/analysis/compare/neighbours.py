"""What hangs on a competency, role or course: by what of it one tells which record of another state it is.

A neighbour is the word of its relation, its table and its id; the text of a role's family is one too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from ontology.analysis.likeness.labels import normalise
from ontology.snapshot.snapshot import Snapshot

__all__ = ["TOLD", "Neighbour", "list_below", "list_near", "make_reader"]

#: The tables of which it is told what may have become of a record.
TOLD: Final = ("competencies", "roles", "courses")
#: Word of the relation, table ("" for a text), id.
Neighbour = tuple[str, str, str]


def list_near(state: Snapshot, table: str, record_id: str) -> frozenset[Neighbour]:
    """Return the neighbours of a record."""
    return frozenset((*list_below(state, table, record_id), *_list_more(state, table, record_id)))


def list_below(state: Snapshot, table: str, record_id: str) -> frozenset[Neighbour]:
    """Return what hangs below a record: what is narrower, asks or teaches it; of roles and courses what they name."""
    return frozenset(_iterate_below(state, table, record_id))


def _iterate_below(state: Snapshot, table: str, record_id: str) -> Iterator[Neighbour]:
    if table == "competencies":
        yield from (("narrower", "competencies", one) for one in state.get_narrower(record_id))
        yield from (("asked", "roles", one.role) for one in state.get_requirements_of_competency(record_id))
        yield from (("taught", "courses", one.course) for one in state.get_outcomes_of_competency(record_id))
    elif table == "roles":
        yield from (("asks", "competencies", one.competency) for one in state.get_requirements(record_id))
    else:
        yield from (("teaches", "competencies", one.competency) for one in state.get_outcomes(record_id))


def _list_more(state: Snapshot, table: str, record_id: str) -> Iterator[Neighbour]:
    if table == "competencies":
        yield from (("broader", "competencies", one) for one in state.competencies[record_id].broader)
    elif table == "roles":
        family = normalise(state.roles[record_id].family)
        if family:
            yield "family", "", family
    else:
        yield from (("presumes", "competencies", one.competency) for one in state.get_entry_conditions(record_id))


def make_reader(ways: Mapping[str, Mapping[str, str]]) -> Callable[[Neighbour], Neighbour | None]:
    """Return what reads a neighbour through the pairs of one way (`Pairs.forward` or `Pairs.back`).

    A text stands for itself; what has no counterpart is None.
    """

    def read(neighbour: Neighbour) -> Neighbour | None:
        relation, table, one = neighbour
        if not table:
            return neighbour
        other = ways[table].get(one)
        return None if other is None else (relation, table, other)

    return read
