"""Rules on shifts, cover needs and places: each within its own team, targets not below minima."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.records import APPLIES_EACH_SHIFT, APPLIES_TEAM, CoverNeed, Place, Shift
from ontology.snapshot.snapshot import Snapshot


def _check_shift_id(snapshot: Snapshot, record: Shift) -> Iterator[Problem]:
    if record.id in (APPLIES_TEAM, APPLIES_EACH_SHIFT):
        reason = f"a shift must not have the id {record.id}: in a cover need it would mean something else"
        yield Problem("id", record.id, reason)


def _check_target(snapshot: Snapshot, record: CoverNeed) -> Iterator[Problem]:
    if record.target < record.minimum:
        reason = f"{describe('cover_needs', record)}: target {record.target} is below the minimum {record.minimum}"
        yield Problem("target", str(record.target), f"{reason}; it must be at least that")


def _check_applies(snapshot: Snapshot, record: CoverNeed) -> Iterator[Problem]:
    if record.applies in (APPLIES_TEAM, APPLIES_EACH_SHIFT):
        return
    shift = snapshot.shifts.get(record.applies)
    if shift is None or shift.team != record.team:
        why = f"a shift of team {shift.team}" if shift else "no shift at all"
        reason = (
            f"{describe('cover_needs', record)} applies to {record.applies!r}, {why}; "
            f"it must be team, each-shift or a shift of team {record.team}"
        )
        yield Problem("applies", record.applies, reason)


def _check_each_shift(snapshot: Snapshot, record: CoverNeed) -> Iterator[Problem]:
    if record.applies == APPLIES_EACH_SHIFT and record.team in snapshot.teams and not snapshot.get_shifts(record.team):
        reason = f"{describe('cover_needs', record)} applies to each shift, but team {record.team} has no shifts"
        yield Problem("applies", record.applies, reason)


def _check_place_shift(snapshot: Snapshot, record: Place) -> Iterator[Problem]:
    shift = snapshot.shifts.get(record.shift)
    if shift is not None and shift.team != record.team:
        reason = (
            f"place {record.id} of team {record.team} is in shift {record.shift}, "
            f"which is a shift of team {shift.team}; a place must be in a shift of its own team"
        )
        yield Problem("shift", record.shift, reason)


RULES: Final = (
    Rule("shift with a reserved id", "error", "shifts", _check_shift_id),
    Rule("target not below minimum", "error", "cover_needs", _check_target),
    Rule("need within its team", "error", "cover_needs", _check_applies),
    Rule("need for shifts that do not exist", "remark", "cover_needs", _check_each_shift),
    Rule("place within its team", "error", "places", _check_place_shift),
)
