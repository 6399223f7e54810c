"""A competency that moves to another scale, or a scale with other ranks, as a change of records in a draft.

What asks, teaches and needs levels says them as the map reads them. Nothing about a person is touched: what is recorded
of people is read by the map when the draft is published.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from ontology.checks.meanings import find_meaning_changes
from ontology.checks.rescaling import Rescaling, find_rescaling, find_unread
from ontology.errors import InUseError, refuse
from ontology.live.live_graph import Change
from ontology.live.rescaled import DRAFTED, read_rows
from ontology.model.keeping_records import LevelMap
from ontology.model.key_text import get_key_text
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES
from ontology.snapshot.level_maps import LevelReading, iterate_row_faults, list_map_rows, list_ranks, read_map
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RankMap", "plan_move", "plan_ranks"]

#: Rank of before -> rank it becomes.
RankMap = Mapping[int, int]


def plan_move(published: Snapshot, view: Snapshot, competency: str, scale: str, ranks: RankMap | None = None) -> Change:
    """Return the change that moves a competency to another scale.

    `published` is the present state, `view` a draft on it; the map `ranks` is put into the draft, and is the one that
    is there when left out.

    Raises
    ------
    InputError
        Something named is not there.
    InUseError
        Levels are recorded, and the map is not whole or falls; what is recorded is in it.

    Notes
    -----
    Asked again, it reads what was not read yet: what others made since. O(records with levels).
    """
    one = view.competencies.get(competency)
    if one is None:
        raise refuse("competency", competency, "names no competency in use")
    if scale not in view.scales:
        raise refuse("scale", scale, "names no scale")
    before = published.get_all("competencies").get((competency,), one)
    start = one.scale if one.scale != scale else before.scale
    put, remove = _put_map(view, start, scale, ranks) if start != scale else ([], [])
    put.append(("competencies", replace(one, scale=scale)))
    after = view.with_changes(put, remove)
    if one.scale != scale:
        rescaling = find_rescaling(view, after, with_own=False)
        unread = find_unread(rescaling, view, after)
        _require_read(rescaling, competency, start, after, unread)
        return _build(view, put, remove, rescaling.known)
    rescaling = find_rescaling(published, after)
    unread = find_unread(rescaling, published, after)
    _require_read(rescaling, competency, start, after, unread)
    return _read_rest(view, put, remove, rescaling, unread)


def plan_ranks(
    published: Snapshot, view: Snapshot, scale: str, levels: Sequence[ScaleLevel], ranks: RankMap | None = None
) -> Change:
    """Return the change that gives a scale other ranks.

    `levels` are all it has from now on, none: those that the draft says already. `ranks` says of each rank of before
    what it becomes; it can be left out where every level keeps its rank. Errors as `plan_move`.
    """
    if scale not in view.scales:
        raise refuse("scale", scale, "names no scale")
    if not levels:
        rescaling = find_rescaling(published, view)
        return _read_rest(view, [], [], rescaling, find_unread(rescaling, published, view))
    put: list[tuple[str, Any]] = [("scales", level) for level in levels]
    kept = {level.rank for level in levels}
    remove = [("scales", (scale, rank)) for rank in list_ranks(view, scale) if rank not in kept]
    after = view.with_changes(put, remove)
    if ranks is None:
        for meaning in find_meaning_changes(view, after, put, remove, Rescaling()):
            raise InUseError(
                f"{meaning.reason[0].upper()}{meaning.reason[1:]}. Recorded are", meaning.about, meaning.uses
            )
        return Change(tuple(put), tuple(remove))
    rows = [LevelMap(scale, rank, scale, to) for rank, to in sorted(ranks.items())]
    reading = read_map(rows, list_ranks(view, scale), list_ranks(after, scale))
    moved = sorted(one.id for one in view.get_all("competencies").values() if one.scale == scale)
    if reading is None:
        unread = find_unread(Rescaling(dict.fromkeys(moved)), view, view)
        used = [row for found in unread.values() for row in found]
        if used:
            _refuse_map(scale, scale, rows, (list_ranks(view, scale), list_ranks(after, scale)), used)
    known = dict.fromkeys(moved, reading or {})
    first = find_rescaling(published, view).own.get(scale) or {rank: rank for rank in list_ranks(published, scale)}
    # what was published is read once, whatever was changed in the draft on the way
    whole = {rank: (reading or ranks).get(to, to) for rank, to in first.items() if rank}
    made, gone = _put_map(view, scale, scale, whole)
    return _build(view, [*put, *made], [*remove, *gone], known)


def _build(
    view: Snapshot, put: list[tuple[str, Any]], remove: list[tuple[str, Any]], readings: Mapping[str, LevelReading]
) -> Change:
    for name in DRAFTED:
        made, gone = read_rows(name, view.get_all(name), readings)
        put, remove = [*put, *made], [*remove, *gone]
    return Change(tuple(put), tuple(remove))


def _read_rest(
    view: Snapshot,
    put: list[tuple[str, Any]],
    remove: list[tuple[str, Any]],
    rescaling: Rescaling,
    unread: Mapping[str, Sequence[tuple[str, Any]]],
) -> Change:
    """Return the change that reads what was not read yet, and puts and removes something else."""
    left = {pair for found in unread.values() for pair in found}
    for name in DRAFTED:
        rows = view.get_all(name)
        made, gone = read_rows(name, rows, rescaling.known, [key for key in rows if (name, key) not in left])
        put, remove = [*put, *made], [*remove, *gone]
    return Change(tuple(put), tuple(remove))


def _put_map(
    view: Snapshot, one: str, other: str, ranks: RankMap | None
) -> tuple[list[tuple[str, Any]], list[tuple[str, Any]]]:
    """Return what is put and removed for a map to be the one that is given."""
    if ranks is None:
        return [], []
    put = [("level_maps", LevelMap(one, rank, other, to)) for rank, to in sorted(ranks.items())]
    keys = [TABLES["level_maps"].get_key(row) for row in list_map_rows(view, one, other)]
    return put, [("level_maps", key) for key in keys if key[2] not in ranks]


def _require_read(
    rescaling: Rescaling,
    competency: str,
    scale: str,
    after: Snapshot,
    unread: Mapping[str, Sequence[tuple[str, Any]]],
) -> None:
    if rescaling.readings.get(competency, {}) is None and unread.get(competency):
        other = after.competencies[competency].scale
        ranks = (list_ranks(after, scale), list_ranks(after, other))
        _refuse_map(scale, other, list_map_rows(after, scale, other), ranks, unread[competency], competency)


def _refuse_map(
    scale: str,
    other: str,
    rows: Sequence[LevelMap],
    ranks: tuple[Sequence[int], Sequence[int]],
    used: Sequence[tuple[str, Any]],
    competency: str = "",
) -> None:
    """Raise InUseError that says what is wrong with a map, and what is recorded."""
    faults = [reason for row in rows for _, _, reason in iterate_row_faults(row, rows, *ranks)]
    wrong = "; ".join(faults) or f"no map says what ranks of {scale} count as on {other}"
    about = ("competencies", competency) if competency else ("scales", scale)
    users = sorted({(name, get_key_text(key)) for name, key in used})
    what = (
        f"Competency {competency} cannot move from scale {scale} to {other}"
        if competency
        else (f"Scale {scale} cannot get other ranks")
    )
    raise InUseError(f"{what} without a whole map that never falls ({wrong}). Recorded are", about, users)
