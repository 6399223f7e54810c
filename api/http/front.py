"""What stands before the application on a server: it answers while that loads and once it stops, and sees each request.

A request that is under way when the server is told to stop is finished; a new one is sent away. What is seen of a
request is its method, the template of its address, its status and how long it took: nothing that says of whom.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from werkzeug.wrappers import Response
from werkzeug.wsgi import ClosingIterator

from api.errors import build_problem
from api.http.health import Phase, is_about_health, tell_health
from api.json_text import dump_json
from ontology.errors import UnavailableError

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment

#: Under which name a request's id stands in its environment.
REQUEST_ID: Final = "newel.request_id"
#: Methods by their names; one that somebody made up is none of them, and no new line of a table.
_METHODS: Final = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS", "PATCH"})
_NO_ROUTE: Final = "none"
_WORDS: Final[dict[Phase, str]] = {
    "loading": "Newel is starting: the store is being read. Ask again in a moment.",
    "stopping": "Newel is being stopped and takes nothing new.",
}
_RETRY_AFTER_S: Final = "5"
_ID_BYTES: Final = 8


@dataclass(frozen=True, slots=True)
class Seen:
    """What is told of a request: never an address or an id of a record. `request_id` is made up for each."""

    request_id: str
    method: str
    route: str
    status: int
    seconds: float


class Front:
    """A WSGI application in front of another; `tell` is given each request that was answered."""

    def __init__(self, tell: Callable[[Seen], None]) -> None:
        self._tell = tell
        self._app: WSGIApplication | None = None
        self._phase: Phase = "loading"
        self._under_way = 0
        self._changed = threading.Condition()

    @property
    def under_way(self) -> int:
        """How many requests are being answered."""
        return self._under_way

    def open(self, app: WSGIApplication) -> None:
        """Hand requests to an application from now on."""
        with self._changed:
            self._app, self._phase = app, "ready"

    def close(self) -> None:
        """Take no new requests from now on."""
        with self._changed:
            self._phase = "stopping"

    def wait_until_idle(self, within_s: float) -> bool:
        """Wait for the requests under way, `within_s` seconds at most; return whether all are answered."""
        with self._changed:
            return self._changed.wait_for(lambda: self._under_way == 0, within_s)

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer a request."""
        path = environ.get("PATH_INFO", "")
        with self._changed:
            app, phase = self._app, self._phase
            is_taken = app is not None and phase == "ready"
            self._under_way += is_taken
        if not is_taken or app is None:
            return _answer_unready(path, phase)(environ, start_response)
        environ[REQUEST_ID] = request_id = secrets.token_hex(_ID_BYTES)
        begun = time.perf_counter()
        status, route = 0, _NO_ROUTE

        def start(line: str, headers: list[tuple[str, str]], *more: Any) -> Callable[[bytes], object]:
            nonlocal status, route
            status = int(line.partition(" ")[0])
            # Flask keeps its request here as long as it answers
            rule = getattr(environ.get("werkzeug.request"), "url_rule", None)
            route = _NO_ROUTE if rule is None else rule.rule
            return start_response(line, headers, *more)

        def leave() -> None:
            with self._changed:
                self._under_way -= 1
                if self._under_way == 0 and self._phase == "stopping":
                    self._changed.notify_all()
            method = environ.get("REQUEST_METHOD", "")
            method = method if method in _METHODS else "other"
            self._tell(Seen(request_id, method, route, status, time.perf_counter() - begun))

        try:
            return ClosingIterator(app(environ, start), leave)
        except BaseException:
            leave()
            raise


def _answer_unready(path: str, phase: Phase) -> Response:
    if is_about_health(path):
        content, status = tell_health(path, phase)
        return Response(content, status, mimetype="application/json", headers={"Cache-Control": "no-store"})
    headers = {"Retry-After": _RETRY_AFTER_S, "Cache-Control": "no-store"}
    if path == "/api" or path.startswith("/api/"):
        problem = build_problem(UnavailableError(_WORDS[phase]))
        return Response(dump_json(problem), 503, headers, mimetype="application/problem+json")
    return Response(f"{_WORDS[phase]}\n", 503, headers, mimetype="text/plain")
