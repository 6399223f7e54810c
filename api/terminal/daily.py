"""What a server does once a day, beside answering: let go of what was kept for long enough."""

from __future__ import annotations

import datetime as dt
import logging
import threading
from collections.abc import Callable
from typing import Final

from flask import Flask

from api.access.access import Access
from api.access.database import Database, find_database
from api.access.retention import carry_out_retention
from api.http.context import EXTENSION
from api.http.load_desk import EXTENSION as LOADS
from api.settings import Settings
from ontology.errors import NewelError
from ontology.live.live_graph import LiveGraph

#: As the history names who did it.
WHO: Final = "daily retention"
_A_DAY_S: Final = 86_400.0
_LOG: Final = logging.getLogger("newel")


def start_daily(app: Flask, graph: LiveGraph, settings: Settings, access: Access | None) -> threading.Thread | None:
    """Let go now and each day from now on, on a thread of its own; None where the settings do not ask for it."""
    if not settings.retention_daily:
        return None
    database = access.database if access is not None else Database(find_database(graph.store.path))
    work = threading.Thread(target=_repeat, args=(lambda: let_go(app, graph, settings, database),), daemon=True)
    work.start()
    return work


def let_go(app: Flask, graph: LiveGraph, settings: Settings, database: Database) -> bool:
    """Let go of what is due, also from memory; return whether there was something."""
    plan = carry_out_retention(graph, database, settings, dt.datetime.now(dt.UTC).date(), WHO)
    if plan.overdue.people or plan.overdue.assessments:
        app.extensions[EXTENSION].forget()
    if plan.overdue.people:
        app.extensions[LOADS].forget_all()
    return not plan.is_empty


def _repeat(work: Callable[[], object]) -> None:
    waiting = threading.Event()
    while True:
        try:
            work()
        except (NewelError, OSError):
            # the next day may have room; what is wrong is told to who runs the server, without anybody's id
            _LOG.exception("what was kept for long enough could not be let go of")
        waiting.wait(_A_DAY_S)
