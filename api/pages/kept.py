"""What somebody has kept: ways and plans, each with the day it was kept and whether the data have changed since."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from api.access.kept import Kept
from api.desk.names import count
from api.pages.addresses import build_address
from api.pages.page import Link, Page

__all__ = ["KeptRow", "KeptView", "build_view", "describe_kept"]


@dataclass(frozen=True, slots=True)
class KeptRow:
    """One way or plan."""

    number: int
    kind: str
    words: str
    day: dt.date
    address: str
    status: str


@dataclass(frozen=True, slots=True)
class KeptView:
    """All that stands on the page."""

    lead: str
    rows: tuple[KeptRow, ...]


def build_view(kept: Iterable[Kept], revision: int) -> KeptView:
    """Return what is kept; `revision` is that of the data now."""
    rows = tuple(
        KeptRow(
            number=row.number,
            kind="Way" if "/routes?" in row.address else "Plan",
            words=row.words,
            day=row.day,
            address=row.address,
            status="The data are the same as then."
            if row.revision == revision
            else "The data have changed since: open it to see what holds today.",
        )
        for row in kept
    )
    ways = sum(row.kind == "Way" for row in rows)
    plans = len(rows) - ways
    told = [count(number, what) for number, what in ((ways, "way"), (plans, "plan")) if number]
    lead = f"You have kept {' and '.join(told)}." if told else "You have kept nothing yet."
    return KeptView(lead, rows)


def describe_kept(view: KeptView, person: str) -> Page:
    """Return the page of what a person has kept."""
    values: dict[str, Any] = {"view": view, "roles": build_address("people", person, "roles")}
    return Page("kept.html", values, way="stand", trail=(Link("Where I stand", build_address("people", person, "")),))
