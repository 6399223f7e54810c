"""What pictures call a record: as every other face does, but where that is blank by its id. Imports names, text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from api.pictures.text import get_name
from ontology.snapshot import names
from ontology.snapshot.snapshot import Snapshot

__all__ = ["get_label", "get_place_label", "get_shift_label"]


def get_label(index: Mapping[str, Any], record_id: str) -> str:
    """Return the label or name of a record of an index (`snapshot.people`), or its id."""
    return get_name(names.get_name(index, record_id), record_id)


def get_place_label(snapshot: Snapshot, place_id: str) -> str:
    """Return what people read for a place, or its id."""
    return get_name(names.get_place_name(snapshot, place_id), place_id)


def get_shift_label(snapshot: Snapshot, shift_id: str | None) -> str:
    """Return a shift's label; empty for the whole team."""
    return get_label(snapshot.shifts, shift_id) if shift_id else ""
