"""The text of a bulk load on its way from the thread that makes it to the one that loads it. Imports nothing of ours.

An engine that reads from a Python file asks for two kilobytes at a time and waits each time for the interpreter. A pipe
of the operating system needs no interpreter, and the whole text never stands in memory.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Callable
from types import TracebackType
from typing import Final, Self

#: Where a process finds its open files by number (Linux, macOS, BSD).
FILES_BY_NUMBER: Final = "/dev/fd"


class BulkText:
    """Text written block by block by one thread and loaded by another; a context manager that ends the text."""

    def __init__(self) -> None:
        self._ends = os.pipe() if os.path.isdir(FILES_BY_NUMBER) else None
        self._kept: list[bytes] = []
        self._is_ended = threading.Event()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.end()

    def write(self, block: bytes) -> None:
        """Hand over a block; one that is no longer wanted, since the loading failed, is dropped."""
        if self._ends is None:
            self._kept.append(block)
            return
        rest = memoryview(block)
        with contextlib.suppress(BrokenPipeError):
            while rest:
                rest = rest[os.write(self._ends[1], rest) :]

    def end(self) -> None:
        """Say that nothing more comes."""
        if not self._is_ended.is_set():
            self._is_ended.set()
            if self._ends is not None:
                os.close(self._ends[1])

    def load(self, load_file: Callable[[str], object], load_bytes: Callable[[bytes], object]) -> None:
        """Load the text as it comes, through the way that this system knows; returns when it is loaded."""
        if self._ends is None:
            self._is_ended.wait()
            load_bytes(b"".join(self._kept))
            return
        try:
            load_file(f"{FILES_BY_NUMBER}/{self._ends[0]}")
        finally:
            os.close(self._ends[0])  # wakes a writer that waits for room
