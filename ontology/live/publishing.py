"""A draft becomes the present state: one commit, its release and the draft's end in the same step."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from ontology.errors import ConflictError, DraftConflictsError, FindingsError, NewelError, raise_together
from ontology.live.draft_plan import plan_draft
from ontology.live.draft_state import DraftState
from ontology.live.planned import Planned, require_sound
from ontology.live.reasons import tell_reason
from ontology.live.releases import NO_FAULTS, check_release, make_release
from ontology.model.tables import PERSONAL_TABLES
from ontology.plurals import format_count
from ontology.store.commit_text import Beside
from ontology.store.drafts import Draft, DraftEdit, Pair, change_draft
from ontology.store.releases import Release

if TYPE_CHECKING:
    from ontology.live.live_graph import LiveGraph
    from ontology.store.engine import Store

__all__ = ["publish_draft"]


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
    faults: Mapping[str, NewelError] = NO_FAULTS,
) -> Release:
    """Publish a draft as a release and return it.

    `author` is who the release names, `who` when left out; `issued` the day it is dated, today when left out; `faults`
    is what is wrong already with what was asked, by parameter, told with all else.

    Raises
    ------
    UnknownIdError, StaleError
        There is no such draft, or it has another number.
    ConflictError
        It is not open.
    NewelError
        The first of all that stands against it, with the others: `faults`; what `check_release` tells; conflicts
        (DraftConflictsError); that it changes nothing (ConflictError); rules that the state it leads to would break
        (FindingsError).
    """
    drafts = graph.drafts
    with graph.store.lock:
        draft = drafts.require(draft_id, "open", expected_number)
        state = drafts.get_state(draft_id)
        planned = plan_draft(state, graph.store.get_today())
        found = check_release(graph.store, version, author=author or who, reason=reason, issued=issued, faults=faults)
        _require_publishable(graph.store, state, planned, found)
        revision = state.ground.present.revision + 1
        release = make_release(
            graph.store, version, revision, author=author or who, reason=reason, issued=issued, from_draft=draft_id
        )
        # levels of people that are read anew only follow: why is said of the framework
        put, gone = ([one for one in some if one[0] not in PERSONAL_TABLES] for some in (planned.put, planned.remove))
        told = tell_reason(reason, put, gone, planned.present, is_load=False)
        beside = _end(graph, draft, state.pair, release, who)
        graph.commit_planned(planned, told, who=who, beside=beside)
    return replace(release, author=graph.tell_author(release.author))


def _require_publishable(store: Store, state: DraftState, planned: Planned, found: list[NewelError]) -> None:
    """Raise what was found and all that stands against publishing a draft; what rules say alone, the commit tells."""
    draft_id = state.draft.id
    if state.clashes:
        told = format_count(len(state.clashes), "conflict")
        detail = f"The draft {draft_id} has {told} with what was published since; decide them first."
        found.append(DraftConflictsError(detail, state.conflicts, table="drafts", id=draft_id))
    if planned.is_empty:
        found.append(ConflictError(f"The draft {draft_id} changes nothing.", table="drafts", id=draft_id))
    elif found:
        try:
            require_sound(planned.find_findings(store))
        except FindingsError as error:
            found.append(error)
    raise_together(found)


def _end(graph: LiveGraph, draft: Draft, pair: Pair, release: Release, who: str) -> Beside:
    ended = replace(draft, state="published", revision=release.revision, settled=frozenset())
    edit = DraftEdit(draft.number, who, graph.store.get_now(), f"published it as {release.version}")
    told = [*edit.describe(ended), *release.describe()]
    return change_draft(draft, ended, (pair, Pair()), told)
