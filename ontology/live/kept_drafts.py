"""The drafts that a store keeps, as they are asked for: each by itself, and on top of the present."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from threading import Lock
from typing import TYPE_CHECKING, Any, Final, Protocol

from ontology.errors import Finding, UnknownIdError
from ontology.live.draft_plan import find_change_findings, find_state_findings
from ontology.live.draft_state import DraftState, lead_draft
from ontology.live.ground import Ground
from ontology.model.columns import ID_PATTERN
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import DRAFT_GRAPHS, Draft, DraftEdit, Pair, read_drafts, read_edits, read_pair
from ontology.store.history import Commit, Patch, read_patches

if TYPE_CHECKING:
    from ontology.live.as_of import PastStates
    from ontology.store.engine import Store

__all__ = ["Graph", "KeptDrafts"]

#: States of drafts that are kept.
KEPT: Final = 4


class Graph(Protocol):
    """What is asked of a live graph."""

    store: Store
    past: PastStates
    tell_author: Callable[[str], str]

    def get_snapshot(self) -> Snapshot: ...


class KeptDrafts:
    """The drafts of one open store, read. Safe for many threads."""

    def __init__(self, graph: Graph) -> None:
        self._graph = graph
        self._lock = Lock()
        self._states: OrderedDict[tuple[Draft, int], DraftState] = OrderedDict()
        self._since: OrderedDict[tuple[int, int], Sequence[tuple[Commit, Patch]]] = OrderedDict()
        self._listed: tuple[tuple[int, int], list[Draft]] | None = None
        #: How often this process has written to a draft beside a commit.
        self.n_written = 0

    def list_all(self) -> list[Draft]:
        """Return all drafts, by id; they are read again when one was written to, or a commit made."""
        key = (self._graph.store.revision, self.n_written)
        listed = self._listed
        if listed is None or listed[0] != key:
            self._listed = listed = (key, read_drafts(self._graph.store))
        return [self._name(draft) for draft in listed[1]]

    def get(self, draft_id: str) -> Draft:
        """Return a draft; UnknownIdError where there is none."""
        return self._name(self._read(draft_id))

    def list_edits(self, draft_id: str) -> list[DraftEdit]:
        """Return what was done to a draft, oldest first; UnknownIdError where there is none."""
        edits = read_edits(self._graph.store, self._read(draft_id))
        return [replace(edit, who=self._graph.tell_author(edit.who)) for edit in edits]

    def get_state(self, draft_id: str) -> DraftState:
        """Return a draft on top of the present; the last ones are kept.

        Raises
        ------
        UnknownIdError
            There is no such draft.

        Notes
        -----
        O(quads of the draft + commits since its base), then as `patch_snapshot`.
        """
        store = self._graph.store
        while True:
            present = self._graph.get_snapshot()
            draft = self._read(draft_id)
            state = self._find_kept(draft, present.revision)
            if state is not None:
                return state
            state = self._lead(draft, read_pair(store, draft_id), present)
            # read in several steps: somebody may have written between them
            if self._read(draft_id) == draft and store.revision == present.revision:
                self._keep(state, present.revision)
                return state
            with store.lock:
                pass

    def find_errors(self, draft_id: str) -> Sequence[Finding]:
        """Return the errors of the state that a draft leads to, kept with it; errors as `get_state`."""
        state = self.get_state(draft_id)
        today = self._graph.store.get_today()
        found = state.keep(("change", today), partial(find_change_findings, self._graph.store, state))
        return [finding for finding in found if finding.severity == "error"]

    def find_findings(self, draft_id: str) -> Sequence[Finding]:
        """Return all findings of the state that a draft leads to, errors first, kept with it; errors as `get_state`."""
        state = self.get_state(draft_id)
        today = self._graph.store.get_today()
        return state.keep(("state", today), partial(find_state_findings, self._graph.store, state))

    def _lead(self, draft: Draft, pair: Pair, present: Snapshot) -> DraftState:
        def read_undone() -> tuple[Snapshot, Snapshot] | None:
            if draft.undo_of is None:
                return None
            past, revision = self._graph.past, draft.undo_of
            return past.get_snapshot(revision - 1, present), past.get_snapshot(revision, present)

        since = self._read_since(draft.base, present)
        return lead_draft(draft, pair, Ground(self._graph.store, present, since, read_undone))

    def _read_since(self, base: int, present: Snapshot) -> Sequence[tuple[Commit, Patch]]:
        key = (base, present.revision)
        with self._lock:
            since = self._since.get(key)
        if since is None:
            commits = list(self._graph.past.list_commits(present.revision))[base:]
            since = list(read_patches(self._graph.store, commits, DRAFT_GRAPHS))
            with self._lock:
                _put(self._since, key, since)
        return since

    def _find_kept(self, draft: Draft, revision: int) -> DraftState | None:
        with self._lock:
            return self._states.get((draft, revision))

    def _keep(self, state: DraftState, revision: int) -> None:
        with self._lock:
            _put(self._states, (state.draft, revision), state)

    def _read(self, draft_id: str) -> Draft:
        found = read_drafts(self._graph.store, draft_id) if ID_PATTERN.fullmatch(draft_id) else []
        if not found:
            raise UnknownIdError("drafts", draft_id)
        return found[0]

    def _name(self, draft: Draft) -> Draft:
        return replace(draft, author=self._graph.tell_author(draft.author))


def _put(kept: OrderedDict[Any, Any], key: Any, value: Any) -> None:
    kept[key] = value
    kept.move_to_end(key)
    while len(kept) > KEPT:
        kept.popitem(last=False)
