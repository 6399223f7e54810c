"""Security events: who signed in, was refused, was given or lost a right (ASVS V16.3.1, V16.3.2)."""

from __future__ import annotations

import datetime as dt
import time
from dataclasses import dataclass
from typing import Final

from sqlalchemy import insert, select

from api.access.accounts import Clock
from api.access.database import Database
from api.access.tables import ACCOUNTS, EVENTS

__all__ = ["Event", "Events"]


_ONCE_IN_S: Final = 3600.0


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened to an account; `by` is the account that did it, "" where nobody else did."""

    when: dt.datetime
    account: str
    what: str
    by: str


class Events:
    """The security events of a database."""

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock

    def tell(self, what: str, account: int | None = None, by: int | None = None) -> None:
        """Write down what happened to an account, and by which other one."""
        new = insert(EVENTS).values(at=self._clock(), account=account, what=what, by_account=by)
        self._database.change(new, is_durable=False)

    def tell_once(self, what: str, account: int) -> None:
        """Write down what may happen to an account again and again: once within the hour."""
        same = EVENTS.c.account == account, EVENTS.c.what == what, EVENTS.c.at > self._clock() - _ONCE_IN_S
        if not self._database.ask(select(EVENTS.c.number).where(*same).limit(1)):
            self.tell(what, account)

    def list(self, most: int | None = None) -> tuple[Event, ...]:
        """Return the events, the latest first, at most so many."""
        whose, by = ACCOUNTS.alias("whose"), ACCOUNTS.alias("by")
        found = select(EVENTS.c.at, EVENTS.c.what, whose.c.name.label("account"), by.c.name.label("by"))
        found = found.outerjoin(whose, whose.c.number == EVENTS.c.account)
        found = found.outerjoin(by, by.c.number == EVENTS.c.by_account).order_by(EVENTS.c.number.desc()).limit(most)
        return tuple(
            Event(dt.datetime.fromtimestamp(row.at, dt.UTC), row.account or "", row.what, row.by or "")
            for row in self._database.ask(found)
        )
