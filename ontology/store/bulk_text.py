"""The text of a bulk load in batches, and its loading beside other work.

The whole text never stands in memory, and neither does what an engine holds of it until it is loaded.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final

from ontology.rdf.namespaces import Quad
from ontology.store.commit_text import write_lines

#: Quads given to the engine at a time: it holds about two kilobytes of memory for each until they are loaded.
QUADS_PER_BATCH: Final = 50_000
#: Disk taken by a change, as a multiple of its text: indexes, history and compaction included.
DISK_FACTOR: Final = 4


def iterate_batches(blocks: Iterable[Sequence[Quad]]) -> Iterator[bytes]:
    """Yield the text (N-Quads) of blocks of quads, `QUADS_PER_BATCH` of them at a time or up to as many more."""
    kept: list[bytes] = []
    n_kept = 0
    for block in blocks:
        for start in range(0, len(block), QUADS_PER_BATCH):
            quads = block[start : start + QUADS_PER_BATCH]
            kept.append(write_lines(quads))
            n_kept += len(quads)
            if n_kept >= QUADS_PER_BATCH:
                yield b"".join(kept)
                kept, n_kept = [], 0
    if kept:
        yield b"".join(kept)


def watch_room(batches: Iterable[bytes], require_free: Callable[[int], None]) -> Iterator[bytes]:
    """Hand on what the disk has room for; `require_free` raises where so many bytes are not free."""
    size = 0
    for lines in batches:
        size += len(lines)
        require_free(DISK_FACTOR * size)
        yield lines


def load_beside(load: Callable[[bytes], None], batches: Iterable[bytes], work: Callable[[], None] | None) -> None:
    """Make and load batches in another thread while this one works; what the work raises ends the loading too."""
    is_over = threading.Event()

    def fill() -> None:
        for batch in batches:
            if is_over.is_set():
                return
            load(batch)

    with ThreadPoolExecutor(1) as pool:
        filling = pool.submit(fill)
        try:
            if work is not None:
                work()
            filling.result()
        finally:
            is_over.set()
