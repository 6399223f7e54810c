"""Rules on maps between scales: every rank once, never falling, and none from a scale to itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.keeping_records import LevelMap
from ontology.snapshot.level_maps import iterate_row_faults, list_map_rows, list_ranks
from ontology.snapshot.snapshot import Snapshot


def _check_map(snapshot: Snapshot, record: LevelMap) -> Iterator[Problem]:
    scales = (record.from_scale, record.to_scale)
    if record.from_scale == record.to_scale or not all(scale in snapshot.scales for scale in scales):
        return  # of a scale that is not there another rule tells
    rows = list_map_rows(snapshot, *scales)
    for column, value, reason in iterate_row_faults(record, rows, *(list_ranks(snapshot, scale) for scale in scales)):
        yield Problem(column, value, f"{describe('level_maps', record)}: {reason}")


def _check_itself(snapshot: Snapshot, record: LevelMap) -> Iterator[Problem]:
    if record.from_scale == record.to_scale:
        reason = (
            f"{describe('level_maps', record)}: a map of scale {record.from_scale} to itself goes with a change of its "
            "ranks, which reads levels by it once; nothing is changed here, remove it"
        )
        yield Problem("to_scale", record.to_scale, reason)


RULES: Final = (
    Rule("a map has every rank once and never falls", "error", "level_maps", _check_map),
    Rule("a map to the same scale goes with its change", "error", "level_maps", _check_itself),
)
