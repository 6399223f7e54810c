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
from dataclasses import replace
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.drafts import Draft, Pair, change_draft, read_drafts
from ontology.store.history import read_commits, read_patches
from ontology.store.net_quads import make_piece
from ontology.store.releases import Release

GRAPH = ns.GRAPH_FRAMEWORK
_BULK = 400
_AT = datetime(2026, 11, 30, tzinfo=UTC)


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


def draft_without_end(path: str, is_bulk: bool, connection: Connection) -> None:
    """Begin, edit and publish one draft after the other, telling "edit", "publish" before and "done" after."""
    from ontology.store import engine as module

    if is_bulk:
        module.TEXT_LIMIT = 10  # type: ignore[misc]
    store = module.Store.open(Path(path), create=True)
    number = len(read_drafts(store))
    while True:
        number += 1
        begun = Draft(f"d{number}", "D", "w", _AT, store.revision, 0, "open", f"key {number}")
        pair = Pair(frozenset(list_drafted(begun.id, is_bulk=is_bulk)))
        store.write_beside(change_draft(None, begun, (Pair(), Pair())), [])
        connection.send("edit")
        edited = replace(begun, number=1)
        store.write_beside(change_draft(begun, edited, (Pair(), pair)), begun.guard())
        connection.send("publish")
        revision = store.revision + 1
        release = Release(f"v{number}", revision, _AT.date(), "w", "w", begun.id)
        ended = replace(edited, state="published", revision=revision)
        beside = change_draft(edited, ended, (pair, Pair()), release.describe())
        store.commit_pieces([make_piece(pair.added, [])], who="w", why="w", beside=beside)
        connection.send("done")


def list_drafted(draft_id: str, *, is_bulk: bool) -> list[Quad]:
    """Return the quads that a draft adds."""
    return [
        (GRAPH, f"<http://x.example/{draft_id}-{n}>", "<http://x.example/p>", '"x"') for n in range(n_bulk(is_bulk))
    ]


def kill_once(
    path: Path,
    *,
    is_bulk: bool,
    phase: str,
    rng: random.Random,
    work: Callable[[str, bool, Connection], None] = write_without_end,
) -> str:
    """Start a writer, kill it in the wanted phase and return the last phase it told.

    The kill fell inside that phase when nothing came after it: the pipe is read to its end after the death.
    """
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["ontology.store.engine"])
    ours, theirs = context.Pipe(duplex=False)
    process = context.Process(target=work, args=(str(path), is_bulk, theirs), daemon=True)
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
