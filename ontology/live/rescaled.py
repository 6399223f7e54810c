"""The rows of a state with their levels read anew, and those of people as they stood before a commit that is undone."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any, Final

from ontology.checks.rescaling import Rescaling, find_rescaling, get_fields, group_key
from ontology.checks.rules.levels import LEVEL_COLUMNS
from ontology.live.mapped_rows import read_row
from ontology.live.retired_rows import merge_rows
from ontology.model.columns import Key
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.level_maps import LevelReading
from ontology.snapshot.snapshot import Snapshot

__all__ = ["DRAFTED", "Rows", "follow_scales", "read_people", "read_rows"]

#: What is put and what is removed, each with its table.
Rows = tuple[list[tuple[str, Any]], list[tuple[str, Key]]]
#: Tables with levels that a draft holds.
DRAFTED: Final = tuple(name for name in LEVEL_COLUMNS if name not in PERSONAL_TABLES)


def follow_scales(
    before: Snapshot,
    put: Sequence[tuple[str, Any]],
    remove: Sequence[tuple[str, Key]],
    *,
    is_draft: bool = False,
) -> tuple[Rows, Rescaling]:
    """Return a change with all whose levels it reads anew by whole maps, and how they are read.

    What the change itself says of a record stands, where it says something else than is there. In a draft the tables
    about people are left: they are read when it is published; so are maps of a scale to itself, which read the ranks
    that are published. O(size of the change), where no scale or competency is in it.
    """
    if not _is_changing(before, put, remove):
        return (list(put), list(remove)), Rescaling()
    rescaling = find_rescaling(before, before.with_changes(put, remove), with_own=not is_draft)
    if not rescaling.known:
        return (list(put), list(remove)), rescaling
    said = {(name, key) for name, key in remove}
    said |= {
        (name, key) for name, record in put if before.get_all(name).get(key := TABLES[name].get_key(record)) != record
    }
    more: list[tuple[str, Any]] = []
    gone: list[tuple[str, Key]] = []
    for name in DRAFTED if is_draft else LEVEL_COLUMNS:
        own = {key for table, key in said if table == name}
        made, left = read_rows(name, before.get_all(name), rescaling.known, own)
        more += made
        gone += left
    rest = [(name, record) for name, record in put if (name, TABLES[name].get_key(record)) in said]
    return ([*rest, *more], [*remove, *gone]), rescaling


def _is_changing(before: Snapshot, put: Sequence[tuple[str, Any]], remove: Sequence[tuple[str, Key]]) -> bool:
    """Whether a scale that is there, or the scale of a competency that is there, is another after a change."""
    known, levels = before.get_all("competencies"), before.get_table("scales")
    if not known:
        return False
    if any(name == "scales" for name, _ in remove):
        return True
    return any(
        (name == "competencies" and (record.id,) in known and known[record.id,].scale != record.scale)
        or (name == "scales" and record.scale in before.scales and levels.get((record.scale, record.rank)) != record)
        for name, record in put
    )


def read_rows(
    name: str, rows: Mapping[Key, Any], readings: Mapping[str, LevelReading], said: Collection[Key] = ()
) -> Rows:
    """Return what is put and removed where the levels of a table are read by maps; two that become one are one.

    Rows whose keys are in `said` stay. O(n) for n rows.

    Raises
    ------
    InputError
        Two cover needs of different groups would become one.
    """
    fields = get_fields(name)
    table = TABLES[name]
    read: dict[Key, Any] = {}
    gone: dict[Key, None] = {}
    for key, record in rows.items():
        now = record
        moved = [(one, readings[getattr(record, one)]) for one in fields if getattr(record, one) in readings]
        if not moved or key in said:
            continue
        gone[key] = None
        for one, reading in moved:
            now = read_row(name, now, one, reading) if now is not None else None
        if now is not None and table.get_key(now) not in said:
            _add(name, read, now)
    put = [(name, record) for key, record in read.items() if rows.get(key) != record]
    return put, [(name, key) for key in gone if key not in read]


def read_people(
    rescaling: Rescaling, present: Snapshot, undone: tuple[Snapshot, Snapshot] | None, after: Snapshot
) -> Rows:
    """Return what publishing puts and removes of the tables about people.

    `undone` are, of an undo, the states before and after the commit that it takes back; `after` is what a draft leads
    to, people as they are.

    Notes
    -----
    What the commit that is undone made, and nobody changed since, is as it was before it. Everything else is read by
    the map; where there is none it stays, and the checks tell of it. O(records with levels about people).
    """
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, Key]] = []
    for name in (name for name in LEVEL_COLUMNS if name in PERSONAL_TABLES):
        rows = present.get_all(name)
        restored, kept = _restore(name, rescaling, undone, after, rows) if undone else ({}, set())
        made, gone = read_rows(name, rows, rescaling.known, kept)
        read = {TABLES[name].get_key(record): record for _, record in made}
        for record in restored.values():
            _add(name, read, record)
        here = {key for key in kept if key not in read}
        put += [(name, record) for key, record in read.items() if rows.get(key) != record]
        remove += [pair for pair in gone if pair[1] not in read] + [(name, key) for key in sorted(here, key=str)]
    return put, remove


def _restore(
    name: str, rescaling: Rescaling, undone: tuple[Snapshot, Snapshot], after: Snapshot, rows: Mapping[Key, Any]
) -> tuple[dict[Key, Any], set[Key]]:
    """Return the records as they stood before a commit, where nobody changed since what it made of them.

    With them the keys of what stands there now.
    """
    before, then = undone
    back = {name for name in rescaling.readings if _stands_as(before, after, name)}
    groups = [_group(name, state.get_all(name), back) for state in (before, then)]
    now = _group(name, rows, back)
    restored: dict[Key, Any] = {}
    kept: set[Key] = set()
    for group, records in groups[0].items():
        # what the commit brought itself, and did not read anew, is of its own time
        there = groups[1].get(group)
        if there is not None and there == now.get(group):
            kept |= there.keys()
            restored |= records
    return restored, kept


def _stands_as(before: Snapshot, after: Snapshot, competency: str) -> bool:
    """Whether a competency is measured, after an undo, as it was before the commit that is undone."""
    one, other = (state.get_all("competencies").get((competency,)) for state in (before, after))
    if one is None or other is None or one.scale != other.scale:
        return False
    ranks = [[level.rank for level in state.scales.get(one.scale, ())] for state in (before, after)]
    return ranks[0] == ranks[1]


def _group(name: str, rows: Mapping[Key, Any], competencies: Collection[str]) -> dict[Key, dict[Key, Any]]:
    groups: defaultdict[Key, dict[Key, Any]] = defaultdict(dict)
    for key, record in rows.items():
        if record.competency in competencies:
            groups[group_key(name, key)][key] = record
    return dict(groups)


def _add(name: str, read: dict[Key, Any], record: Any) -> None:
    """Put a record among those read; of two that are one, what counts longest."""
    key = TABLES[name].get_key(record)
    there = read.get(key)
    if there is not None:
        record = max(there, record, key=_get_length) if name == "assessments" else merge_rows(record, there)
    read[key] = record


def _get_length(record: Any) -> tuple[bool, date, str, str]:
    until = record.valid_until or date.max
    return record.withdrawn_on is None, until, str(record.recorded_on or ""), record.evidence
