"""Rules on levels: within their scale, in order within a requirement, and no jumps without a condition."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.model.records import EntryCondition, Outcome, Requirement, ScaleLevel
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

#: Levels a course may raise, or time in a role may bring, before the architect hears of it.
LEVEL_LIMIT: Final = 2

#: The columns that hold ranks of the competency's scale, by table.
LEVEL_COLUMNS: Final[dict[str, tuple[str, ...]]] = {
    "requirements": ("level", "entry_level", "unsupervised_level"),
    "outcomes": ("level",),
    "entry_conditions": ("level",),
    "assessments": ("level",),
    "cover_needs": ("level",),
    "equivalences": ("level", "as_level"),
    "appointments": ("level",),
    "obligations": ("level",),
    "orientation_items": ("level",),
}


def get_measured(column: str) -> str:
    """Return the field that names the competency whose scale a column of levels is of."""
    return "counts_as" if column == "as_level" else "competency"


def get_top_level(snapshot: Snapshot, competency_id: str) -> int | None:
    """Return the highest rank of a competency's scale, or None where either is unknown."""
    competency = snapshot.competencies.get(competency_id)
    levels = snapshot.scales.get(competency.scale) if competency else None
    return max(level.rank for level in levels) if levels else None


def _check_ranks(snapshot: Snapshot, level: ScaleLevel) -> Iterator[Problem]:
    ranks = [other.rank for other in snapshot.scales.get(level.scale, ())]
    wrong = next((rank for position, rank in enumerate(ranks, start=1) if rank != position), None)
    if level.rank == wrong:
        shown = ", ".join(map(str, ranks))
        yield Problem("rank", str(wrong), f"scale {level.scale} has the ranks {shown}; they must run 1 to {len(ranks)}")


def _make_scale_check(table_name: str, *columns: str) -> Rule:
    def check(snapshot: Snapshot, record: Any) -> Iterator[Problem]:
        for column in columns:
            competency_id, value = getattr(record, get_measured(column)), getattr(record, column)
            top = get_top_level(snapshot, competency_id)
            # a level that was left out follows the full one: one fault, one finding
            is_told = column in ("entry_level", "unsupervised_level") and value == record.level
            if top is None or value is None or is_told:
                continue
            lowest = int(TABLES[table_name].get_column(column).minimum or 0)
            if not lowest <= value <= top:
                scale = snapshot.competencies[competency_id].scale
                reason = (
                    f"{describe(table_name, record)}: {column} {value} is not on scale {scale}, "
                    f"which measures {competency_id}; its levels are 1 to {top}"
                )
                yield Problem(column, str(value), reason)

    return Rule("levels within the scale", "error", table_name, check)


def _check_above_full(snapshot: Snapshot, record: Requirement) -> Iterator[Problem]:
    for column, value in (("entry_level", record.entry_level), ("unsupervised_level", record.unsupervised_level)):
        if value > record.level:
            reason = f"{describe('requirements', record)}: {column} {value} is above the full level {record.level}"
            yield Problem(column, str(value), f"{reason}; it must not be")


def _check_growth(snapshot: Snapshot, record: Requirement) -> Iterator[Problem]:
    if record.level - record.entry_level > LEVEL_LIMIT:
        reason = (
            f"{describe('requirements', record)}: the full level {record.level} is more than {LEVEL_LIMIT} above "
            f"the entry level {record.entry_level}; time in the role alone may not bring that"
        )
        yield Problem("entry_level", str(record.entry_level), reason)


def _check_unsupervised(snapshot: Snapshot, record: Requirement) -> Iterator[Problem]:
    if record.unsupervised_level < record.entry_level:
        reason = (
            f"{describe('requirements', record)}: the unsupervised level {record.unsupervised_level} is below the "
            f"entry level {record.entry_level}; whoever may start would work alone at once"
        )
        yield Problem("unsupervised_level", str(record.unsupervised_level), reason)


def _get_condition(snapshot: Snapshot, outcome: Outcome) -> EntryCondition | None:
    conditions = snapshot.get_entry_conditions(outcome.course)
    return next((c for c in conditions if c.competency == outcome.competency), None)


def _check_jump(snapshot: Snapshot, record: Outcome) -> Iterator[Problem]:
    if record.renews:
        return
    condition = _get_condition(snapshot, record)
    start = condition.level if condition else 0
    if record.level - start > LEVEL_LIMIT:
        asked = f"asks only level {start} of it" if condition else "has no entry condition for it"
        reason = (
            f"course {record.course} raises {record.competency} to level {record.level} but {asked}; "
            f"a jump of more than {LEVEL_LIMIT} levels needs an entry condition"
        )
        yield Problem("level", str(record.level), reason)


def _check_gain(snapshot: Snapshot, record: Outcome) -> Iterator[Problem]:
    condition = _get_condition(snapshot, record)
    if condition is not None and not record.renews and record.level <= condition.level:
        reason = (
            f"course {record.course} leads to level {record.level} of {record.competency} "
            f"and asks level {condition.level} of it already; nobody gains by it"
        )
        yield Problem("level", str(record.level), reason)


RULES: Final = (
    Rule("ranks run from 1 without a hole", "error", "scales", _check_ranks),
    *(_make_scale_check(name, *columns) for name, columns in LEVEL_COLUMNS.items()),
    Rule("no level above the full level", "error", "requirements", _check_above_full),
    Rule("growth on the job", "remark", "requirements", _check_growth),
    Rule("unsupervised below entry", "remark", "requirements", _check_unsupervised),
    Rule("jump of levels", "remark", "outcomes", _check_jump),
    Rule("outcome without gain", "remark", "outcomes", _check_gain),
)
