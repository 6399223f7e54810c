"""A retirement as a change of records: the old one is set aside, what named it names what took its place.

Nothing about a person is touched: levels that are recorded are read for what took its place, not rewritten.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from ontology.errors import refuse
from ontology.live.live_graph import Change
from ontology.live.mapped_rows import read_row
from ontology.live.retired_rows import merge_rows
from ontology.model.keeping_records import Replacement
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.retirable import CARRIES, RETIRABLE
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.level_maps import LevelReading, find_level_map
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Taker", "plan_retirement"]

#: Of these tables, rows that name a role stay as they are: people and their places are moved by whoever leads them.
_MOVED_FIRST: Final = {("places", "roles")}


@dataclass(frozen=True, slots=True)
class Taker:
    """What takes the place of what is retired, and how recorded levels are read for it; "" as is usual."""

    id: str
    carry: str = ""


def plan_retirement(
    snapshot: Snapshot, table: str, old: str, replaced_by: Sequence[Taker], reason: str, on: date
) -> Change:
    """Return the change that retires a record.

    One of `replaced_by` replaces it, several are what it is split into, none leaves its place empty; `reason` may be
    "".

    Raises
    ------
    InputError
        It is not in use, something named is not, or two cover needs of different groups would become one. The
        parameter is named.

    Notes
    -----
    O(n) for n records of tables that can name it.
    """
    if table not in RETIRABLE:
        raise refuse("table", table, f"must be one of {', '.join(RETIRABLE)}")
    record = snapshot.get_table(table).get((old,))
    if record is None:
        is_retired = snapshot.retired.has(table, old)
        raise refuse("id", old, "is retired already" if is_retired else f"names nothing in {table}")
    takers = _settle(snapshot, table, old, replaced_by)
    edits = _Edits(snapshot, _find_readings(snapshot, table, old, takers))
    edits.put(table, replace(record, retired_on=on))
    for taker in takers:
        edits.put("replacements", Replacement(table, old, taker.id, taker.carry, reason))
    for name in TABLES:
        if name not in PERSONAL_TABLES and name != "replacements" and (name, table) not in _MOVED_FIRST:
            _move_rows(edits, name, table, old, [taker.id for taker in takers])
    return edits.build()


def _settle(snapshot: Snapshot, table: str, old: str, replaced_by: Sequence[Taker]) -> list[Taker]:
    """Return what takes the place, each once and with how levels are read."""
    # a part proves nothing about a whole, and a whole nothing about a part
    usual = "declared" if len(replaced_by) > 1 and table == "competencies" else "same"
    takers: dict[str, Taker] = {}
    for taker in replaced_by:
        if taker.id == old:
            raise refuse("replaced_by", taker.id, "is what is retired: nothing takes its own place")
        if (taker.id,) not in snapshot.get_table(table):
            raise refuse("replaced_by", taker.id, f"is not in use in {table}")
        if taker.id in takers:
            raise refuse("replaced_by", taker.id, "is named twice")
        if taker.carry and (taker.carry not in CARRIES or (taker.carry != "same" and table != "competencies")):
            of = "must be one of same, declared, none" if table == "competencies" else "is for competencies only"
            raise refuse("replaced_by", f"{taker.id}:{taker.carry}", of)
        takers[taker.id] = replace(taker, carry=taker.carry or usual)
    return list(takers.values())


def _find_readings(snapshot: Snapshot, table: str, old: str, takers: Sequence[Taker]) -> dict[str, LevelReading]:
    """Return how levels of a competency are read on the scale of each that takes its place."""
    readings: dict[str, LevelReading] = {}
    for taker in takers if table == "competencies" else ():
        scale, other = snapshot.competencies[old].scale, snapshot.competencies[taker.id].scale
        reading = find_level_map(snapshot, scale, other)
        if reading is None:
            reason = (
                f"is measured on scale {other}, {old} on scale {scale}, and no whole map (level_maps) says what each "
                f"rank of {scale} counts as on {other}; make one first"
            )
            raise refuse("replaced_by", taker.id, reason)
        readings[taker.id] = reading
    return readings


class _Edits:
    """The rows of a change, each as it is after what came before it."""

    def __init__(self, snapshot: Snapshot, readings: Mapping[str, LevelReading]) -> None:
        self.snapshot = snapshot
        #: What takes the place -> how levels are read on its scale.
        self.readings = readings
        self._rows: dict[tuple[str, Any], Any] = {}

    def find(self, name: str, key: Any) -> Any:
        """Return a record as it is by now; None where there is none."""
        return self._rows.get((name, key), self.snapshot.get_table(name).get(key))

    def put(self, name: str, record: Any) -> None:
        """Make or replace a record."""
        self._rows[name, TABLES[name].get_key(record)] = record

    def remove(self, name: str, key: Any) -> None:
        """Remove a record."""
        self._rows[name, key] = None

    def build(self) -> Change:
        """Return the change."""
        put = tuple((name, record) for (name, _), record in self._rows.items() if record is not None)
        gone = ((name, key) for (name, key), record in self._rows.items() if record is None)
        return Change(put, tuple((name, key) for name, key in gone if key in self.snapshot.get_table(name)))


def _move_rows(edits: _Edits, name: str, table: str, old: str, takers: Sequence[str]) -> None:
    """Let the rows of a table that name what is retired name what takes its place."""
    fields = get_reference_fields(name, table)
    for key, found in edits.snapshot.get_table(name).items() if fields else ():
        if (name, key) == (table, (old,)):
            continue
        for field in fields:
            record = edits.find(name, key)
            if record is None or not is_referring(name, found, table, field):
                continue
            value = getattr(record, field)
            if isinstance(value, tuple) and old in value:
                _move_values(edits, name, record, field, old, takers)
            elif value == old and not isinstance(value, tuple) and not _stays(edits.snapshot, name, table, key):
                _move_row(edits, name, key, record, field, takers)


def _stays(snapshot: Snapshot, name: str, table: str, key: Any) -> bool:
    """Whether a row hangs on what is retired, or people are booked in what it says: it goes with it, or is told."""
    if (name, table) in (("requirements", "roles"), ("outcomes", "courses"), ("entry_conditions", "courses")):
        return True
    return name == "sessions" and bool(snapshot.get_bookings_of_session(key[0]))


def _move_values(edits: _Edits, name: str, record: Any, field: str, old: str, takers: Sequence[str]) -> None:
    """Let a column that holds several values hold others: wider competencies, and what a competency hangs on."""
    rest = [one for one in getattr(record, field) if one != old]
    if field == "broader":
        parents = list(edits.snapshot.competencies[old].broader)
        is_below = len(takers) == 1 and not _is_above(edits.snapshot, record.id, takers[0])
        new = list(takers) if is_below else parents
    elif len(takers) > 1:
        return  # which part it is, a person must say: the checks tell of it
    else:
        new = list(takers)
    kept = dict.fromkeys([*rest, *(one for one in new if one != record.id)])
    edits.put(name, replace(record, **{field: tuple(kept)}))


def _is_above(snapshot: Snapshot, above: str, below: str) -> bool:
    """Whether a competency is wider than another, or is it."""
    open_ids, seen = [below], {below}
    while open_ids:
        one = open_ids.pop()
        if one == above:
            return True
        more = snapshot.competencies[one].broader if one in snapshot.competencies else ()
        open_ids += [other for other in more if other not in seen]
        seen.update(more)
    return False


def _move_row(edits: _Edits, name: str, key: Any, record: Any, field: str, takers: Sequence[str]) -> None:
    column = next(column for column in TABLES[name].columns if column.attribute == field)
    is_shared = name in ("requirements", "outcomes", "entry_conditions", "cover_needs")
    if len(takers) > 1 and not is_shared:
        return  # which part it is, a person must say: the checks tell of it
    if not takers and not column.is_required and column.refers_to:
        edits.put(name, replace(record, **{field: column.get_default({})}))
        return
    edits.remove(name, key)
    for taker in takers:
        read = read_row(name, record, field, edits.readings[taker]) if taker in edits.readings else record
        if read is None:
            continue
        moved = replace(read, **{field: taker})
        there = edits.find(name, TABLES[name].get_key(moved))
        if name == "equivalences" and moved.competency == moved.counts_as:
            continue
        edits.put(name, moved if there is None else merge_rows(moved, there))
