"""Assessments of retired competencies, as they are read for those in use: same day, source and last day, level by map.

Nothing is rewritten: what was recorded stays with the retired competency. What is read as declared is shown, and counts
no more than what somebody says of themselves.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from ontology.model.records import Assessment
from ontology.model.tables import TABLES
from ontology.snapshot.record_tables import RecordTables
from ontology.snapshot.successors import find_carries

__all__ = ["Carried", "read_carried"]

_DECLARED: Final = ("self", "unstated")


@dataclass(frozen=True, slots=True)
class Carried:
    """What is read so: by person, by person and competency, and what was recorded of each, by identity."""

    of_person: Mapping[str, tuple[Assessment, ...]]
    of_pair: Mapping[tuple[str, str], tuple[Assessment, ...]]
    recorded: Mapping[int, Assessment]


def read_carried(snapshot: RecordTables) -> Carried:
    """Return the assessments of retired competencies as they are read for others. O(these)."""
    of_person: defaultdict[str, list[Assessment]] = defaultdict(list)
    of_pair: defaultdict[tuple[str, str], list[Assessment]] = defaultdict(list)
    recorded: dict[int, Assessment] = {}
    rows = snapshot.retired.get_table("assessments").values()
    get_key = TABLES["assessments"].get_key
    taken = set(snapshot.get_table("assessments")) if rows else set()
    ways = {old: find_carries(snapshot, old) for old in sorted({row.competency for row in rows})}
    for row in rows:
        for way in ways[row.competency]:
            is_counted = way.carry == "same" or row.source in _DECLARED
            level = way.levels.get(row.level, row.level)
            read = replace(row, competency=way.id, level=level, source=row.source if is_counted else "unstated")
            while get_key(read) in taken:  # two that were recorded alike of two competencies stay two
                read = replace(read, assessor=f"{read.assessor} ({row.competency})".strip())
            taken.add(get_key(read))
            of_person[row.person].append(read)
            of_pair[row.person, way.id].append(read)
            recorded[id(read)] = row
    return Carried(
        {person: tuple(found) for person, found in of_person.items()},
        {pair: tuple(found) for pair, found in of_pair.items()},
        recorded,
    )
