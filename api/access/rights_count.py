"""How often rights have changed, counted by the database itself: whoever changes them, of this process or not.

So at each request it is known whether who asked a moment ago is still who they were. What changes nobody's rights (who
looked at whom, when a session was used last, what was tried) is not counted.

Even a tiny read of the database is a tenth of a quick answer, and lets go of the interpreter in its midst. So beside it
lies a board, a file of two texts that every process has before its eyes: each change writes a text of its own into the
first before it is stored and into the second afterwards. While they are equal and no others than before, nothing has
changed; while they differ (something is being changed, or whoever did was killed) the database is asked.
"""

from __future__ import annotations

import mmap
import os
import secrets
import weakref
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Engine

__all__ = ["MAKE_COUNT", "RightsCount"]

#: Table -> what of it actors are made of; a new row of the first three makes nobody another one than they were.
_COUNTED: Final = (
    ("accounts", ("DELETE", "UPDATE OF name, person, ended_at")),
    ("sessions", ("DELETE", "UPDATE OF digest, account, made_at, confirmed_at")),
    ("tokens", ("DELETE", "UPDATE OF digest, account, scope, made_at, ends_at")),
    ("grants", ("DELETE", "UPDATE", "INSERT")),
    ("purposes", ("DELETE", "UPDATE", "INSERT")),
    ("shares", ("DELETE", "UPDATE", "INSERT")),
)
#: The statements of the step that made the count.
MAKE_COUNT: Final = (
    "CREATE TABLE rights_changed (times INTEGER NOT NULL) STRICT",
    "INSERT INTO rights_changed VALUES (0)",
    *(
        f"CREATE TRIGGER {table}_{change.partition(' ')[0].lower()} AFTER {change} ON {table} "
        "BEGIN UPDATE rights_changed SET times = times + 1; END"
        for table, changes in _COUNTED
        for change in changes
    ),
)
_SUFFIX: Final = ".changes"
_LENGTH: Final = 16


class RightsCount:
    """The count of a database, and the board beside it. Safe for many threads, none of which waits for another.

    Parameters
    ----------
    engine : Engine
        Makes connections for this alone: each is kept for the next who reads.
    database : Path
        Its file.
    """

    def __init__(self, engine: Engine, database: Path) -> None:
        self._engine = engine
        self._idle: deque[Any] = deque()
        self._file = os.open(database.with_suffix(_SUFFIX), os.O_RDWR | os.O_CREAT, 0o600)
        weakref.finalize(self, os.close, self._file)
        if os.fstat(self._file).st_size < 2 * _LENGTH:
            os.pwrite(self._file, bytes(2 * _LENGTH), 0)
        self._board = mmap.mmap(self._file, 2 * _LENGTH, prot=mmap.PROT_READ)
        #: What stood on the board when the count was read last, and the count.
        self._known = (b"", 0)

    def read(self) -> int:
        """Return the count. O(1), without a statement while nothing changes."""
        board, (known, count) = self._board[:], self._known
        if board == known:
            return count
        count = self._ask()
        if board[:_LENGTH] == board[_LENGTH:]:
            self._known = board, count
        return count

    def _ask(self) -> int:
        try:
            watch = self._idle.pop()
        except IndexError:
            watch = self._engine.raw_connection()
        # read to the end, or this connection would see the database as it is now from then on
        ((times,),) = watch.cursor().execute("SELECT times FROM rights_changed")
        self._idle.append(watch)
        return int(times)

    @contextmanager
    def tell_change(self) -> Iterator[None]:
        """Tell every process that something is being changed as long as the block runs, and then that it was.

        Within a transaction that has the database for itself.
        """
        own = secrets.token_bytes(_LENGTH)
        os.pwrite(self._file, own, 0)
        try:
            yield
        finally:
            # where that cannot be written, everyone goes on asking the database
            with suppress(OSError):
                os.pwrite(self._file, own, _LENGTH)
