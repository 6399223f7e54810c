"""Answers kept for who asks the same again.

An answer's tag stands for the question, the day, the store, its revision and the program, so an answer under the same
tag is the same answer: nothing kept can be stale, and what nobody asks for any more falls out.
"""

from __future__ import annotations

import threading
from collections import OrderedDict


class AnswerCache:
    """Texts by tag, `limit_bytes` together at the most: those asked for longest ago go first. Safe for many threads."""

    def __init__(self, limit_bytes: int) -> None:
        self._limit = limit_bytes
        self._size = 0
        self._kept: OrderedDict[str, bytes] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, tag: str) -> bytes | None:
        """Return what is kept under a tag, or None."""
        with self._lock:
            content = self._kept.get(tag)
            if content is not None:
                self._kept.move_to_end(tag)
            return content

    def put(self, tag: str, content: bytes) -> None:
        """Keep a text; one larger than an eighth of the limit is not worth the room."""
        if len(content) > self._limit // 8:
            return
        with self._lock:
            self._size += len(content) - len(self._kept.pop(tag, b""))
            self._kept[tag] = content
            while self._size > self._limit:
                self._size -= len(self._kept.popitem(last=False)[1])

    def clear(self) -> None:
        """Let go of everything."""
        with self._lock:
            self._kept.clear()
            self._size = 0
