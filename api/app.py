"""The application factory: all wiring in one place. Imports Flask and every room of api."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from importlib.metadata import PackageNotFoundError, version
from typing import Any, Final

from flask import Flask, Response, request
from werkzeug.routing import PathConverter

from api.answer_cache import AnswerCache
from api.context import EXTENSION
from api.handlers import register_handlers
from api.openapi import build_api
from api.origins import require_own_origin
from api.pages.browse import build_browse_blueprint
from api.pages.development_plan import build_development_plan_blueprint
from api.pages.start import build_page_blueprint
from api.pages.training_timetable import build_training_timetable_blueprint
from api.resources.cover_over_time import build_cover_over_time_blueprint
from api.resources.diagrams import build_diagram_blueprint
from api.resources.framework import build_framework_blueprint
from api.resources.index import build_index_blueprint
from api.resources.people import build_people_blueprint
from api.resources.plans import build_plans_blueprint
from api.resources.records import build_record_blueprints
from api.resources.roles import build_roles_blueprint
from api.resources.rotation import build_rotation_blueprint
from api.resources.team_diagrams import build_team_diagram_blueprint
from api.resources.teams import build_teams_blueprint
from api.resources.training import build_training_blueprint
from api.settings import Settings
from api.slow_answers import SlowGate
from ontology.graph.live import LiveGraph

_PAGE_POLICY: Final = (
    "default-src 'none'; img-src 'self'; object-src 'self'; frame-src 'self'; style-src 'self'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
#: Graphviz writes style attributes; nothing in a picture may run or load.
_PICTURE_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'"
_POLICY: Final = "Content-Security-Policy"
_SECURITY_HEADERS: Final = (("X-Content-Type-Options", "nosniff"), ("Referrer-Policy", "same-origin"))


class _AnyPath(PathConverter):
    """The rest of a path, whatever it holds: a part of an id may be a text of several lines."""

    regex = r"[^/][\s\S]*?"


def get_version() -> str:
    """Return the version of this program; "0" where it runs without being installed."""
    try:
        return version("newel")
    except PackageNotFoundError:
        return "0"


class Application(Flask):
    """Flask without coroutines: none of our functions is one, and asking each of them on each request adds up."""

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """Return the function as it is."""
        return func


def create_app(graph: LiveGraph, settings: Settings | None = None) -> Flask:
    """Return the application that serves a live graph.

    Parameters
    ----------
    graph : LiveGraph
        Kept open by the caller, who also closes it.
    settings : Settings, optional
        Limits; the defaults where left out.
    """
    settings = settings or Settings()
    app = Application(__name__)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    app.url_map.strict_slashes = False
    app.url_map.converters["path"] = _AnyPath
    # an id may hold two slashes in a row
    app.url_map.merge_slashes = False
    gate = SlowGate(settings.slow_computing_max, settings.slow_waiting_max, settings.time_limit_default_s)
    cache = AnswerCache(settings.answer_cache_bytes)
    app.extensions[EXTENSION] = {"graph": graph, "settings": settings, "slow_gate": gate, "answer_cache": cache}
    api = build_api(app, get_version())
    for blueprint in (
        build_index_blueprint(),
        *build_record_blueprints(),
        build_people_blueprint(),
        build_roles_blueprint(),
        build_teams_blueprint(),
        build_training_blueprint(),
        build_cover_over_time_blueprint(),
        build_framework_blueprint(),
        build_diagram_blueprint(),
        build_team_diagram_blueprint(),
        build_plans_blueprint(),
        build_rotation_blueprint(),
    ):
        api.register_blueprint(blueprint)
    app.register_blueprint(build_page_blueprint())
    app.register_blueprint(build_browse_blueprint())
    app.register_blueprint(build_development_plan_blueprint())
    app.register_blueprint(build_training_timetable_blueprint())
    register_handlers(app)
    app.before_request(require_own_origin)
    app.after_request(_add_security_headers)
    return app


def _add_security_headers(response: Response) -> Response:
    headers = response.headers
    present = {name for name, _ in headers}  # one look at them all: asking for each name costs far more
    # a 304 renews the headers of what the browser has kept, and has no type of its own
    is_picture = request.path.endswith("/diagram") and (
        response.content_type == "image/svg+xml" or response.status_code == HTTPStatus.NOT_MODIFIED
    )
    policy = _PICTURE_POLICY if is_picture else _PAGE_POLICY
    added = [(name, value) for name, value in (*_SECURITY_HEADERS, (_POLICY, policy)) if name not in present]
    headers[len(headers) :] = added
    return response
