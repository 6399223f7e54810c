"""The application factory: all wiring in one place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cached_property
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, Final

from flask import Flask, Request, Response
from werkzeug.routing import MapAdapter, PathConverter

from api.access.access import Access
from api.access.authors import build_teller
from api.http.access_context import ACCESS_EXTENSION
from api.http.actors import get_sight, note_look
from api.http.browse_page import build_browse_blueprint
from api.http.caching import tell_caches
from api.http.context import EXTENSION, RequestDesk, get_request, require_present_state, tell_state
from api.http.drafts import build_drafts_blueprint
from api.http.exports import build_exports_blueprint
from api.http.form_tokens import protect_forms
from api.http.guard import build_guard
from api.http.handlers import register_handlers
from api.http.health import build_health_blueprint
from api.http.history import build_history_blueprint
from api.http.index import build_index_blueprint
from api.http.known_paths import KnownPaths
from api.http.late_rules import LateRule
from api.http.openapi import serve_described
from api.http.origins import require_own_origin
from api.http.outside import build_outside_blueprint
from api.http.pictures import build_picture_blueprint
from api.http.questions import build_question_blueprints
from api.http.quick_response import add_headers
from api.http.records import build_record_blueprints
from api.http.releases import build_releases_blueprint
from api.http.retirements import build_retirements_blueprint
from api.http.route_rights import require_rights
from api.http.scale_changes import build_scale_changes_blueprint
from api.http.session_results import build_results_blueprint
from api.http.slices import build_slices_blueprint
from api.http.sparql import build_sparql_blueprint
from api.settings import Settings
from api.site.registry import build_site_blueprints
from api.version import get_version
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.search import index_names

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

_PAGE_POLICY: Final = (
    "default-src 'none'; img-src 'self'; object-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
#: Graphviz writes style attributes; nothing in a picture may run or load (OWASP ASVS 5.0.0, V3.2.1).
_PICTURE_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'self'"
_POLICY: Final = "Content-Security-Policy"
#: What a page of ours might ask of a device: nothing (W3C Permissions Policy: an empty list of origins for each).
_DEVICES: Final = (
    "accelerometer",
    "camera",
    "display-capture",
    "geolocation",
    "gyroscope",
    "microphone",
    "payment",
    "usb",
)
#: OWASP ASVS 5.0.0, V3.4.4, 3.4.5, 3.4.8, 3.5.8. Over plain http a browser passes some of them over.
_SECURITY_HEADERS: Final = (
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", ", ".join(f"{name}=()" for name in _DEVICES)),
)
#: RFC 6797: a year, of hosts below this one too (OWASP ASVS 5.0.0, V3.4.1).
_ONLY_HTTPS: Final = "max-age=31536000; includeSubDomains"
_WITH_PAGE_POLICY: Final = (*_SECURITY_HEADERS, (_POLICY, _PAGE_POLICY))
_WITH_PICTURE_POLICY: Final = (*_SECURITY_HEADERS, (_POLICY, _PICTURE_POLICY))


class _AnyPath(PathConverter):
    """The rest of a path, whatever it holds: a part of an id may be a text of several lines."""

    regex = r"[^/][\s\S]*?"


class Application(Flask):
    """Flask without coroutines: none of our functions is one, and asking each of them on each request adds up."""

    url_rule_class = LateRule

    def ensure_sync(self, func: Callable[..., Any]) -> Callable[..., Any]:
        """Return the function as it is."""
        return func

    def create_url_adapter(self, request: Request | None) -> MapAdapter | None:
        """Return what matches a request; as Flask does it, but that a path is looked for once."""
        return super().create_url_adapter(request) if request is None else self._paths.bind(request)

    @cached_property
    def _paths(self) -> KnownPaths:
        return KnownPaths(self.url_map)

    def wsgi_app(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer a request; one under the public address came over https, whatever stands before this server speaks."""
        public = self.extensions[EXTENSION].settings.public_url.lower()
        if public and public == f"https://{environ.get('HTTP_HOST', '').lower()}":
            environ["wsgi.url_scheme"] = "https"
        return super().wsgi_app(environ, start_response)


def create_app(graph: LiveGraph, settings: Settings | None = None, access: Access | None = None) -> Flask:
    """Return the application that serves a live graph, which the caller keeps open and closes.

    `access` keeps the accounts of who signs in; None: open to whoever reaches it.
    """
    settings = settings or Settings()
    app = Application(__name__)
    app.config["MAX_CONTENT_LENGTH"] = settings.max_body_bytes
    app.url_map.strict_slashes = False
    app.url_map.converters["path"] = _AnyPath
    # an id may hold two slashes in a row
    app.url_map.merge_slashes = False
    app.extensions[EXTENSION] = RequestDesk(graph, settings, get_version(), get_sight, note_look)
    app.extensions[ACCESS_EXTENSION] = access
    if access is not None:
        graph.tell_author = build_teller(lambda: access.database)
    # half a second for a hundred thousand names: nobody who searches first is to wait for it
    index_names(graph.get_snapshot())
    described = (
        build_index_blueprint(),
        *build_record_blueprints(settings),
        build_results_blueprint(),
        build_history_blueprint(settings),
        build_drafts_blueprint(settings),
        build_retirements_blueprint(),
        build_scale_changes_blueprint(),
        build_slices_blueprint(settings),
        build_releases_blueprint(),
        build_outside_blueprint(),
        *build_question_blueprints(settings),
        build_picture_blueprint(settings),
        build_sparql_blueprint(),
        build_exports_blueprint(),
    )
    serve_described(app, get_version(), described)
    app.register_blueprint(build_browse_blueprint())
    app.register_blueprint(build_health_blueprint())
    for blueprint in build_site_blueprints(has_accounts=access is not None):
        app.register_blueprint(blueprint)
    register_handlers(app)
    require_rights(app)
    app.before_request(require_own_origin)
    if access is not None:
        protect_forms(app, access)
    app.before_request(build_guard(settings.requests_a_minute))
    app.before_request(require_present_state)
    # what is registered last is called first
    if access is not None:
        app.after_request(tell_caches)
    app.after_request(tell_state)
    app.after_request(_add_security_headers)
    if settings.public_url:
        app.after_request(_keep_to_https)
    return app


def _keep_to_https(response: Response) -> Response:
    response.headers["Strict-Transport-Security"] = _ONLY_HTTPS
    return response


def _add_security_headers(response: Response) -> Response:
    headers = response.headers
    # a 304 renews the headers of what the browser has kept, and has no type of its own
    is_picture = get_request().path.endswith("/diagram") and (
        response.content_type == "image/svg+xml" or response.status_code == HTTPStatus.NOT_MODIFIED
    )
    has_policy = _POLICY in {name for name, _ in headers}  # asking the headers for the name costs far more
    added = _SECURITY_HEADERS if has_policy else _WITH_PICTURE_POLICY if is_picture else _WITH_PAGE_POLICY
    add_headers(response, added)
    return response
