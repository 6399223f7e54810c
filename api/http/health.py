"""Whether the service lives and is ready, at addresses that ask nothing of the store and say nothing of it. Flask.

Live: the process answers. Ready: it also has its store open and has not been told to stop.
"""

from __future__ import annotations

from typing import Final, Literal

from flask import Blueprint, Response

from api.json_text import dump_json

Phase = Literal["loading", "ready", "stopping"]
LIVE: Final = "/health/live"
READY: Final = "/health/ready"


def is_about_health(path: str) -> bool:
    """Whether a path is one of the two."""
    return path in (LIVE, READY)


def tell_health(path: str, phase: Phase) -> tuple[bytes, int]:
    """Return the JSON text and the status of one of the two addresses in a phase."""
    if path == LIVE:
        return dump_json({"status": "live"}), 200
    return dump_json({"status": phase}), 200 if phase == "ready" else 503


def build_health_blueprint() -> Blueprint:
    """Return the blueprint of an application, which is ready as long as it is asked."""
    blueprint = Blueprint("health", __name__)
    blueprint.add_url_rule(LIVE, "live", lambda: _respond(LIVE))
    blueprint.add_url_rule(READY, "ready", lambda: _respond(READY))
    return blueprint


def _respond(path: str) -> Response:
    content, status = tell_health(path, "ready")
    return Response(content, status, mimetype="application/json", headers={"Cache-Control": "no-store"})
