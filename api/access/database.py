"""The database beside a store: the one door to SQLite.

It lies in a folder of its own, since the store's folder holds nothing but the store. Every change is written through to
the disk before it is told as done, and whole: a process that is killed leaves the state before or after it.
"""

from __future__ import annotations

import os
import sqlite3
import threading
import weakref
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

__all__ = ["Database", "find_database"]

_FILE: Final = "access.sqlite"
#: Each makes the next version of the tables of the one before; a step that has been shipped is never changed.
_STEPS: Final = (
    """CREATE TABLE kept (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        person TEXT NOT NULL,
        address TEXT NOT NULL,
        words TEXT NOT NULL,
        day TEXT NOT NULL,
        revision INTEGER NOT NULL,
        UNIQUE (person, address)
    ) STRICT""",
)
_BUSY_MS: Final = 5000


def find_database(store: Path | None) -> Path | None:
    """Return the file of the database beside a store; None beside one that lives in memory."""
    return None if store is None else store.with_name(f"{store.name}-access") / _FILE


class Database:
    """An open database. Safe for many threads.

    Parameters
    ----------
    path : Path or None
        Made where it is missing, for its owner alone; None: in memory.

    Raises
    ------
    OSError
        The folder cannot be made.
    sqlite3.DatabaseError
        The file is no database, or of a later version of the program.
    """

    def __init__(self, path: Path | None) -> None:
        if path is not None:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        self._lock = threading.Lock()
        self._connection = sqlite3.connect(path or ":memory:", isolation_level=None, check_same_thread=False)
        weakref.finalize(self, self._connection.close)
        self._connection.execute(f"PRAGMA busy_timeout = {_BUSY_MS}")
        self._connection.execute("PRAGMA journal_mode = WAL")
        self._connection.execute("PRAGMA synchronous = FULL")
        self._make_tables()

    def _make_tables(self) -> None:
        # two processes may open it at once: the second waits, and then finds nothing to do
        with self._lock:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                ((version,),) = self._connection.execute("PRAGMA user_version")
                if version > len(_STEPS):
                    raise sqlite3.DatabaseError("the database is of a later version of the program")
                for step in _STEPS[version:]:
                    self._connection.execute(step)
                self._connection.execute(f"PRAGMA user_version = {len(_STEPS)}")
            except BaseException:
                self._connection.execute("ROLLBACK")
                raise
            self._connection.execute("COMMIT")

    def ask(self, sql: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """Return the rows of a SELECT."""
        with self._lock:
            return self._connection.execute(sql, values).fetchall()

    def change(self, sql: str, values: Sequence[Any] = ()) -> int:
        """Carry out one statement that changes something; return how many rows it changed, once they are on disk."""
        with self._lock:
            return self._connection.execute(sql, values).rowcount
