"""What the database keeps about a person, and its erasure; the list of those erased, whom no backup brings back.

The list holds for each a hash of the id with a key that lies in the database alone: it tells nobody who it was, and
tells of any id whether it is on the list.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import time
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Connection, delete, func, insert, select, update

from api.access.accounts import Clock
from api.access.database import Database
from api.access.keys import get_key
from api.access.tables import (
    ACCOUNTS,
    BACKUPS,
    ERASED,
    EVENTS,
    GRANTS,
    INVITATIONS,
    KEPT,
    KEYS,
    LOOKED_AT,
    LOOKS,
    PURPOSES,
    SESSIONS,
    SHARES,
    TABLES,
    TOKENS,
)

__all__ = ["Copy", "Erasure", "KeptAbout"]

_KEY: Final = "erasure"
_DUE: Final = "compact"
_PREPARED: Final = "prepared"
_ERASED: Final = "erased"
#: What belongs to an account and goes with it.
_OF_ACCOUNT: Final = (GRANTS, INVITATIONS, SESSIONS, TOKENS)


@dataclass(frozen=True, slots=True)
class KeptAbout:
    """How much the database keeps about a person."""

    accounts: int
    sessions: int
    tokens: int
    kept: int
    shows: int
    looks: int
    purposes: int


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the store that was written: where, of which revision, when (seconds since 1970)."""

    path: str
    revision: int
    at: float


