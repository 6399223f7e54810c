"""What a request works with: the live graph, the settings, one Snapshot, today. Imports Flask."""

from __future__ import annotations

import datetime as dt
from typing import Final, cast

from flask import current_app, g

from api.answer_cache import AnswerCache
from api.settings import Settings
from api.slow_answers import SlowGate
from ontology.graph.live import LiveGraph
from ontology.graph.snapshot import Snapshot

EXTENSION: Final = "newel"


def get_graph() -> LiveGraph:
    """Return the live graph this application serves."""
    return cast(LiveGraph, current_app.extensions[EXTENSION]["graph"])


def get_settings() -> Settings:
    """Return the application's settings."""
    return cast(Settings, current_app.extensions[EXTENSION]["settings"])


def get_answer_cache() -> AnswerCache:
    """Return the answers this application keeps."""
    return cast(AnswerCache, current_app.extensions[EXTENSION]["answer_cache"])


def get_slow_gate() -> SlowGate:
    """Return the gate that slow answers pass."""
    return cast(SlowGate, current_app.extensions[EXTENSION]["slow_gate"])


def get_snapshot() -> Snapshot:
    """Return the one Snapshot this request is answered from: the latest at its first use."""
    if "snapshot" not in g:
        g.snapshot = get_graph().get_snapshot()
    return cast(Snapshot, g.snapshot)


def get_today() -> dt.date:
    """Return today's date in UTC, the same through the whole request."""
    if "today" not in g:
        g.today = dt.datetime.now(dt.UTC).date()
    return cast(dt.date, g.today)
