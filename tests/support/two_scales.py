"""A small works measured on three scales, with maps between them: for tests of what is read on another scale."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ON", "Row", "build_graph", "build_works", "make", "map_rows", "replaced", "retired"]

ON, DAY = date(2026, 11, 24), date(2026, 10, 1)
SCALES = {"craft": 3, "short": 2, "long": 5}
Row = tuple[str, Any]


def make(what: str, **values: Any) -> Row:
    """Return a record with its table."""
    return what, TABLES[what].build(**values)


def map_rows(one: str, other: str, ranks: Sequence[int]) -> list[Row]:
    """Return the rows of a map: for each rank of the first scale, from 1, the rank on the other."""
    return [
        make("level_maps", from_scale=one, from_rank=rank, to_scale=other, to_rank=to)
        for rank, to in enumerate(ranks, start=1)
    ]


def build_works(*more: Row) -> Snapshot:
    """Return a role that asks pumps and hoists, a course, a team, and Ada and Ben, assessed in them."""
    rows = [make("scales", scale=s, rank=r, label=f"{s} {r}") for s, top in SCALES.items() for r in range(1, top + 1)]
    rows += [make("competencies", id=i, label=i.title(), scale="craft") for i in ("pump", "hoist")]
    rows += [make("competencies", id=i, label=i.title(), scale=s) for i, s in (("drum", "short"), ("lever", "long"))]
    rows += [make("roles", id=i, label=i.title()) for i in ("operator", "rigger")]
    rows += [
        make("requirements", role="operator", competency="pump", level=2),
        make("requirements", role="operator", competency="hoist", level=3, entry_level=1, unsupervised_level=2),
        make("courses", id="hoisting", label="Hoisting", hours=8.0),
        make("outcomes", course="hoisting", competency="hoist", level=2),
        make("entry_conditions", course="hoisting", competency="hoist", level=1),
        make("teams", id="works", label="Works"),
        make("cover_needs", team="works", competency="hoist", level=3),
        make("cover_needs", team="works", competency="hoist", level=2, minimum=2),
        make("people", id="p1", name="Ada Example", team="works", role="operator"),
        make("people", id="p2", name="Ben Example", team="works", role="operator"),
    ]
    rows += [
        make("assessments", person=person, competency=i, level=level, date=date(2026, 5, day), source="assessor")
        for person, i, level, day in (
            *(("p1", "hoist", 1, 2), ("p1", "hoist", 3, 20), ("p1", "pump", 3, 3)),
            *(("p2", "hoist", 2, 2), ("p2", "pump", 1, 3)),
        )
    ]
    return Snapshot({}).with_changes(put=rows).with_changes(put=more)


def build_graph(*more: Row) -> LiveGraph:
    """Return the works in memory, with some records more."""
    records: dict[str, list[Any]] = {}
    for name, record in build_works(*more).iterate_records():
        records.setdefault(name, []).append(record)
    graph = LiveGraph.in_memory()
    graph.load(records, who="test", why="the works")
    return graph


def retired(state: Snapshot, competency: str) -> Row:
    """Return a competency of a state as retired."""
    return "competencies", replace(state.competencies[competency], retired_on=DAY)


def replaced(old: str, new: str, carry: str = "same") -> Row:
    """Return that one competency took the place of another."""
    return make("replacements", table="competencies", old=old, new=new, carry=carry)
