"""What comparing two states answers: the record, made of a comparison, with the rows of one page in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from api.desk.change_words import HistoryWords, dump_row
from api.desk.named_states import ToldNamedState
from ontology.analysis.compare.compared_rows import ComparedRow
from ontology.analysis.compare.comparison import Comparison
from ontology.model.changes import Row
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, slots=True)
class ComparedTable:
    """How a table differs."""

    table: Annotated[str, "The table."]
    before: Annotated[int, "Records in the first state."]
    after: Annotated[int, "Records in the second."]
    added: Annotated[int, "Records that came."]
    removed: Annotated[int, "Records that went."]
    changed: Annotated[int, "Records in both that say something else."]
    renumbered: Annotated[int, "Records in both under another id, or that name one."]
    columns: Annotated[Mapping[str, int], "Column: in how many rows it changed."]


@dataclass(frozen=True, slots=True)
class ToldRow:
    """One record that came, went or changed."""

    table: Annotated[str, "The table."]
    id: Annotated[str, "Its id in the second state; of a removed record that in the first. Parts are joined by ~."]
    from_id: Annotated[str | None, "Its id in the first state, where that is another one."]
    label: Annotated[str, "What the record is called."]
    change: Annotated[Literal["added", "removed", "changed"], "added, removed or changed."]
    columns: Annotated[
        tuple[Mapping[str, Any], ...],
        "What differs: column, from and to (gone and new, where it holds several values), direction, stated.",
    ]
    is_id_reused: Annotated[bool, "Whether its id stands for something else in the other state."]
    is_retired: Annotated[bool, "Whether it is retired in the second state: it counts as removed."]
    words: Annotated[str, "The same in words."]


@dataclass(frozen=True, slots=True)
class ToldIdentity:
    """Records of different ids that are the same."""

    table: Annotated[str, "The table."]
    from_: Annotated[str, "Its id in the first state."]
    to: Annotated[str, "Its id in the second."]
    by: Annotated[
        Literal["exact-match", "replacement"],
        "By what: the same concept elsewhere, or one took the place of the other in the second state.",
    ]


@dataclass(frozen=True, slots=True)
class ToldSuggestion:
    """What may have become of records."""

    table: Annotated[str, "The table."]
    kind: Annotated[Literal["same", "split", "merge", "replaced"], "What may have happened."]
    from_: Annotated[tuple[str, ...], "Ids in the first state."]
    to: Annotated[tuple[str, ...], "Ids in the second."]
    score: Annotated[float, "How much speaks for it, 0 to 1."]
    label_score: Annotated[float | None, "Of two that may be the same, how alike their labels are, 0 to 1."]
    overlap: Annotated[
        float | None, "Of two that may be the same, which share of what hangs on them is the same; null: nothing does."
    ]


@dataclass(frozen=True, slots=True)
class CompareResult:
    """How two states differ."""

    from_: Annotated[ToldNamedState, "The first state."]
    to: Annotated[ToldNamedState, "The second state."]
    match: Annotated[
        Literal["ids", "known", "suggested"], "By what records count as the same: see the parameter of that name."
    ]
    tables: Annotated[tuple[ComparedTable, ...], "How each table differs."]
    rows: Annotated[tuple[ToldRow, ...], "What came, went and changed: those of the page asked."]
    rows_total: Annotated[int, "How many rows there are."]
    identities: Annotated[tuple[ToldIdentity, ...], "Records of different ids that are known to be the same."]
    suggestions: Annotated[tuple[ToldSuggestion, ...], "What may have become of records that have no counterpart."]


@dataclass(frozen=True, slots=True)
class Compared:
    """The answer's record, all rows that are asked, and the states that hold the names of what they speak of.

    `present` is the state that is asked itself: what is there can be led to.
    """

    record: CompareResult
    rows: tuple[ComparedRow, ...]
    words: CompareWords
    before: Snapshot
    after: Snapshot
    present: Snapshot


class CompareWords:
    """Tells rows in words: what went by the names of the first state, all else by those of the second."""

    def __init__(self, before: Snapshot, after: Snapshot) -> None:
        self._before, self._after = HistoryWords(before), HistoryWords(after)

    def get(self, row: Row) -> HistoryWords:
        """Return what tells a row."""
        return self._before if row.change == "removed" else self._after

    def name(self, row: Row) -> str:
        """Return what the record of a row is called."""
        return self.get(row).name(row)

    def tell(self, one: ComparedRow) -> str:
        """Return a row in words."""
        row = one.row
        if one.is_retired:
            return f"{self.name(row)}: {self._after.tell_retired(row.table, row.id)}"
        return self.get(row).tell(row)


def build_result(
    before: ToldNamedState,
    after: ToldNamedState,
    match: Literal["ids", "known", "suggested"],
    found: Comparison,
    rows: Sequence[ComparedRow],
    total: int,
    words: CompareWords,
) -> CompareResult:
    """Return the record: `rows` are those of the page, of `total` in all."""
    return CompareResult(
        from_=before,
        to=after,
        match=match,
        tables=tuple(
            ComparedTable(
                one.table, one.before, one.after, one.added, one.removed, one.changed, one.renumbered, one.columns
            )
            for one in found.tables
        ),
        rows=tuple(_tell_row(one, words) for one in rows),
        rows_total=total,
        identities=tuple(ToldIdentity(one.table, one.before, one.after, one.by) for one in found.identities),
        suggestions=tuple(
            ToldSuggestion(one.table, one.kind, one.before, one.after, one.score, one.label_score, one.overlap)
            for one in found.suggestions
        ),
    )


def _tell_row(one: ComparedRow, words: CompareWords) -> ToldRow:
    told = dump_row(one.row, words.get(one.row))
    return ToldRow(
        table=one.row.table,
        id=one.row.id,
        from_id=one.from_id or None,
        label=told["label"],
        change=one.row.change,
        columns=tuple(told["columns"]),
        is_id_reused=one.is_id_reused,
        is_retired=one.is_retired,
        words=words.tell(one),
    )
