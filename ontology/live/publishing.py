"""A draft becomes the present state: one commit, its release and the draft's end in the same step."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ontology.errors import ConflictError, DraftConflictsError
from ontology.live.draft_plan import plan_draft
from ontology.live.draft_state import DraftState
from ontology.live.reasons import tell_reason
from ontology.live.releases import make_release
from ontology.model.tables import PERSONAL_TABLES
from ontology.plurals import format_count
from ontology.store.commit_text import Beside
from ontology.store.drafts import Draft, DraftEdit, Pair, change_draft
from ontology.store.releases import Release

if TYPE_CHECKING:
    from ontology.live.live_graph import LiveGraph

__all__ = ["publish_draft", "require_settled"]


def publish_draft(
    graph: LiveGraph,
    draft_id: str,
    version: str,
    *,
    who: str,
    reason: str,
    author: str = "",
    issued: date | None = None,
    expected_number: int | None = None,
) -> Release:
    """Publish a draft as a release and return it.

    Parameters
    ----------
    graph : LiveGraph
    draft_id, version : str
    who : as the history names whoever does it
    reason : str
    author : who the release names, `who` when left out
    issued : the day it is dated, today when left out
    expected_number : of the draft

    Raises
    ------
    UnknownIdError, StaleError
        There is no such draft, or it has another number.
    DraftConflictsError
        It has conflicts; they are in it.
    ConflictError
        It is not open, it changes nothing, or there is a release of this version.
    FindingsError
        The state it leads to would break a rule; all findings are in it.
    InputError
        As `make_release`.
    """
    drafts = graph.drafts
    with graph.store.lock:
        draft = drafts.require(draft_id, "open", expected_number)
        state = drafts.get_state(draft_id)
        revision = state.ground.present.revision + 1
        release = make_release(
            graph.store, version, revision, author=author or who, reason=reason, issued=issued, from_draft=draft_id
        )
        require_settled(state)
        planned = plan_draft(state, graph.store.get_today())
        if planned.is_empty:
            raise ConflictError(f"The draft {draft_id} changes nothing.", table="drafts", id=draft_id)
        # levels of people that are read anew only follow: why is said of the framework
        put, gone = ([one for one in some if one[0] not in PERSONAL_TABLES] for some in (planned.put, planned.remove))
        told = tell_reason(reason, put, gone, planned.present, is_load=False)
        beside = _end(graph, draft, state.pair, release, who)
        graph.commit_planned(planned, told, who=who, beside=beside)
    return replace(release, author=graph.tell_author(release.author))


def require_settled(state: DraftState) -> None:
    """Raise DraftConflictsError where a draft has conflicts."""
    if state.clashes:
        told = format_count(len(state.clashes), "conflict")
        detail = f"The draft {state.draft.id} has {told} with what was published since; decide them first."
        raise DraftConflictsError(detail, state.conflicts, table="drafts", id=state.draft.id)


def _end(graph: LiveGraph, draft: Draft, pair: Pair, release: Release, who: str) -> Beside:
    ended = replace(draft, state="published", revision=release.revision, settled=frozenset())
    edit = DraftEdit(draft.number, who, graph.store.get_now(), f"published it as {release.version}")
    told = [*edit.describe(ended), *release.describe()]
    return change_draft(draft, ended, (pair, Pair()), told)
