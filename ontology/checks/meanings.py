"""What a change would make recorded levels say: a level keeps its meaning as long as something is recorded on it.

A level is recorded as a rank, so a label that moves to another rank, a rank that goes, and a competency measured on
another scale give all that is recorded another meaning without a word. Rewording a label where it stands, and new
levels that move none of the recorded ones, change nothing.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from ontology.checks.rescaling import Rescaling, find_rescaling, find_unread
from ontology.checks.rules.base import name_rule
from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.errors import Finding
from ontology.model.columns import Key
from ontology.model.folding import fold
from ontology.model.key_text import get_key_text
from ontology.model.records import ScaleLevel
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

#: The source of its findings.
SOURCE: Final = name_rule("recorded levels keep their meaning")

#: Rank -> (table, key joined by ~) of the records that hold it.
_Uses = dict[int, list[tuple[str, str]]]


@dataclass(frozen=True, slots=True)
class MeaningChange:
    """One scale or competency whose recorded levels would say something else.

    Parameters
    ----------
    about : tuple of str
        Table and key of the record that must not be changed so.
    column, value, reason : str
        As in a Finding.
    uses : tuple of (table, key joined by ~)
        What is recorded on it, in the order of tables and keys.
    """

    about: tuple[str, ...]
    column: str
    value: str
    reason: str
    uses: tuple[tuple[str, str], ...]

    def as_finding(self) -> Finding:
        """Return it as an error with its address."""
        return Finding("error", SOURCE, 0, self.column, self.value, self.reason, self.about)


def find_meaning_changes(
    present: Snapshot,
    after: Snapshot,
    put: Sequence[tuple[str, Any]],
    remove: Sequence[tuple[str, Any]],
    rescaling: Rescaling | None = None,
    undone: Snapshot | None = None,
) -> list[MeaningChange]:
    """Return every scale and competency whose recorded levels would change their meaning, scales first.

    Levels are read anew by `rescaling`, by the maps of `after` when left out; `undone` is the state that is brought
    back, where a commit is undone.

    Notes
    -----
    What is recorded = levels that `present` holds and `after` still holds in the same record. O(n) over the records
    with levels where a scale or a competency's scale changes, otherwise O(size of the change).
    """
    scales = {record.scale for name, record in put if name == "scales"}
    scales |= {key[0] for name, key in remove if name == "scales"}
    changed = {s for s in scales if s in present.scales and present.scales[s] != after.scales.get(s, ())}
    known = present.get_all("competencies")
    moved = any(name == "competencies" and known.get((one.id,), one).scale != one.scale for name, one in put)
    if not changed and not moved:
        return []
    rescaling = find_rescaling(present, after) if rescaling is None else rescaling
    # of a scale with a map of its own, what is not read by it is told of each competency
    changed -= {scale for scale, reading in rescaling.own.items() if reading is not None} | rescaling.brought_back
    uses = _collect_uses(present, after) if changed else {}
    unread = find_unread(rescaling, present, after, undone)
    found = [_check_scale(present, after, scale, uses) for scale in sorted(changed)]
    found += [_check_competency(present, after, one, rescaling, rows) for one, rows in sorted(unread.items())]
    return [change for change in found if change is not None]


def _collect_uses(present: Snapshot, after: Snapshot) -> Mapping[str, _Uses]:
    """Return competency -> rank -> the records that hold it before and after the change."""
    uses: defaultdict[str, _Uses] = defaultdict(lambda: defaultdict(list))
    for name, columns in LEVEL_COLUMNS.items():
        kept = after.get_all(name)
        for key, record in present.get_all(name).items():
            later = kept.get(key)
            if later is None:
                continue
            for competency, rank in _list_levels(record, columns) & _list_levels(later, columns):
                uses[competency][rank].append((name, get_key_text(key)))
    return uses


def _list_levels(record: Any, columns: Sequence[str]) -> set[tuple[str, int]]:
    """Return (competency, rank) of the levels of a record."""
    return {(getattr(record, get_measured(c)), rank) for c in columns if (rank := getattr(record, c))}


def _check_scale(present: Snapshot, after: Snapshot, scale: str, uses: Mapping[str, _Uses]) -> MeaningChange | None:
    used: defaultdict[int, list[tuple[str, str]]] = defaultdict(list)
    known = present.get_all("competencies")
    for competency, by_rank in uses.items():
        if (competency,) in known and known[competency,].scale == scale:
            for rank, records in by_rank.items():
                used[rank] += records
    faults = list(_iterate_faults(present.scales[scale], after.scales.get(scale, ()), used))
    if not faults:
        return None
    first = faults[0]
    records = sorted({record for fault in faults for record in used[fault.used]})
    reason = (
        f"scale {scale}: {first.reason}, and what is recorded would mean something else ({_tell_uses(records)}); "
        "add levels above the others, reword a label where it stands, say by a map of the scale to itself (level_maps) "
        "what each rank becomes, or make a new scale"
    )
    return MeaningChange(("scales", scale, str(first.rank)), "label", first.label, reason, tuple(records))


@dataclass(frozen=True, slots=True)
class _Fault:
    """The rank at fault and its label after the change, and the rank in use whose meaning it changes."""

    rank: int
    label: str
    used: int
    reason: str


def _iterate_faults(
    old_levels: Sequence[ScaleLevel], new_levels: Sequence[ScaleLevel], used: Mapping[int, Any]
) -> Iterator[_Fault]:
    old = {level.rank: level for level in old_levels}
    new = {level.rank: level for level in new_levels}
    for rank in sorted(rank for rank in used if rank in old):
        label = old[rank].label
        if rank not in new:
            yield _Fault(rank, label, rank, f"level {rank} ({label}) would go")
            continue
        now = _find_others(label, new, old)
        before = _find_others(new[rank].label, old, new)
        is_reworded = fold(new[rank].label) != fold(label)
        if now:
            fault = new[rank if is_reworded else now[0]]
            yield _Fault(fault.rank, fault.label, rank, f"{label} would move from level {rank} to level {now[0]}")
        elif is_reworded and before:
            moved = new[rank].label
            yield _Fault(rank, moved, rank, f"{moved} would move from level {before[0]} to level {rank}")


def _find_others(label: str, levels: Mapping[int, ScaleLevel], others: Mapping[int, ScaleLevel]) -> list[int]:
    """Return the ranks of `levels` with this label that do not have it in `others`."""
    folded = fold(label)
    ranks = sorted(rank for rank, level in levels.items() if fold(level.label) == folded)
    return [rank for rank in ranks if rank not in others or fold(others[rank].label) != folded]


def _check_competency(
    present: Snapshot, after: Snapshot, competency: str, rescaling: Rescaling, rows: Sequence[tuple[str, Key]]
) -> MeaningChange:
    records = tuple(sorted({(name, get_key_text(key)) for name, key in rows}))
    known, now = present.get_all("competencies"), after.get_all("competencies")
    old, new = known[competency,].scale, now[competency,].scale
    told = f"competency {competency}: its levels are recorded on scale {old} ({_tell_uses(records)})"
    if rescaling.readings[competency] is not None:
        reason = f"{told} and are not read by the map to scale {new} yet; change the scale in the draft again"
    else:
        reason = (
            f"{told} and would mean something else on scale {new}; say by a whole map (level_maps) what each rank of "
            f"{old} counts as on {new}, make a new competency for scale {new}, or remove what is recorded first"
        )
    return MeaningChange(("competencies", competency), "scale", new, reason, records)


def _tell_uses(records: Sequence[tuple[str, str]]) -> str:
    """Return how many records of which tables: "1 requirement, 3 assessments"."""
    counts = Counter(table for table, _ in records)
    return ", ".join(table.count(counts[name]) for name, table in TABLES.items() if name in counts)
