"""A competency that moves to another scale, or a scale with other ranks, in a draft: as one edit of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from api.desk.retiring import edit_by_plan
from ontology.errors import InputError, InUseError
from ontology.model.key_text import get_key_text
from ontology.model.records import ScaleLevel
from ontology.model.tables import PERSONAL_TABLES
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # brings the store
    from ontology.live.drafts import ChangeOfRecords
    from ontology.live.live_graph import LiveGraph


@dataclass(frozen=True, slots=True)
class ScaleChange:
    """What is asked: a competency and its new scale; without one, the scale whose ranks become others.

    `levels` are all levels that the scale has from now on; `ranks` says of each rank of before which one it becomes,
    None where a map of the draft says it.
    """

    scale: str
    competency: str = ""
    levels: tuple[ScaleLevel, ...] = ()
    ranks: Mapping[int, int] | None = None
    reason: str = ""


def change_scale(
    graph: LiveGraph, seen: Snapshot, draft_id: str, asked: ScaleChange, *, who: str, expected_number: int | None = None
) -> None:
    """Change the scale of a competency, or the ranks of a scale, in a draft.

    `seen` is the present state as who asks sees it: whose levels are recorded is told of these only.

    Raises
    ------
    InputError
        Something named is not there.
    InUseError
        Levels are recorded, and the map is not whole or falls.
    UnknownIdError, StaleError, ConflictError
        As `Drafts.edit`.
    """
    what = f"competencies/{asked.competency} to scale {asked.scale}" if asked.competency else f"scales/{asked.scale}"
    told = f"changed {what}" + (f": {asked.reason}" if asked.reason else "")
    edit_by_plan(graph, draft_id, lambda view: _plan(graph, seen, view, asked), who, told, expected_number)


def check_change(graph: LiveGraph, seen: Snapshot, asked: ScaleChange) -> None:
    """Raise what `change_scale` would of a new draft."""
    _plan(graph, seen, graph.get_snapshot(), asked)


def _plan(graph: LiveGraph, seen: Snapshot, view: Snapshot, asked: ScaleChange) -> ChangeOfRecords:
    from ontology.live.scale_changes import plan_move, plan_ranks  # brings the store

    published = graph.get_snapshot()
    try:
        if asked.competency:
            return plan_move(published, view, asked.competency, asked.scale, asked.ranks)
        return plan_ranks(published, view, asked.scale, asked.levels, asked.ranks)
    except InUseError as error:
        users = _hide_people(seen, error.users)
        raise InUseError(error.sentence, error.record, users, len(error.users) - len(users)) from None


def _hide_people(seen: Snapshot, users: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return what uses a scale, without what is recorded of people who may not be seen."""
    tables = {table for table, _ in users} & set(PERSONAL_TABLES)
    keys = {table: {get_key_text(key) for key in seen.get_all(table)} for table in tables}
    return [(table, key) for table, key in users if table not in keys or key in keys[table]]


def name_levels(snapshot: Snapshot, scale: str, labels: Sequence[str]) -> tuple[ScaleLevel, ...]:
    """Return the levels of a scale by their labels, lowest first; one that it has already keeps what is said of it."""
    said = {level.label: level.description for level in snapshot.scales.get(scale, ())}
    return tuple(ScaleLevel(scale, rank, label, said.get(label, "")) for rank, label in enumerate(labels, start=1))


def read_ranks(text: str) -> dict[int, int]:
    """Return rank -> rank of a text that says it of each rank from the first on.

    Raises
    ------
    InputError
        Something in it is no whole number.

    Examples
    --------
    >>> read_ranks("0, 1,3")
    {1: 0, 2: 1, 3: 3}
    """
    parts = [part.strip() for part in text.split(",")]
    wrong = next((part for part in parts if not (part.isascii() and part.isdigit())), None)
    if wrong is not None:
        reason = "must say a rank (0 or more) for each rank of before, separated by commas, like 0,1,1,2"
        raise InputError(f"map {reason} (given: {wrong!r}).", parameter="map", value=text, reason=reason)
    return {rank: int(part) for rank, part in enumerate(parts, start=1)}
