"""Small companies for tests: records from short tuples, without files or a store."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)

#: The shared reference data: beside the project on the team's machines and in CI, absent in a user's clone.
REFERENCE = Path(__file__).resolve().parents[3] / "shared" / "reference"
NO_REFERENCE = "the shared reference data are not beside this clone"


def build_snapshot(revision: int = 1, **tables: Iterable[Mapping[str, Any]]) -> Snapshot:
    """Return a Snapshot from rows (dicts by attribute name) per table, defaults filled in."""
    return Snapshot(
        {name: [TABLES[name].build(**row) for row in rows] for name, rows in tables.items()},
        revision=revision,
        store_id="test",
    )


def build_scale(scale: str = "s5", n: int = 5) -> list[dict[str, Any]]:
    """Return the rows of a scale with n levels."""
    return [{"scale": scale, "rank": rank, "label": f"Level {rank}"} for rank in range(1, n + 1)]


def build_competencies(ids: str, scale: str = "s5", **more: Any) -> list[dict[str, Any]]:
    """Return competency rows for ids separated by blanks."""
    return [{"id": i, "label": i.upper(), "scale": scale} | more for i in ids.split()]
