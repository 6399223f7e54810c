"""What took the place of what was retired: replacements followed to those that are in use, levels by their maps."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from ontology.model.keeping_records import Replacement
from ontology.model.retirable import CARRIES
from ontology.snapshot.level_maps import LevelReading, find_level_map, follow_maps
from ontology.snapshot.record_tables import RecordTables

__all__ = ["Carrying", "Successor", "find_carries", "find_successors"]


@dataclass(frozen=True, slots=True)
class Successor:
    """A record in use that took the place of another, by however many steps; the least carry of these.

    `steps` are the replacements that lead there, in turn.
    """

    id: str
    carry: str
    steps: tuple[Replacement, ...] = ()


@dataclass(frozen=True, slots=True)
class Carrying:
    """A competency in use for which levels recorded of a retired one are read, how, and as which levels of its own."""

    id: str
    carry: str
    levels: LevelReading


def find_successors(snapshot: RecordTables, table: str, old: str) -> tuple[Successor, ...]:
    """Return what is in use in the place of a record of competencies, roles or courses, by id.

    Chains are followed. Where several lead to the same record, the one by which most is carried counts.
    O(replacements of the chains).
    """
    return _follow(snapshot, table, old, lambda row: row.carry)


def find_carries(snapshot: RecordTables, old: str) -> tuple[Carrying, ...]:
    """Return for which competencies in use, and how, levels recorded of a retired one are read.

    A certificate is read for a certificate only, and nothing else for one; levels of one scale for another by the map
    from it to that, of a chain by the maps in turn.
    """
    known = snapshot.get_all("competencies")

    def find_map(row: Replacement) -> LevelReading | None:
        return find_level_map(snapshot, known[row.old,].scale, known[row.new,].scale)

    def get_carry(row: Replacement) -> str:
        one, other = known.get((row.old,)), known.get((row.new,))
        if one is None or other is None or one.is_certificate != other.is_certificate or find_map(row) is None:
            return "none"
        return row.carry

    found = []
    for one in _follow(snapshot, "competencies", old, get_carry):
        if one.carry != "none":
            levels: LevelReading = {}
            for step in one.steps:
                read = find_map(step) or {}
                levels = follow_maps(levels, read) if levels else read
            found.append(Carrying(one.id, one.carry, levels))
    return tuple(found)


def _follow(
    snapshot: RecordTables, table: str, old: str, get_carry: Callable[[Replacement], str]
) -> tuple[Successor, ...]:
    in_use = snapshot.get_table(table)
    replaced = snapshot.keep("replacements by what went", lambda: _group(snapshot))
    least, steps = {old: 0}, {old: tuple[Replacement, ...]()}
    open_ids = [old]
    while open_ids:
        one = open_ids.pop()
        # what is in use has its place itself, whatever else is said of it
        for row in () if (one,) in in_use else replaced.get((table, one), ()):
            carried = max(least[one], CARRIES.index(get_carry(row)))
            if row.new not in least or carried < least[row.new]:
                least[row.new], steps[row.new] = carried, (*steps[one], row)
                open_ids.append(row.new)
    return tuple(
        Successor(one, CARRIES[least[one]], steps[one]) for one in sorted(least) if (one,) in in_use and one != old
    )


def _group(snapshot: RecordTables) -> Mapping[tuple[str, str], Sequence[Replacement]]:
    found: defaultdict[tuple[str, str], list[Replacement]] = defaultdict(list)
    for row in snapshot.get_table("replacements").values():
        found[row.table, row.old].append(row)
    return dict(found)
