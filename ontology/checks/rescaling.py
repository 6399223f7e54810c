"""Where recorded levels are read anew: competencies that move to another scale, and scales whose ranks become others.

A map from a scale to itself goes with a change of its ranks: it reads the ranks of before, and is not kept.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final

from ontology.checks.rules.base import describe, name_rule
from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.errors import Finding
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.level_maps import (
    LevelReading,
    find_level_map,
    follow_maps,
    iterate_row_faults,
    list_map_rows,
    list_ranks,
    read_map,
)
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AT_LEAST_FIRST", "Rescaling", "find_rescaling", "find_unread", "get_fields", "group_key"]

_TABLES: Final = ("scales", "competencies", "level_maps")
_SOURCE: Final = name_rule("a map has every rank once and never falls")


@dataclass(frozen=True)
class Rescaling:
    """How recorded levels are read after a change.

    Attributes
    ----------
    readings : competency -> level before and after; None where no whole map says it. Others keep their levels
    own : scale whose ranks became others, with a map that says how -> that map; None where something is wrong with it
    faults : what is wrong with maps of scales to themselves
    brought_back : scales that are as before a commit which read levels anew, where that is undone
    """

    readings: Mapping[str, LevelReading | None] = field(default_factory=dict)
    own: Mapping[str, LevelReading | None] = field(default_factory=dict)
    faults: tuple[Finding, ...] = ()
    brought_back: frozenset[str] = frozenset()

    @property
    def known(self) -> Mapping[str, LevelReading]:
        """The readings that a whole map says."""
        return {name: reading for name, reading in self.readings.items() if reading is not None}

    def is_consumed(self, name: str, key: Key) -> bool:
        """Whether a record is a row of a map that reads levels once, now, and is not kept."""
        return name == "level_maps" and key[0] == key[1] and key[0] in self.own


#: What the law or the employer said of somebody does not fall away by a map: it goes on at the first rank.
AT_LEAST_FIRST: Final = frozenset({"obligations", "orientation_items", "appointments", "equivalences"})
NOTHING: Final = Rescaling()


def find_rescaling(
    present: Snapshot,
    after: Snapshot,
    *,
    with_own: bool = True,
    read_undone: Callable[[], tuple[Snapshot, Snapshot] | None] = lambda: None,
) -> Rescaling:
    """Return how levels are read between two states; `after` holds maps of scales to themselves, too.

    Parameters
    ----------
    with_own : bool
        Whether maps of scales to themselves are read by.
    read_undone : function
        Of an undo, it returns the states before and after the commit that is undone.

    Notes
    -----
    O(scales, competencies and maps), where one of these differs; of an undo, also O(records with levels).
    """
    if all(present.get_all(name) == after.get_all(name) for name in _TABLES):
        return NOTHING
    own: dict[str, LevelReading | None] = {}
    faults: list[Finding] = []
    for scale in sorted({key[0] for key in after.get_table("level_maps") if with_own and key[0] == key[1]}):
        if scale in present.scales and scale in after.scales and present.scales[scale] != after.scales[scale]:
            own[scale] = _read_own(present, after, scale, faults)
    back = frozenset(_find_brought_back(present, after, own, read_undone))
    readings: dict[str, LevelReading | None] = {}
    later = after.get_all("competencies")
    for key, one in present.get_all("competencies").items():
        other = later.get(key)
        if other is None or (other.scale == one.scale and one.scale not in own and one.scale not in back):
            continue
        first = own.get(one.scale, MappingProxyType({rank: rank for rank in (0, *list_ranks(after, one.scale))}))
        then = find_level_map(after, one.scale, other.scale)
        is_read = one.scale not in back
        readings[one.id] = follow_maps(first, then) if is_read and first is not None and then is not None else None
    return Rescaling(readings, own, tuple(faults), back)


def _find_brought_back(
    present: Snapshot,
    after: Snapshot,
    own: Mapping[str, Any],
    read_undone: Callable[[], tuple[Snapshot, Snapshot] | None],
) -> Iterator[str]:
    """Yield the scales whose ranks are brought back, of which the commit that is undone read levels anew."""
    scales = present.scales
    changed = [one for one in scales if one not in own and after.scales.get(one, scales[one]) != scales[one]]
    undone = read_undone() if changed else None
    if undone is None:
        return
    before, then = undone
    for scale in changed:
        if before.scales.get(scale) != then.scales.get(scale):
            measured = {one.id for one in then.get_all("competencies").values() if one.scale == scale}
            if any(_list_rows(before, name, measured) != _list_rows(then, name, measured) for name in LEVEL_COLUMNS):
                yield scale


def _list_rows(snapshot: Snapshot, name: str, competencies: Collection[str]) -> dict[Key, Any]:
    fields = get_fields(name)
    rows = snapshot.get_all(name).items()
    return {key: row for key, row in rows if any(getattr(row, one) in competencies for one in fields)}


def _read_own(present: Snapshot, after: Snapshot, scale: str, faults: list[Finding]) -> LevelReading | None:
    rows, ranks = list_map_rows(after, scale, scale), list_ranks(present, scale)
    to_ranks = list_ranks(after, scale)
    for row in rows:
        for column, value, reason in iterate_row_faults(row, rows, ranks, to_ranks):
            about = ("level_maps", *map(str, TABLES["level_maps"].get_key(row)))
            faults.append(
                Finding("error", _SOURCE, 0, column, value, f"{describe('level_maps', row)}: {reason}", about)
            )
    return read_map(rows, ranks, to_ranks)


def get_fields(name: str) -> tuple[str, ...]:
    """Return the fields of a table that name the competency of one of its levels."""
    return tuple(dict.fromkeys(map(get_measured, LEVEL_COLUMNS.get(name, ()))))


def group_key(name: str, key: Key) -> Key:
    """Return the key of a record without its level: what is seen, needed or asked, at whatever level."""
    return tuple(part for part, column in zip(key, TABLES[name].key, strict=True) if column != "level")


def find_unread(
    rescaling: Rescaling,
    present: Snapshot,
    after: Snapshot,
    undone: Snapshot | None = None,
) -> dict[str, list[tuple[str, Key]]]:
    """Return competency -> (table, key) of what still says a level as it was before, though it is read anew.

    `rescaling` is what `find_rescaling` returns of the two states; what was so in `undone`, a state that is brought
    back, is right.

    Notes
    -----
    O(records with levels of these competencies, and n records of the tables).
    """
    found: dict[str, list[tuple[str, Key]]] = {}
    for name in LEVEL_COLUMNS if rescaling.readings else ():
        before, now = present.get_all(name), after.get_all(name)
        for one in get_fields(name):
            columns = [column for column in LEVEL_COLUMNS[name] if get_measured(column) == one]
            right = _list_right(name, before, one, columns, rescaling)
            same: defaultdict[tuple[str, Key], list[Key]] = defaultdict(list)
            wrong: set[tuple[str, Key]] = set()
            for key, record in before.items():
                competency, later = getattr(record, one), now.get(key)
                if competency not in rescaling.readings or later is None or getattr(later, one) != competency:
                    continue
                levels = _get_levels(record, columns)
                was_so = undone is not None and _was_so(undone, name, key, columns, levels)
                if any(levels) and levels == _get_levels(later, columns) and not was_so:
                    group = competency, group_key(name, key)
                    same[group].append(key)
                    wrong |= {group} if levels not in right[group] else set()
            # one that stands where another is to come was not read, either
            for group in same:
                if group in wrong:
                    found.setdefault(group[0], []).extend((name, key) for key in same[group])
    return found


def _list_right(
    name: str, rows: Mapping[Key, Any], field_name: str, columns: list[str], rescaling: Rescaling
) -> Mapping[tuple[str, Key], set[tuple[Any, ...]]]:
    """Return what the levels of each group of records are when they have been read."""
    right: defaultdict[tuple[str, Key], set[tuple[Any, ...]]] = defaultdict(set)
    for key, record in rows.items():
        competency = getattr(record, field_name)
        reading = rescaling.readings.get(competency)
        if reading is not None:
            levels = [reading.get(level, level) for level in _get_levels(record, columns)]
            if name in AT_LEAST_FIRST:
                levels = [None if level is None else max(1, level) for level in levels]
            right[competency, group_key(name, key)].add(tuple(levels))
    return right


def _get_levels(record: Any, columns: Iterable[str]) -> tuple[Any, ...]:
    return tuple(getattr(record, column) for column in columns)


def _was_so(undone: Snapshot, name: str, key: Key, columns: Iterable[str], levels: tuple[Any, ...]) -> bool:
    record = undone.get_all(name).get(key)
    return record is not None and _get_levels(record, columns) == levels
