"""What a request works with: the desk of its application, the live graph behind it, one Snapshot. Imports Flask."""

from __future__ import annotations

from typing import Final, cast

from flask import Request, current_app, g, request
from werkzeug.local import LocalProxy

from api.desk.desk import Desk
from api.settings import Settings
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

#: Under which name an application keeps its desk among its extensions.
EXTENSION: Final = "newel"


def get_request() -> Request:
    """Return the request itself: each use of `flask.request` looks it up anew, which adds up in a quick answer."""
    return cast("LocalProxy[Request]", request)._get_current_object()


def get_graph() -> LiveGraph:
    """Return the live graph this application serves."""
    return get_desk().graph


def get_settings() -> Settings:
    """Return the application's settings."""
    return get_desk().settings


def get_desk() -> Desk:
    """Return the desk that answers for this application."""
    return cast(Desk, current_app.extensions[EXTENSION])


def get_snapshot() -> Snapshot:
    """Return the one Snapshot this request is answered from: the latest at its first use."""
    kept = cast("dict[str, object]", vars(cast("LocalProxy[object]", g)._get_current_object()))
    if "snapshot" not in kept:
        kept["snapshot"] = get_graph().get_snapshot()
    return cast(Snapshot, kept["snapshot"])
