"""Two states compared: which records are the same, what came, went and changed, what may have become of the others."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final, Literal

from ontology.analysis.compare.compared_rows import ComparedRow, TableCounts, compare_tables
from ontology.analysis.compare.neighbours import TOLD
from ontology.analysis.compare.pairs import Identity, Match, Pairs, find_pairs
from ontology.analysis.compare.parts import find_parts
from ontology.analysis.compare.same import find_likely
from ontology.model.tables import NODE_TABLES, PERSONAL_TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["NOT_PERSONAL", "Comparison", "Suggestion", "compare_states"]

#: The tables that are compared; what is said in other languages is told with the record that it is said of.
NOT_PERSONAL: Final = frozenset(NODE_TABLES) - PERSONAL_TABLES
_KINDS: Final = ("same", "split", "merge", "replaced")


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What may have become of records; label_score and overlap are those of two that are probably the same."""

    table: str
    kind: Literal["same", "split", "merge", "replaced"]
    before: tuple[str, ...]
    after: tuple[str, ...]
    score: float
    label_score: float | None
    overlap: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """How two states differ."""

    tables: tuple[TableCounts, ...]
    rows: tuple[ComparedRow, ...]
    identities: tuple[Identity, ...]
    suggestions: tuple[Suggestion, ...]


def compare_states(
    before: Snapshot, after: Snapshot, match: Match = "known", tables: Collection[str] = NOT_PERSONAL
) -> Comparison:
    """Return how two states differ, all that is about people left out.

    Parameters
    ----------
    match : ids, known, suggested
        By what records are the same: their ids alone; also by the concept elsewhere that they tell; also as suggested.
    tables : of which is told; what both states speak of

    Notes
    -----
    O(n) for n records, and what `find_likely` takes for those without a counterpart.
    """
    pairs = find_pairs(before, after, match)
    suggested = pairs.copy()
    likely = find_likely(before, after, suggested)
    became = find_parts(before, after, suggested)
    suggestions = [
        Suggestion(one.table, "same", (one.before,), (one.after,), one.score, one.label_score, one.overlap)
        for one in likely
    ]
    suggestions += [Suggestion(one.table, one.kind, one.before, one.after, one.score, None, None) for one in became]
    suggestions.sort(key=lambda one: (TOLD.index(one.table), _KINDS.index(one.kind), -one.score, one.before, one.after))
    used: Pairs = suggested if match == "suggested" else pairs
    counts, rows = compare_tables(before, after, used, tables)
    return Comparison(
        tuple(counts),
        tuple(rows),
        tuple(one for one in pairs.identities if one.table in tables),
        tuple(one for one in suggestions if one.table in tables),
    )
