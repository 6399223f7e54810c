"""ESCO 1.1.1 and a copy with 40 edits of every kind: comparing finds exactly those.

Source: the ESCO classification v1.1.1, CSV edition (European Commission, reuse with attribution).
"""

from __future__ import annotations

from functools import cache

import pytest
from edited_esco import EDITS, EditedFramework, edit_framework
from small_company import NO_REFERENCE, REFERENCE

from loaders.pipeline import load_state
from ontology.analysis.compare.comparison import Comparison, compare_states
from ontology.snapshot.snapshot import Snapshot

FOLDER = REFERENCE / "esco"
pytestmark = pytest.mark.skipif(not FOLDER.is_dir(), reason=NO_REFERENCE)


@cache
def load_both() -> tuple[Snapshot, Snapshot, EditedFramework]:
    """Return ESCO, its copy made anew of records, and what was edited."""
    state, _, _ = load_state(FOLDER)
    copy = edit_framework(state)
    return state, Snapshot({name: rows.values() for name, rows in copy.records.items()}, store_id="copy"), copy


def list_columns(found: Comparison) -> set[tuple[str, str, str]]:
    return {
        (one.row.table, one.row.id, change.column)
        for one in found.rows
        if one.row.change == "changed"
        for change in one.row.columns
    }


def test_forty_edits_were_made() -> None:
    assert sum(EDITS.values()) == 40


def test_what_became_of_what_is_suggested_and_nothing_else() -> None:
    state, after, copy = load_both()
    found = compare_states(state, after).suggestions
    told = {kind: [one for one in found if one.kind == kind] for kind in ("same", "split", "merge", "replaced")}
    assert {(one.before[0], one.after[0]) for one in told["same"]} == copy.same
    assert {one.before[0]: one.after for one in told["split"]} == copy.split
    assert {one.before: one.after[0] for one in told["merge"]} == copy.merged
    assert told["replaced"] == []


def test_read_through_what_is_suggested_the_edits_alone_are_left() -> None:
    state, after, copy = load_both()
    found = compare_states(state, after, "suggested")
    own = {("competencies", new, "exact_match") for _, new in copy.same}
    own |= {
        ("competencies", new, column)
        for old, new in copy.same
        for column in ("label", "alt_labels")
        if getattr(after.competencies[new], column) != getattr(state.competencies[old], column)
    }
    assert list_columns(found) == copy.columns | own
    gone = {one.row.id for one in found.rows if one.row.table == "competencies" and one.row.change == "removed"}
    come = {one.row.id for one in found.rows if one.row.table == "competencies" and one.row.change == "added"}
    assert gone == copy.removed | set(copy.split) | {one for pair in copy.merged for one in pair}
    assert come == copy.added | {one for parts in copy.split.values() for one in parts} | set(copy.merged.values())
