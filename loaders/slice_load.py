"""A slice that was edited, onto a draft: compared with the slice at its own revision, cell by cell.

Only what was edited is a change, and the merge rule brings it to the present: what others changed meanwhile elsewhere
stays, and what both changed is a conflict.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from loaders.report import sort_findings
from loaders.slice_merge import HeldBack, SliceMerge, SliceRow, States
from loaders.slices import SliceFilter, cut_slice
from loaders.tables.slice_book import SliceRead
from ontology.errors import DraftConflictsError, FindingsError, InputError, StaleError, UnknownIdError
from ontology.live.live_graph import Change, LiveGraph
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # brings the store
    from ontology.live.draft_state import DraftState

__all__ = ["SliceLoad", "load_slice_onto", "plan_slice_load"]

#: How often it is worked out anew where others publish meanwhile.
_TRIES: Final = 3


@dataclass(frozen=True, slots=True)
class SliceLoad:
    """What an edited slice makes of a draft.

    Attributes
    ----------
    change : of records
    rows : what changes, in the order of tables and keys
    held_back : what was edited and is not put in
    missing : table -> ids of rows of the slice that the file lacks; nothing happens to them
    remarks : sentences
    revision : the one that it was compared with
    view : the state of the draft that it was worked out for
    """

    change: Change
    rows: tuple[SliceRow, ...]
    held_back: tuple[HeldBack, ...]
    missing: Mapping[str, tuple[str, ...]]
    remarks: tuple[str, ...]
    revision: int
    view: Snapshot


def load_slice_onto(
    graph: LiveGraph,
    draft_id: str,
    read: SliceRead,
    *,
    who: str,
    why: str,
    expected_number: int | None = None,
    may_begin: bool = False,
) -> tuple[SliceLoad, int]:
    """Put an edited slice into a draft; return what changed and the draft's number.

    `may_begin`: where there is no such draft it is begun, on the revision of the slice.

    Raises
    ------
    UnknownIdError, StaleError, ConflictError
        As `Drafts.edit`.
    FindingsError, InputError
        As `plan_slice_load`.
    """
    drafts = graph.drafts
    try:
        drafts.get(draft_id)
    except UnknownIdError:
        if not may_begin:
            raise
        first = plan_slice_load(graph, draft_id, read)
        drafts.start(draft_id, draft_id, who=who, base=str(first.revision))
    for left in reversed(range(_TRIES)):
        plan = plan_slice_load(graph, draft_id, read)

        def require(view: object, seen: object = plan.view) -> None:
            if view is not seen:
                raise StaleError("The draft leads to another state by now; repeat this.")

        try:
            edited = drafts.edit(
                draft_id, plan.change, who=who, why=why, require=require, expected_number=expected_number
            )
        except StaleError:
            if not left or expected_number not in (None, drafts.get(draft_id).number):
                raise
        else:
            return plan, edited.number
    raise AssertionError("the last try ends it")


def plan_slice_load(graph: LiveGraph, draft_id: str, read: SliceRead) -> SliceLoad:
    """Return what an edited slice would make of a draft, or of the present state where there is no such draft yet.

    Raises
    ------
    FindingsError
        Rows cannot be parsed.
    InputError
        The slice is of a revision that cannot be shown, or its filter cannot be read.

    Notes
    -----
    O(cells of the file + records of its tables), and one look at a past state.
    """
    errors = [finding for finding in read.loaded.findings if finding.severity == "error"]
    if errors:
        told = format_count(len(errors), "error")
        raise FindingsError(f"{told} found; nothing was stored.", sort_findings(read.loaded.findings))
    try:
        state = graph.drafts.get_state(draft_id)
    except UnknownIdError:
        state = None
    present = state.ground.present if state else graph.get_snapshot()
    revision, remarks = _find_revision(graph, read, present)
    then = graph.past.get_snapshot(revision, present)
    base = graph.past.get_snapshot(state.draft.base, present) if state else then
    states = States(state.snapshot if state else present, present, base)
    plan = SliceMerge(states, cut_slice(then, SliceFilter.parse(read.note.texts)), read)
    plan.compare()
    if state and plan.n_conflicts and not _stay_conflicts(graph, state, plan.build_change()):
        plan = SliceMerge(states, plan.old, read, may_conflict=False)
        plan.compare()
    said = (*remarks, *plan.list_remarks())
    kept = (tuple(plan.rows), tuple(plan.held), plan.missing)
    return SliceLoad(plan.build_change(), *kept, said, revision, states.view)


def _find_revision(graph: LiveGraph, read: SliceRead, present: Snapshot) -> tuple[int, list[str]]:
    if read.note.store_id != present.store_id:
        told = "This slice was cut of another store: it was compared with what is published here now."
        return present.revision, [told]
    text = str(read.note.revision)
    try:
        return graph.past.find_moment(text, present, graph.store.get_today()).revision, []
    except InputError as error:
        reason = error.context["reason"]
        raise InputError(f"The revision of the slice {reason} (given: {text}).", parameter="draft") from None


def _stay_conflicts(graph: LiveGraph, state: DraftState, change: Change) -> bool:
    """Whether a draft keeps its base when it is edited so: brought to the present it would have lost the conflicts."""
    from ontology.live.draft_edits import edit_pair, find_quads

    try:
        base, _ = edit_pair(state, *find_quads(graph.store, state, change.put, change.remove))
    except DraftConflictsError:
        return False
    return base == state.draft.base
