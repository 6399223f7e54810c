"""What a request works with: the live graph, the settings, one Snapshot, today. Imports Flask."""

from __future__ import annotations

import datetime as dt
from typing import Final, cast

from flask import Request, current_app, g, request
from werkzeug.local import LocalProxy

from api.desk.desk import Desk
from api.settings import Settings
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

EXTENSION: Final = "newel"


def get_request() -> Request:
    """Return the request itself: each use of `flask.request` looks it up anew, which adds up in a quick answer."""
    return cast("LocalProxy[Request]", request)._get_current_object()


def get_graph() -> LiveGraph:
    """Return the live graph this application serves."""
    return cast(LiveGraph, current_app.extensions[EXTENSION]["graph"])


def get_settings() -> Settings:
    """Return the application's settings."""
    return cast(Settings, current_app.extensions[EXTENSION]["settings"])


def get_desk() -> Desk:
    """Return the desk that answers for this application."""
    return cast(Desk, current_app.extensions[EXTENSION]["desk"])


def get_snapshot() -> Snapshot:
    """Return the one Snapshot this request is answered from: the latest at its first use."""
    kept = _get_kept()
    if "snapshot" not in kept:
        kept["snapshot"] = get_graph().get_snapshot()
    return cast(Snapshot, kept["snapshot"])


def get_today() -> dt.date:
    """Return today's date in UTC, the same through the whole request."""
    kept = _get_kept()
    if "today" not in kept:
        kept["today"] = dt.datetime.now(dt.UTC).date()
    return cast(dt.date, kept["today"])


def _get_kept() -> dict[str, object]:
    """Return what this request keeps."""
    return cast("dict[str, object]", vars(cast("LocalProxy[object]", g)._get_current_object()))
