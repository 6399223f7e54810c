"""The first page of the framework."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from urllib.parse import urlencode

from flask import Blueprint, Response
from werkzeug.exceptions import HTTPException

from api.desk.drafts import may_draft
from api.desk.question import COMPANY, Subject
from api.http.actors import get_actor
from api.http.arguments import read_asked
from api.http.context import get_desk, get_graph, get_request
from api.pages.framework import StateLink, build_framework_view, describe_framework
from api.pages.mending import Asked
from api.pages.page import Link
from api.questions import load_question
from api.questions._asks import AskOnDay
from api.site.computing import ask_or_compute
from api.site.on_draft import link_drafts
from api.site.sending import find_unchanged, send_page
from ontology.errors import UnavailableError
from ontology.rdf import namespaces as ns
from ontology.store.history import Commit, read_commits, read_patches

__all__ = ["build_blueprint"]

#: So many commits are looked at for the latest that changed the framework.
_LOOKED_AT: Final = 40
_OF_FRAMEWORK: Final = (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS)


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("framework-page", __name__)
    blueprint.add_url_rule("/framework", "show", show_framework)
    return blueprint


def show_framework() -> Response:
    """Show what there is, and what is to mend and stands out as soon as that is known."""
    drafts = link_drafts("/framework")
    others = _list_others()
    stamp = "\n".join(one.address for one in (*drafts, *others))
    unchanged = find_unchanged(is_private=True, more=stamp)
    if unchanged is not None:
        return unchanged
    to_mend, review = _ask("to-mend"), _ask("framework-review")
    snapshot = get_desk().get_state().snapshot
    # what was changed up to a revision stays so, and reading it costs as much as the rest of the page many times over
    changes = snapshot.keep("latest changes of the framework", _list_changes)
    view = build_framework_view(snapshot, to_mend, review, changes)
    is_waiting = any(one.waiting or not one.is_final for one in view.lists)
    page = describe_framework(view, _list_states(drafts), others)
    return send_page(page, is_tagged=not is_waiting, more=stamp)


def _list_others() -> tuple[Link, ...]:
    """Return the way to what may be mapped to each framework of others, and to all of them."""
    outside = get_desk().graph.outside
    ways = [
        Link(f"Map to {outside.get(one).label}", f"/mappings/proposals?{urlencode({'framework': one})}")
        for one in outside.list_ids()
    ]
    return (*ways, Link("Frameworks of others", "/outside"))


def _list_states(drafts: Sequence[Link]) -> tuple[StateLink, ...]:
    """Return the states that one can go on to, the published one first; none to who may not see drafts."""
    if not may_draft(get_actor()):
        return ()
    asked = get_desk().get_state().asked.texts
    drafted = f"?{urlencode(asked)}"
    states = [StateLink("Published", "/framework", not asked)]
    states += [StateLink(f"Draft {words}", address, address.endswith(drafted)) for words, address in drafts]
    return tuple(states)


def _ask(name: str) -> Asked | None:
    """Return the answer to a question, or where one is told how far it is, while that takes its time.

    None where who looks may not ask it.
    """
    desk, question = get_desk(), load_question(name)
    if not desk.may_ask(get_actor(), desk.get_state(), question, Subject(COMPANY)):
        return None
    asked = question.asks[COMPANY](on=read_asked(AskOnDay, get_request().args).on)
    enquiry = desk.receive(get_actor(), desk.get_state(), question, Subject(COMPANY), asked)
    try:
        return Asked(ask_or_compute(enquiry))
    except UnavailableError:
        return Asked(None, f"/{name}")  # too many compute already: it can be asked again there
    except HTTPException as elsewhere:
        return Asked(None, dict(elsewhere.get_headers())["Location"])


def _list_changes() -> list[Commit]:
    """Return the latest commits that changed the framework, the latest first; changes in bulk count."""
    store = get_graph().store
    revision = get_desk().get_state().snapshot.revision
    commits = get_desk().graph.past.name_authors(read_commits(store, max(0, revision - _LOOKED_AT)))
    single = [commit for commit in commits if not commit.is_bulk]
    patches = read_patches(store, single, _OF_FRAMEWORK)
    touching = {commit.revision for commit, patch in patches if patch.added or patch.removed}
    return [one for one in reversed(commits) if one.is_bulk or one.revision in touching]
