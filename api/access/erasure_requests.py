"""Erasures that wait until a second administrator, or an architect, has confirmed them (ASVS V2.3.5).

Who confirms says of whom it is, as it stands in what they were given to confirm: nobody is told here who is to go.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Final

from sqlalchemy import Insert, delete, insert, select

from api.access.accounts import Clock
from api.access.database import Database
from api.access.tables import ACCOUNTS, ERASURES_ASKED, EVENTS
from ontology.errors import ConflictError, NotFoundError

__all__ = ["WAITS_S", "ErasureAsked", "ErasureRequests"]

#: What nobody confirms within a week has to be asked for anew.
WAITS_S: Final = 7 * 24 * 3600.0


@dataclass(frozen=True, slots=True)
class ErasureAsked:
    """One that waits: for whom, which account asked for it, and when (seconds since 1970)."""

    person: str
    account: int
    by: str
    at: float


class ErasureRequests:
    """The erasures of a database that wait.

    Parameters
    ----------
    database : Database
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock

    def ask(self, person: str, account: int) -> None:
        """Have an erasure wait; one that waits already goes on waiting as it is."""
        waiting = {one.person for one in self.list()}
        with self._database.begin() as connection:
            if person not in waiting:
                connection.execute(delete(ERASURES_ASKED).where(ERASURES_ASKED.c.person == person))
                new = insert(ERASURES_ASKED).values(person=person, account=account, at=self._clock())
                connection.execute(new)
                connection.execute(self._tell("erasure asked for", account))

    def list(self) -> tuple[ErasureAsked, ...]:
        """Return those that wait, the oldest first."""
        since = self._clock() - WAITS_S
        rows = select(ERASURES_ASKED, ACCOUNTS.c.name).join(ACCOUNTS, ACCOUNTS.c.number == ERASURES_ASKED.c.account)
        rows = rows.where(ERASURES_ASKED.c.at > since).order_by(ERASURES_ASKED.c.at, ERASURES_ASKED.c.person)
        return tuple(ErasureAsked(row.person, row.account, row.name, row.at) for row in self._database.ask(rows))

    def withdraw(self, person: str, account: int) -> None:
        """Let one go that waits; nothing where none does."""
        with self._database.begin() as connection:
            if connection.execute(delete(ERASURES_ASKED).where(ERASURES_ASKED.c.person == person)).rowcount:
                connection.execute(self._tell("erasure withdrawn", account))

    def require_confirmable(self, person: str, account: int, own_person: str) -> None:
        """Raise unless an account may confirm that a person is erased.

        Raises
        ------
        NotFoundError
            No erasure of this person waits.
        ConflictError
            The account asked for it, or is this person's.
        """
        asked = next((one for one in self.list() if one.person == person), None)
        if asked is None or not person:
            raise NotFoundError("No erasure of this person waits to be confirmed.")
        if asked.account == account:
            raise ConflictError("You asked for it yourself: somebody else confirms it.")
        if person == own_person:
            raise ConflictError("Nobody confirms their own erasure.")

    def _tell(self, what: str, by: int) -> Insert:
        return insert(EVENTS).values(at=self._clock(), what=what, by_account=by)
