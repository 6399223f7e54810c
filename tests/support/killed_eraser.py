"""An erasure that is killed: a child process erases a person and tells each phase before it enters it."""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

#: In their order.
PHASES = ("begin", "write", "switch", "settle", "list", "compact", "done")


def _announce(connection: Connection, phase: str, work: Callable[..., Any]) -> Callable[..., Any]:
    def announced(*args: Any, **kwargs: Any) -> Any:
        connection.send(phase)
        return work(*args, **kwargs)

    return announced


def erase_once(path: str, person: str, connection: Connection) -> None:
    """Erase a person from a store and from the database beside it."""
    from api.access.database import Database, find_database
    from api.access.erasing import erase
    from api.access.erasure import Erasure
    from ontology.live.live_graph import LiveGraph
    from ontology.store import rewriting
    from ontology.store.folder import StoreFolder

    graph = LiveGraph.open(Path(path))
    database = Database(find_database(Path(path)))
    for owner, name, phase in (
        (rewriting, "_load", "write"),
        (StoreFolder, "switch_to", "switch"),
        (StoreFolder, "settle_history", "settle"),
        (Erasure, "erase", "list"),
        (Database, "compact", "compact"),
    ):
        setattr(owner, name, _announce(connection, phase, getattr(owner, name)))
    connection.send("begin")
    erase(graph, database, [person], "administrator")
    connection.send("done")
    graph.close()


def kill_in(path: Path, person: str, phase: str, rng: random.Random) -> str:
    """Start an erasure, kill it in the wanted phase and return the last phase it told."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["api.access.erasing"])
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=erase_once, args=(str(path), person, theirs), daemon=True)
    process.start()
    theirs.close()
    last = ""
    try:
        while last != phase:
            last = str(ours.recv())
        time.sleep(rng.random() * 0.01)
        with suppress(ProcessLookupError):  # it was done before
            os.kill(process.pid or 0, signal.SIGKILL)
        while True:
            last = str(ours.recv())
    except EOFError:
        ours.close()
    process.join()
    return last
