"""A team's cover as a cross-training plan would leave it. Pure.

May import coverage, cross_training and the snapshot. Everyone who learns is taken to have reached what their courses
reach; nobody else changes, and nothing lapses meanwhile: expected, to be confirmed by assessment.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ontology.analysis.cover.coverage import STATES, CoverageResult, CoverageRow, CoverState, ShiftCover
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.graph.snapshot import Snapshot

__all__ = ["compute_cover_after"]


def compute_cover_after(snapshot: Snapshot, coverage: CoverageResult, plan: CrossTrainingResult) -> CoverageResult:
    """Return the cover of a team once a plan is done.

    Parameters
    ----------
    snapshot : Snapshot
    coverage : CoverageResult
        Of the same team and date as the plan.
    plan : CrossTrainingResult

    Notes
    -----
    O(needs x shifts x learners).
    """
    reached = _get_reached(snapshot, plan)
    absent = frozenset(coverage.absent)
    rows = []
    for row in coverage.needs:
        learners = sorted(i for i, levels in reached.items() if levels.get(row.competency, 0) >= row.level)
        if row.shifts:
            shifts = tuple(_change_shift(snapshot, row, shift, learners, absent) for shift in row.shifts)
            worst = min(shifts, key=lambda shift: (shift.depth, STATES.index(shift.state), shift.shift))
            rows.append(
                replace(
                    row,
                    shift=worst.shift,
                    depth=worst.depth,
                    state=worst.state,
                    qualified=worst.qualified,
                    present=worst.present,
                    shifts=shifts,
                )
            )
            continue
        qualified = _add(snapshot, row.qualified, learners, row.shift)
        present = _add(snapshot, row.present, [i for i in learners if i not in absent], row.shift)
        state = _get_state(row, qualified, present)
        rows.append(replace(row, depth=len(present), state=state, qualified=qualified, present=present))
    return replace(coverage, needs=tuple(rows))


def _get_reached(snapshot: Snapshot, plan: CrossTrainingResult) -> Mapping[str, Mapping[str, int]]:
    """Return person -> competency -> level that the plan's lines and courses reach."""
    reached: defaultdict[str, dict[str, int]] = defaultdict(dict)
    for line in plan.plan:
        levels = reached[line.person]
        levels[line.competency] = max(levels.get(line.competency, 0), line.level)
    for learner in plan.learners:
        levels = reached[learner.person]
        for course in learner.courses:
            for outcome in snapshot.get_outcomes(course):
                if not outcome.renews:
                    levels[outcome.competency] = max(levels.get(outcome.competency, 0), outcome.level)
    return reached


def _change_shift(
    snapshot: Snapshot, row: CoverageRow, shift: ShiftCover, learners: Sequence[str], absent: frozenset[str]
) -> ShiftCover:
    qualified = _add(snapshot, shift.qualified, learners, shift.shift)
    present = _add(snapshot, shift.present, [i for i in learners if i not in absent], shift.shift)
    return ShiftCover(shift.shift, len(present), _get_state(row, qualified, present), qualified, present)


def _add(snapshot: Snapshot, ids: Sequence[str], learners: Sequence[str], shift: str | None) -> tuple[str, ...]:
    """Return the ids with the learners of a shift (None: of the team)."""
    return tuple(sorted({*ids, *(i for i in learners if shift is None or snapshot.people[i].shift == shift)}))


def _get_state(row: CoverageRow, qualified: Sequence[str], present: Sequence[str]) -> CoverState:
    if len(present) < row.minimum:
        return "short"
    if len(present) == row.minimum:
        return "sole-holder" if len(present) == 1 else "no-reserve"
    return "below-target" if len(qualified) < row.target else "covered"
