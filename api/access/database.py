"""The database beside a store: the one door to SQLAlchemy and, through it, to SQLite.

It lies in a folder of its own, since the store's folder holds nothing but the store. Every change is whole: a process
that is killed leaves the state before or after it; what must not be lost with the power is on the disk before it is
told as done.
"""

from __future__ import annotations

import os
import threading
import weakref
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager, nullcontext
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, Executable, create_engine, event
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.pool import NullPool, QueuePool, StaticPool

from api.access.rights_count import MAKE_COUNT, RightsCount
from ontology.errors import StorageFullError, UnavailableError

__all__ = ["Database", "DatabaseError", "find_database"]

_FILE: Final = "access.sqlite"
#: Each makes the next version of the tables of the one before; a step that has been shipped is never changed.
_STEPS: Final[tuple[tuple[str, ...], ...]] = (
    (
        """CREATE TABLE kept (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        person TEXT NOT NULL,
        address TEXT NOT NULL,
        words TEXT NOT NULL,
        day TEXT NOT NULL,
        revision INTEGER NOT NULL,
        UNIQUE (person, address)
    ) STRICT""",
    ),
    (
        """CREATE TABLE accounts (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        name TEXT NOT NULL,
        folded TEXT NOT NULL UNIQUE,
        person TEXT NOT NULL DEFAULT '',
        password TEXT,
        issuer TEXT,
        subject TEXT,
        made_at REAL NOT NULL,
        ended_at REAL,
        failures INTEGER NOT NULL DEFAULT 0,
        waits_until REAL NOT NULL DEFAULT 0,
        UNIQUE (issuer, subject)
    ) STRICT""",
        """CREATE TABLE grants (
        account INTEGER NOT NULL REFERENCES accounts (number),
        role TEXT NOT NULL,
        team TEXT NOT NULL DEFAULT '',
        competency TEXT NOT NULL DEFAULT '',
        with_below INTEGER NOT NULL DEFAULT 0,
        UNIQUE (account, role, team, competency)
    ) STRICT""",
        """CREATE TABLE invitations (
        digest TEXT PRIMARY KEY,
        account INTEGER NOT NULL REFERENCES accounts (number),
        ends_at REAL NOT NULL
    ) STRICT""",
        """CREATE TABLE sessions (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        digest TEXT NOT NULL UNIQUE,
        account INTEGER NOT NULL REFERENCES accounts (number),
        made_at REAL NOT NULL,
        seen_at REAL NOT NULL,
        confirmed_at REAL NOT NULL,
        about TEXT NOT NULL
    ) STRICT""",
        """CREATE TABLE tokens (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        digest TEXT NOT NULL UNIQUE,
        account INTEGER NOT NULL REFERENCES accounts (number),
        name TEXT NOT NULL,
        scope TEXT NOT NULL,
        made_at REAL NOT NULL,
        ends_at REAL NOT NULL,
        used_at REAL
    ) STRICT""",
        """CREATE TABLE purposes (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        account INTEGER NOT NULL REFERENCES accounts (number),
        team TEXT NOT NULL DEFAULT '',
        person TEXT NOT NULL DEFAULT '',
        reason TEXT NOT NULL,
        words TEXT NOT NULL,
        made_at REAL NOT NULL,
        ends_at REAL NOT NULL
    ) STRICT""",
        "CREATE TABLE attempts (address TEXT NOT NULL, at REAL NOT NULL) STRICT",
        "CREATE INDEX attempts_by_address ON attempts (address, at)",
        """CREATE TABLE looks (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        account INTEGER NOT NULL,
        by TEXT NOT NULL,
        at REAL NOT NULL,
        kind TEXT NOT NULL,
        purpose INTEGER
    ) STRICT""",
        """CREATE TABLE looked_at (
        look INTEGER NOT NULL REFERENCES looks (number) ON DELETE CASCADE,
        person TEXT NOT NULL
    ) STRICT""",
        "CREATE INDEX looked_at_by_person ON looked_at (person)",
        "CREATE INDEX looked_at_by_look ON looked_at (look)",
        """CREATE TABLE events (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        at REAL NOT NULL,
        account INTEGER,
        what TEXT NOT NULL
    ) STRICT""",
    ),
    (
        "CREATE TABLE keys (name TEXT PRIMARY KEY, secret TEXT NOT NULL) STRICT",
        """CREATE TABLE shares (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        person TEXT NOT NULL,
        address TEXT NOT NULL,
        until TEXT NOT NULL,
        UNIQUE (person, address)
    ) STRICT""",
        """CREATE TABLE provider_starts (
        digest TEXT PRIMARY KEY,
        nonce TEXT NOT NULL,
        verifier TEXT NOT NULL,
        is_invited INTEGER NOT NULL,
        account INTEGER NOT NULL,
        leads_to TEXT NOT NULL,
        ends_at REAL NOT NULL
    ) STRICT""",
        "ALTER TABLE events ADD COLUMN by_account INTEGER",
    ),
    (
        "CREATE TABLE erased (key TEXT PRIMARY KEY, at REAL NOT NULL) STRICT",
        """CREATE TABLE backups (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        path TEXT NOT NULL,
        revision INTEGER NOT NULL,
        at REAL NOT NULL
    ) STRICT""",
    ),
    (
        """CREATE TABLE erasures_asked (
        person TEXT PRIMARY KEY,
        account INTEGER NOT NULL REFERENCES accounts (number),
        at REAL NOT NULL
    ) STRICT""",
    ),
    MAKE_COUNT,
)
_BUSY_MS: Final = 5000
_BEGIN: Final = "newel_begin"


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
    DatabaseError
        The file is no database, or of a later version of the program.
    """

    def __init__(self, path: Path | None) -> None:
        if path is not None:
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        url = URL.create("sqlite+pysqlite", database=str(path) if path else None)
        # a database in memory is one connection: whoever uses it has it alone
        self._lock = threading.RLock() if path is None else None
        arguments = {"check_same_thread": False, "isolation_level": None}
        self._engine = create_engine(
            url,
            poolclass=StaticPool if path is None else QueuePool,
            connect_args=arguments,
        )
        event.listen(self._engine, "connect", _set_up)
        event.listen(self._engine, "begin", _begin)
        weakref.finalize(self, self._engine.dispose)
        self._n_changes = 0
        self._count: RightsCount | None = None
        self._make_tables()
        if path is not None:
            watching = create_engine(url, poolclass=NullPool, connect_args=arguments)
            event.listen(watching, "connect", _set_up)
            self._count = RightsCount(watching, path)

    def _make_tables(self) -> None:
        # two processes may open it at once: the second waits, and then finds nothing to do
        with self.begin() as connection:
            version = int(connection.exec_driver_sql("PRAGMA user_version").scalar_one())
            if version > len(_STEPS):
                cause = ValueError("the database is of a later version of the program")
                raise DatabaseError("PRAGMA user_version", None, cause)
            for statements in _STEPS[version:]:
                for statement in statements:
                    connection.exec_driver_sql(statement)
            connection.exec_driver_sql(f"PRAGMA user_version = {len(_STEPS)}")

    @contextmanager
    def begin(self, *, is_durable: bool = True) -> Iterator[Connection]:
        """Hold a connection that changes something: all of it is stored at the end of the block, or none.

        `is_durable` says whether it is on the disk then, and not only safe from a killed process.
        """
        pragma = f"PRAGMA synchronous = {'FULL' if is_durable else 'NORMAL'}"
        with ExitStack() as until_stored, self._hold(pragma, "BEGIN IMMEDIATE") as connection:
            self._n_changes += 1
            if self._count is not None:
                until_stored.enter_context(self._count.tell_change())
            yield connection

    def read_version(self) -> int:
        """Return a number that is another one after every change of anybody's rights, whoever made it."""
        return self._n_changes if self._count is None else self._count.read()

    def ask(self, statement: Executable) -> list[Any]:
        """Return the rows of a SELECT."""
        with self._hold("", "BEGIN") as connection:
            return list(connection.execute(statement))

    def change(self, statement: Executable, *, is_durable: bool = True) -> int:
        """Carry out one statement that changes something; return how many rows it changed."""
        with self.begin(is_durable=is_durable) as connection:
            return int(connection.execute(statement).rowcount)

    def compact(self) -> None:
        """Write the file anew, and nothing beside it: what was removed stands in no byte of them afterwards."""
        with self._connect() as cursor:
            cursor.execute("VACUUM")
            # readers may hold it up; the last of them to leave lets it go
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def copy_to(self, path: Path) -> None:
        """Write a copy, as a database of its own, to a file that does not exist yet."""
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with self._connect() as cursor:
            cursor.execute("VACUUM INTO ?", (str(path),))
        path.chmod(0o600)

    @contextmanager
    def _connect(self) -> Iterator[Any]:
        """Hold a cursor outside of any transaction."""
        with self._lock or nullcontext(), closing(self._engine.raw_connection()) as connection:
            cursor = connection.cursor()
            try:
                yield cursor
            finally:
                cursor.close()

    @contextmanager
    def _hold(self, pragma: str, begin: str) -> Iterator[Connection]:
        if self._lock is not None:
            self._lock.acquire()
        try:
            with self._engine.connect().execution_options(**{_BEGIN: begin}) as connection:
                if pragma:
                    # outside of a transaction, or it says nothing
                    assert connection.connection.dbapi_connection is not None
                    connection.connection.dbapi_connection.cursor().execute(pragma)
                with connection.begin():
                    yield connection
        except OperationalError as error:
            # of the statement nothing is told: it may hold names
            told = str(error.orig)
            kind = StorageFullError if "full" in told else UnavailableError
            raise kind(f"Accounts and the log of looks cannot be read or written at the moment: {told}.") from None
        finally:
            if self._lock is not None:
                self._lock.release()


def _set_up(connection: Any, record: object) -> None:
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {_BUSY_MS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    cursor.execute("PRAGMA foreign_keys = ON")
    # an erased row is not to stay readable in the file
    cursor.execute("PRAGMA secure_delete = ON")
    cursor.close()


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get(_BEGIN, "BEGIN"))
