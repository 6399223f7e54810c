"""A writer that is killed: a child process commits without end and tells each phase before it enters it.

State after revision n is known: one quad that says n, and every quad the commits up to n have added.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import signal
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.history import read_commits, read_patches

GRAPH = ns.GRAPH_FRAMEWORK
_BULK = 400


def build_state(revision: int, *, n_bulk: int = 0) -> set[Quad]:
    """Return the quads of the framework graph after a revision (0: none)."""
    if revision == 0:
        return set()
    return {_tell(revision), *(_item(r, i) for r in range(1, revision + 1) for i in range(max(1, n_bulk)))}


def _tell(revision: int) -> Quad:
    return (GRAPH, "<http://x.example/now>", "<http://x.example/is>", ns.typed_term(str(revision), "integer"))


def _item(revision: int, number: int) -> Quad:
    return (GRAPH, f"<http://x.example/{revision}-{number}>", "<http://x.example/p>", ns.text_term("x" * 40))


def _announce(connection: Connection, phase: str, work: Callable[..., Any]) -> Callable[..., Any]:
    def announced(*args: Any, **kwargs: Any) -> Any:
        connection.send(phase)
        return work(*args, **kwargs)

    return announced


def write_without_end(path: str, is_bulk: bool, connection: Connection) -> None:
    """Commit one revision after the other, telling "commit", "bulk", "swap" before and "done" after each."""
    from ontology.store import engine as module
    from ontology.store import guarded
    from ontology.store.folder import StoreFolder

    if is_bulk:
        module.TEXT_LIMIT = 10  # type: ignore[misc]
    folder_class: Any = StoreFolder
    store_class: Any = module.Store
    store = store_class.open(Path(path), create=True)
    folder_class.switch_to = _announce(connection, "swap", folder_class.switch_to)
    guarded.load_lines = _announce(connection, "bulk", guarded.load_lines)
    revision = store.revision
    while True:
        added = [_tell(revision + 1), *(_item(revision + 1, i) for i in range(_BULK if is_bulk else 1))]
        connection.send("commit")
        revision = store.commit(added, [_tell(revision)], who="writer", why="test")
        connection.send("done")


def kill_once(path: Path, *, is_bulk: bool, phase: str, rng: random.Random) -> str:
    """Start a writer, kill it in the wanted phase and return the last phase it told.

    The kill fell inside that phase when nothing came after it: the pipe is read to its end after the death.
    """
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["ontology.store.engine"])
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=write_without_end, args=(str(path), is_bulk, theirs), daemon=True)
    process.start()
    theirs.close()
    skipped = rng.randint(0, 2)
    last = ""
    while True:
        last = ours.recv()
        if last == phase:
            if skipped == 0:
                break
            skipped -= 1
    time.sleep(rng.random() * 0.004)
    os.kill(process.pid or 0, signal.SIGKILL)
    process.join()
    try:
        while True:
            last = ours.recv()
    except EOFError:
        ours.close()
    return str(last)


def n_bulk(is_bulk: bool) -> int:
    """Return how many quads a revision adds beside the one that tells it."""
    return _BULK if is_bulk else 1


def rewind(store: Any) -> list[set[Quad]]:
    """Return the states that the patches lead back to, from the present one to the empty store."""
    states = [set(store.read_graph(GRAPH))]
    for _, patch in read_patches(store, read_commits(store)[::-1]):
        states.append((states[-1] - set(patch.added)) | set(patch.removed))
    return states
