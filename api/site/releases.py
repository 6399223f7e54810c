"""The page of releases, and naming the present state."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as PlainResponse

from api.desk.states import NOW
from api.errors import get_kind
from api.http.actors import get_who
from api.http.context import get_desk, get_request
from api.pages.draft_faults import DraftFault
from api.pages.releases import build_releases_view, describe_releases
from api.site.drafts import check_texts, list_faults
from api.site.sending import send_page
from ontology.errors import ConflictError, InputError

__all__ = ["build_blueprint"]


def build_blueprint() -> Blueprint:
    """Return the blueprint of the page."""
    blueprint = Blueprint("page-of-releases", __name__)
    blueprint.add_url_rule("/releases", "show", show_releases)
    blueprint.add_url_rule("/releases", "name", name_present, methods=("POST",))
    return blueprint


def show_releases() -> Response:
    """Show all releases."""
    return _send()


def name_present() -> PlainResponse:
    """Give the present state a name."""
    version, reason = (get_request().form.get(name, "").strip() for name in ("version", "reason"))
    try:
        faults = check_texts(reason)
        get_desk().graph.releases.name_present(version=version, reason=reason, who=get_who(), faults=faults)
    except (InputError, ConflictError) as error:
        return _send(list_faults(error, ("version", "reason")), get_kind(error).status)
    return redirect("/releases", HTTPStatus.SEE_OTHER)


def _send(faults: Sequence[DraftFault] = (), status: int = 200) -> Response:
    desk = get_desk()
    releases, revision = desk.graph.releases.list_all(), desk.get_state(NOW).snapshot.revision
    view = build_releases_view(releases, revision, faults=faults, typed=get_request().form.to_dict())
    return send_page(describe_releases(view), status=status)
