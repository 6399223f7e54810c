"""How levels of one scale are read on another: by a map that has every rank once and never falls."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from ontology.model.keeping_records import LevelMap
from ontology.snapshot.record_tables import RecordTables

__all__ = [
    "LevelReading",
    "find_level_map",
    "find_map_users",
    "follow_maps",
    "iterate_row_faults",
    "list_map_rows",
    "list_maps",
    "list_ranks",
    "read_map",
]

#: Level on one scale -> level on another; 0 is 0 on both.
LevelReading = Mapping[int, int]


def list_ranks(snapshot: RecordTables, scale: str) -> Sequence[int]:
    """Return the ranks of a scale in order; none where there is no such scale."""
    return snapshot.keep("ranks of scales", lambda: _group_ranks(snapshot)).get(scale, ())


def _group_ranks(snapshot: RecordTables) -> Mapping[str, Sequence[int]]:
    ranks: defaultdict[str, list[int]] = defaultdict(list)
    for scale, rank in snapshot.get_table("scales"):
        ranks[scale].append(rank)
    return dict(ranks)


def list_map_rows(snapshot: RecordTables, from_scale: str, to_scale: str) -> Sequence[LevelMap]:
    """Return the rows of the map from one scale to another, by the ranks it reads."""
    return snapshot.keep("rows of maps", lambda: _group_rows(snapshot)).get((from_scale, to_scale), ())


def _group_rows(snapshot: RecordTables) -> Mapping[tuple[str, str], Sequence[LevelMap]]:
    rows: defaultdict[tuple[str, str], list[LevelMap]] = defaultdict(list)
    for row in snapshot.get_table("level_maps").values():
        rows[row.from_scale, row.to_scale].append(row)
    return dict(rows)


def find_level_map(snapshot: RecordTables, from_scale: str, to_scale: str) -> LevelReading | None:
    """Return how levels of a scale are read on another; None where no map that is whole and never falls says it.

    On the same scale every level is itself. O(ranks), kept with the Snapshot.
    """
    return snapshot.keep(("level map", from_scale, to_scale), lambda: _read_map(snapshot, from_scale, to_scale))


def _read_map(snapshot: RecordTables, from_scale: str, to_scale: str) -> LevelReading | None:
    ranks, to_ranks = list_ranks(snapshot, from_scale), list_ranks(snapshot, to_scale)
    if from_scale == to_scale:
        return MappingProxyType({rank: rank for rank in (0, *ranks)})
    return read_map(list_map_rows(snapshot, from_scale, to_scale), ranks, to_ranks)


def read_map(rows: Sequence[LevelMap], ranks: Sequence[int], to_ranks: Sequence[int]) -> LevelReading | None:
    """Return what the rows of a map say; None where there are none, or something is wrong with one."""
    if not rows or any(True for row in rows for _ in iterate_row_faults(row, rows, ranks, to_ranks)):
        return None
    return MappingProxyType({0: 0} | {row.from_rank: row.to_rank for row in rows})


def follow_maps(first: LevelReading, then: LevelReading) -> LevelReading:
    """Return one map for two in turn."""
    return MappingProxyType({level: then.get(read, read) for level, read in first.items()})


def iterate_row_faults(
    row: LevelMap, rows: Sequence[LevelMap], ranks: Sequence[int], to_ranks: Sequence[int]
) -> Iterator[tuple[str, str, str]]:
    """Yield (column, value, what would be right) of what is wrong with a row of a map.

    Parameters
    ----------
    row : LevelMap
        What is missing altogether is told of the first row.
    rows : its map, by the ranks it reads
    ranks, to_ranks : of both scales, in order
    """
    here, there = f"scale {row.from_scale}", f"scale {row.to_scale}"
    if row.from_rank not in ranks:
        yield "from_rank", str(row.from_rank), f"{here} has no rank {row.from_rank}; it has {_tell(ranks)}"
    if row.to_rank and row.to_rank not in to_ranks:
        yield "to_rank", str(row.to_rank), f"{there} has no rank {row.to_rank}; it has {_tell(to_ranks)}, or say 0"
    below = max((other.to_rank for other in rows if other.from_rank < row.from_rank), default=0)
    if row.to_rank < below:
        reason = f"a lower rank of {here} counts as {below} already: a map never falls; say at least {below}"
        yield "to_rank", str(row.to_rank), reason
    if row is rows[0]:
        said = {other.from_rank for other in rows}
        for rank in ranks:
            if rank not in said:
                yield "from_rank", str(rank), f"rank {rank} of {here} is missing: a map has every rank once"


def list_maps(snapshot: RecordTables, scale: str) -> list[tuple[str, LevelReading]]:
    """Return (other scale, how levels are read on it) of the whole maps from a scale, by the other scale."""
    others = sorted({key[1] for key in snapshot.get_table("level_maps") if key[0] == scale != key[1]})
    read = [(other, find_level_map(snapshot, scale, other)) for other in others]
    return [(other, levels) for other, levels in read if levels is not None]


def find_map_users(snapshot: RecordTables, from_scale: str, to_scale: str) -> list[tuple[str, str]]:
    """Return (table, key joined by ~) of what is read by a map: replacements of a competency by one on that scale."""
    known = snapshot.get_all("competencies")
    found = []
    for row in snapshot.get_table("replacements").values() if from_scale != to_scale else ():
        old, new = known.get((row.old,)), known.get((row.new,))
        if row.table != "competencies" or old is None or new is None:
            continue
        if (old.scale, new.scale) == (from_scale, to_scale):
            found.append(("replacements", f"{row.table}~{row.old}~{row.new}"))
    return found


def _tell(ranks: Sequence[int]) -> str:
    return f"1 to {len(ranks)}" if ranks else "none"
