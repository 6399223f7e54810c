"""A draft of a live graph, read and changed as the graph itself: what is put into it is an edit of the draft."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from ontology.errors import StaleError
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # a live graph brings the checks and the store
    from ontology.live.live_graph import Applied, Change, LiveGraph
    from ontology.store.engine import Store

__all__ = ["DraftGraph"]


class DraftGraph:
    """A draft on top of the present.

    Parameters
    ----------
    graph : LiveGraph
    draft_id : str
    """

    def __init__(self, graph: LiveGraph, draft_id: str) -> None:
        self._graph = graph
        self._draft_id = draft_id

    @property
    def store(self) -> Store:
        """The store behind it."""
        return self._graph.store

    def get_snapshot(self) -> Snapshot:
        """Return the present with the draft on it."""
        return self._graph.drafts.get_state(self._draft_id).snapshot

    def apply(
        self,
        change: Change,
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        require: Callable[[Snapshot], None] | None = None,
        is_trial: bool = False,
    ) -> Applied:
        """Change the draft; what breaks a rule is taken, and told by its findings. Errors as `Drafts.edit`."""
        from ontology.live.live_graph import Applied

        def require_all(view: Snapshot) -> None:
            if expected_revision is not None and expected_revision != view.revision:
                detail = f"The store is at revision {view.revision}, not {expected_revision}."
                raise StaleError(detail, expected=expected_revision, present=view.revision)
            if require is not None:
                require(view)

        if is_trial:
            require_all(self.get_snapshot())
        else:
            self._graph.drafts.edit(self._draft_id, change, who=who, why=why, require=require_all)
        return Applied(self._graph.get_snapshot().revision)
