"""Has an engine open every file that it may ever read, so that it can be kept from opening any.

An engine opens the first few of its files with the store, and each other one when something in it is first looked for.
"""

from __future__ import annotations

import itertools
import os
from pathlib import Path
from typing import Final

import pyoxigraph as ox

__all__ = ["open_every_file"]

#: Where the system tells which files this process has open, each by a link to it.
_OPENED: Final = Path("/proc/self/fd")
#: Quads looked up between two looks at what is open; and altogether, where the system does not tell.
_STEP: Final = 50
_UNTOLD: Final = 5_000


def open_every_file(store: ox.Store, folder: Path) -> None:
    """Look up one quad after the other, in each of the engine's orders, until all files of its folder are open.

    Notes
    -----
    Keys are hashes, so a few dozen quads meet every file: 3 to 60 ms at the size of ESCO. At the worst every quad is
    looked up, and then every file has been read.
    """
    wanted = {str(path.resolve()) for path in folder.glob("*.sst")}
    next(iter(store.named_graphs()), None)
    quads = store.quads_for_pattern(None, None, None, None)
    n = 0
    while (_OPENED.exists() and not wanted <= _list_opened()) or (not _OPENED.exists() and n < _UNTOLD):
        step = list(itertools.islice(quads, _STEP))
        if not step:
            return
        for quad in step:
            _look_up(store, quad)
        n += len(step)


def _look_up(store: ox.Store, quad: ox.Quad) -> None:
    terms = [term for term in (quad.subject, quad.object) if isinstance(term, ox.NamedNode | ox.BlankNode)]
    for graph in (None, quad.graph_name, ox.DefaultGraph()):
        for term in terms:
            next(store.quads_for_pattern(term, None, None, graph), None)
        next(store.quads_for_pattern(None, quad.predicate, quad.object, graph), None)
        next(store.quads_for_pattern(None, None, quad.object, graph), None)


def _list_opened() -> set[str]:
    opened = set()
    for link in os.listdir(_OPENED):
        try:
            opened.add(os.readlink(_OPENED / link))
        except OSError:  # of the listing itself, which is closed by now
            continue
    return opened
