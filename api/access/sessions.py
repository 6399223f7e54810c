"""Sessions: who has signed in with a browser, for an hour without a request and twelve hours in all (ASVS V7.3)."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Row, and_, delete, insert, select, update

from api.access.accounts import Clock
from api.access.database import Database
from api.access.secrets import digest_secret, make_secret
from api.access.tables import ACCOUNTS, SESSIONS

__all__ = ["CONFIRMED_S", "IDLE_S", "LONGEST_S", "Session", "Sessions"]

IDLE_S: Final = 3600.0
LONGEST_S: Final = 12 * 3600.0
#: How long a password that was given again opens what asks for one.
CONFIRMED_S: Final = 600.0
#: A session is not written at each request: its hour without one may be shorter by this.
_SEEN_EACH_S: Final = 60.0
_LONGEST_ABOUT: Final = 200
#: So many sessions are known without a look into the database.
_MOST_KNOWN: Final = 2_000


@dataclass(frozen=True, slots=True)
class Session:
    """A session without its secret; `about` is what the browser says it is."""

    number: int
    account: int
    made_at: float
    seen_at: float
    confirmed_at: float
    about: str


class Sessions:
    """The sessions of a database."""

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock
        #: Digest of a secret -> the session found last, and at which state of the database.
        self._known: dict[str, tuple[int, Session]] = {}

    def open(self, account: int, about: str = "") -> str:
        """Return the secret of a new session of an account that has just signed in."""
        now, secret = self._clock(), make_secret()
        new = {"digest": digest_secret(secret), "account": account, "about": about[:_LONGEST_ABOUT]}
        with self._database.begin(is_durable=False) as connection:
            connection.execute(delete(SESSIONS).where(~self._is_open()))
            connection.execute(insert(SESSIONS).values(**new, made_at=now, seen_at=now, confirmed_at=now))
        return secret

    def find(self, secret: str) -> Session | None:
        """Return the session of a secret, seen now; None where there is none, or it or its account has ended."""
        now, digest, version = self._clock(), digest_secret(secret), self._database.read_version()
        known = self._known.get(digest)
        if known is not None and known[0] == version and _was_seen_lately(known[1], now):
            return known[1]
        own = select(SESSIONS).join(ACCOUNTS, ACCOUNTS.c.number == SESSIONS.c.account)
        own = own.where(SESSIONS.c.digest == digest, ACCOUNTS.c.ended_at.is_(None), self._is_open())
        rows = self._database.ask(own)
        if not rows:
            return None
        session = _build(rows[0])
        if now - session.seen_at > _SEEN_EACH_S:
            seen = update(SESSIONS).where(SESSIONS.c.number == session.number).values(seen_at=now)
            self._database.change(seen, is_durable=False)
        if len(self._known) >= _MOST_KNOWN:
            self._known.clear()
        self._known[digest] = version, session
        return session

    def confirm(self, secret: str) -> str | None:
        """Return a new secret of a session whose password was given again; the old one ends (ASVS V7.2.4)."""
        new = make_secret()
        own = and_(SESSIONS.c.digest == digest_secret(secret), self._is_open())
        changed = update(SESSIONS).where(own).values(digest=digest_secret(new), confirmed_at=self._clock())
        return new if self._database.change(changed) else None

    def is_confirmed(self, session: Session) -> bool:
        """Whether the password was given not long ago."""
        return self._clock() - session.confirmed_at <= CONFIRMED_S

    def list(self, account: int) -> tuple[Session, ...]:
        """Return the open sessions of an account, the latest first."""
        own = select(SESSIONS).where(SESSIONS.c.account == account, self._is_open())
        return tuple(_build(row) for row in self._database.ask(own.order_by(SESSIONS.c.number.desc())))

    def end(self, secret: str) -> None:
        """End the session of a secret."""
        self._database.change(delete(SESSIONS).where(SESSIONS.c.digest == digest_secret(secret)))

    def end_number(self, account: int, number: int) -> bool:
        """End a session of an account by its number; return whether there was one."""
        own = delete(SESSIONS).where(SESSIONS.c.account == account, SESSIONS.c.number == number)
        return self._database.change(own) > 0

    def _is_open(self) -> Any:
        now = self._clock()
        return and_(SESSIONS.c.seen_at > now - IDLE_S, SESSIONS.c.made_at > now - LONGEST_S)


def _was_seen_lately(session: Session, now: float) -> bool:
    """Whether a session is open for sure as long as nothing is changed, and need not be marked as seen again."""
    return now - session.seen_at <= _SEEN_EACH_S and now - session.made_at < LONGEST_S


def _build(row: Row[Any]) -> Session:
    return Session(row.number, row.account, row.made_at, row.seen_at, row.confirmed_at, row.about)