class Erasure:
    """People who are taken out of a database for good."""

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock
        self._key = get_key(database, _KEY)

    def make_key(self, person: str) -> str:
        """Return what stands for a person on the list: HMAC-SHA-256 of the id (RFC 2104)."""
        return hmac.new(self._key.encode(), person.encode(), hashlib.sha256).hexdigest()

    def list_keys(self) -> frozenset[str]:
        """Return what stands for each person who was erased."""
        return frozenset(row.key for row in self._database.ask(select(ERASED.c.key)))

    def build_test(self, more: Collection[str] = ()) -> Callable[[str], bool]:
        """Return what tells of an id whether it is on the list, or among other keys."""
        keys = self.list_keys() | set(more)
        return lambda person: self.make_key(person) in keys

    def count(self, person: str) -> KeptAbout:
        """Return how much there is about a person."""
        accounts = [
            row.number for row in self._database.ask(select(ACCOUNTS.c.number).where(ACCOUNTS.c.person == person))
        ]
        return KeptAbout(
            accounts=len(accounts),
            sessions=self._count(SESSIONS, SESSIONS.c.account.in_(accounts)),
            tokens=self._count(TOKENS, TOKENS.c.account.in_(accounts)),
            kept=self._count(KEPT, KEPT.c.person == person),
            shows=self._count(SHARES, SHARES.c.person == person),
            looks=self._count(LOOKED_AT, LOOKED_AT.c.person == person),
            purposes=self._count(PURPOSES, PURPOSES.c.person == person),
        )

    def prepare(self, names: Mapping[str, Collection[str]]) -> None:
        """Keep the names of people until they are erased, for whoever has to end it after a killed process."""
        told = json.dumps({person: sorted(own) for person, own in names.items()}, ensure_ascii=False)
        self._database.change(insert(KEYS).prefix_with("OR REPLACE").values(name=_PREPARED, secret=told))

    def erase(self, people: Collection[str], words: Iterable[str] = (), *, by: int | None = None) -> None:
        """Take people out and put them on the list; `words` are their names, which go from purposes, `by` the
        account that does it.

        All of it is stored, or nothing. Doing it again changes nothing.
        """
        with self._database.begin() as connection:
            for person in sorted(people):
                row = insert(ERASED).prefix_with("OR IGNORE").values(key=self.make_key(person), at=self._clock())
                if connection.execute(row).rowcount:
                    connection.execute(insert(EVENTS).values(at=self._clock(), what="person erased", by_account=by))
                self._take_out(connection, person)
            self._reword(connection, {*people, *words})
            connection.execute(delete(KEYS).where(KEYS.c.name == _PREPARED))
            connection.execute(insert(KEYS).prefix_with("OR REPLACE").values(name=_DUE, secret=""))
        self._compact()

    def _compact(self) -> None:
        """Leave no byte of what was removed; a process that is killed before that finds it due."""
        self._database.compact()
        self._database.change(delete(KEYS).where(KEYS.c.name == _DUE))

    def catch_up(self, keys: Collection[str]) -> int:
        """Do what is left of erasures that the store tells of by their keys; return of how many people.

        Whom no killed process has left the names of came back with a copy that was put in place by hand: then all
        purposes lose their line, since any of them may hold a name that nobody knows any more.
        """
        if not set(keys) - self.list_keys():
            if self._database.ask(select(KEYS.c.name).where(KEYS.c.name == _DUE)):
                self._compact()
            return 0
        known = {
            row.person
            for table in TABLES
            if "person" in table.c
            for row in self._database.ask(select(table.c.person).distinct())
        }
        prepared = self._database.ask(select(KEYS.c.secret).where(KEYS.c.name == _PREPARED))
        names: dict[str, list[str]] = json.loads(prepared[0].secret) if prepared else {}
        found = [person for person in sorted((known | set(names)) - {""}) if self.make_key(person) in keys]
        self.erase(found, [name for person in found for name in names.get(person, ())])
        if set(found) - names.keys():
            self._database.change(update(PURPOSES).values(words=_ERASED))
            self._compact()
        with self._database.begin() as connection:
            for key in sorted(keys):
                connection.execute(insert(ERASED).prefix_with("OR IGNORE").values(key=key, at=self._clock()))
        return len(found)

    def note_copy(self, path: str, revision: int) -> None:
        """Remember that a copy of the store was written."""
        self._database.change(insert(BACKUPS).values(path=path, revision=revision, at=self._clock()))

    def list_copies(self) -> tuple[Copy, ...]:
        """Return the copies that were written, the oldest first; whether they are still there is not known."""
        rows = self._database.ask(select(BACKUPS).order_by(BACKUPS.c.number))
        return tuple(Copy(row.path, row.revision, row.at) for row in rows)

    def _count(self, table: Any, condition: Any) -> int:
        return int(self._database.ask(select(func.count()).select_from(table).where(condition))[0][0])

    def _take_out(self, connection: Connection, person: str) -> None:
        accounts = [row.number for row in connection.execute(select(ACCOUNTS).where(ACCOUNTS.c.person == person))]
        for table in _OF_ACCOUNT:
            connection.execute(delete(table).where(table.c.account.in_(accounts)))
        for number in accounts:
            # a number stays, since others are told who looked at them and who changed what
            gone = {"person": "", "password": None, "issuer": None, "subject": None, "failures": 0, "waits_until": 0.0}
            name = f"{_ERASED} {number}"
            new = update(ACCOUNTS).where(ACCOUNTS.c.number == number)
            connection.execute(new.values(name=name, folded=name, ended_at=self._clock(), made_at=0.0, **gone))
        connection.execute(update(LOOKS).where(LOOKS.c.account.in_(accounts)).values(by=_ERASED))
        about = select(PURPOSES.c.number).where(PURPOSES.c.person == person)
        connection.execute(update(LOOKS).where(LOOKS.c.purpose.in_(about)).values(purpose=None))
        for table in TABLES:
            if "person" in table.c and table is not ACCOUNTS:
                connection.execute(delete(table).where(table.c.person == person))
        connection.execute(delete(LOOKS).where(LOOKS.c.number.not_in(select(LOOKED_AT.c.look))))

    def _reword(self, connection: Connection, texts: Collection[str]) -> None:
        """Take names and ids out of what purposes say."""
        spoken = re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, sorted(texts, key=len, reverse=True))) + r")(?!\w)")
        for row in connection.execute(select(PURPOSES)).all():
            if texts and spoken.search(row.words):
                words = spoken.sub(_ERASED, row.words)
                connection.execute(update(PURPOSES).where(PURPOSES.c.number == row.number).values(words=words))
