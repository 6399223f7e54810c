"""From errors to responses: problem documents (RFC 9457) under /api, plain HTML pages elsewhere.

One handler for all. What is not one of our errors is a fault: logged with a request id, and only the id is told.
"""

from __future__ import annotations

import logging
import uuid
from typing import Any, Final

from flask import Flask, Response, request
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as PlainResponse

from api.errors import BusyError, MisdirectedError, ThrottledError, UnauthenticatedError, build_problem, get_kind
from api.http.access_context import read_token
from api.http.front import REQUEST_ID
from api.http.gone import answer_old_address
from api.http.openapi import PROBLEM
from api.http.page_text import write_page
from api.json_text import dump_json
from api.pages.error_page import build_view, describe_error
from ontology.errors import GoneError, NewelError

_LOG: Final = logging.getLogger(__name__)


def register_handlers(app: Flask) -> None:
    """Answer every error of the application."""
    app.register_error_handler(Exception, handle_error)


def handle_error(error: Exception) -> PlainResponse:
    """Return the response to an error."""
    if isinstance(error, HTTPException):
        return _handle_http_error(error)
    if isinstance(error, NewelError):
        old = answer_old_address(error)
        if isinstance(old, PlainResponse):
            return old
        error = old or error
    if isinstance(error, NewelError) and get_kind(error).status < 500:
        # under a foreign name no address is ours to give
        type_base = "/problems#" if isinstance(error, MisdirectedError) else _get_type_base()
        response = _respond(build_problem(error, type_base=type_base, instance=request.path))
        if isinstance(error, GoneError):
            response.headers["Cache-Control"] = "no-cache"
            response.headers.extend([("Link", link) for link in error.links])
        if isinstance(error, ThrottledError):
            response.headers["Retry-After"] = str(error.retry_after_s)
        if isinstance(error, UnauthenticatedError):
            # RFC 9110, section 11.6.1; RFC 6750, section 3
            wrong = ', error="invalid_token"' if read_token() else ""
            response.headers["WWW-Authenticate"] = f'Bearer realm="Newel"{wrong}'
        return response
    told = _tell_request()
    request_id = told["request_id"]
    if isinstance(error, NewelError) and get_kind(error).status != 500:
        # the sentence may name people and records: the name of its kind is enough
        told["error"] = get_kind(error).name
        _LOG.warning("refused: request %s, %s", request_id, told["error"], extra=told)
        problem = build_problem(error, type_base=_get_type_base(), instance=request.path)
        response = _respond(problem | {"request_id": request_id})
        if isinstance(error, BusyError):
            response.headers["Retry-After"] = str(error.retry_after_s)
        return response
    _LOG.error("fault: request %s", request_id, exc_info=error, extra=told)
    return _respond(
        {
            "type": _get_type_base() + "internal",
            "title": "A fault of this program",
            "status": 500,
            "detail": f"Something went wrong here, not in your request. Report it with the id {request_id}.",
            "instance": request.path,
            "request_id": request_id,
        }
    )


def _handle_http_error(error: HTTPException) -> PlainResponse:
    if error.response is not None or error.code is None or error.code < 400:
        return PlainResponse(error.get_response(request.environ).data, error.code, error.get_headers(request.environ))
    details = {
        404: "There is nothing at this address.",
        405: f"{request.method} is not possible here.",
        413: "The body is larger than allowed.",
    }
    response = _respond(
        {
            "type": "about:blank",
            "title": error.name,
            "status": error.code,
            "detail": details.get(error.code, error.description or error.name),
            "instance": request.path,
        }
    )
    for name, value in error.get_headers(request.environ):
        if name.lower() in ("allow", "retry-after", "www-authenticate"):
            response.headers[name] = value
    return response


def _tell_request() -> dict[str, Any]:
    """Return what a log may say of this request: its id, and of its address the template alone."""
    route = "none" if request.url_rule is None else request.url_rule.rule
    request_id = request.environ.setdefault(REQUEST_ID, uuid.uuid4().hex)
    return {"request_id": request_id, "method": request.method, "route": route}


def _get_type_base() -> str:
    return f"{request.host_url}problems#"


def _respond(problem: dict[str, Any]) -> Response:
    status = int(problem["status"])
    if request.path == "/api" or request.path.startswith("/api/"):
        return Response(dump_json(problem), status, mimetype=PROBLEM)
    return _show({"request_id": _tell_request()["request_id"]} | problem)


def _show(problem: dict[str, Any]) -> Response:
    """Return the page of a problem; the id on it stands in the log."""
    query = request.query_string.decode("latin-1")
    view = build_view(problem, f"{request.path}?{query}" if query else request.path, request.method)
    told = _tell_request() | {"request_id": view.request_id, "status": problem["status"]}
    _LOG.info("page of an error: request %s", view.request_id, extra=told)
    return Response(write_page(describe_error(view)), view.status, mimetype="text/html")
