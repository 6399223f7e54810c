"""Ways to a provider that have begun: each comes back once, with what only this start knows, within ten minutes."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Final

from sqlalchemy import delete, insert, select

from api.access.accounts import Clock
from api.access.database import Database
from api.access.secrets import digest_secret, make_secret
from api.access.tables import PROVIDER_STARTS

__all__ = ["ENDS_AFTER_S", "Start", "Starts"]

ENDS_AFTER_S: Final = 600


@dataclass(frozen=True, slots=True)
class Start:
    """What goes along to a provider and must come back.

    `account` is that of who signs in again, 0 for who signs in; `leads_to` a path of ours; `is_invited` whether an
    invitation is used up with it.
    """

    state: str
    nonce: str
    verifier: str
    account: int
    leads_to: str
    is_invited: bool

    @property
    def is_again(self) -> bool:
        """Whether somebody who has signed in shows once more who they are."""
        return self.account > 0


class Starts:
    """The starts of a database."""

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock

    def make(self, leads_to: str, *, account: int = 0, is_invited: bool = False) -> Start:
        """Return a new start; what has ended is removed."""
        start = Start(make_secret(), make_secret(), make_secret(), account, leads_to, is_invited)
        now = self._clock()
        new = insert(PROVIDER_STARTS).values(
            digest=digest_secret(start.state),
            nonce=start.nonce,
            verifier=start.verifier,
            account=account,
            leads_to=leads_to,
            is_invited=int(is_invited),
            ends_at=now + ENDS_AFTER_S,
        )
        with self._database.begin(is_durable=False) as connection:
            connection.execute(delete(PROVIDER_STARTS).where(PROVIDER_STARTS.c.ends_at <= now))
            connection.execute(new)
        return start

    def take(self, state: str) -> Start | None:
        """Return the start of a state, this once; None where there is none, or it has ended."""
        own = PROVIDER_STARTS.c.digest == digest_secret(state)
        with self._database.begin(is_durable=False) as connection:
            row = connection.execute(select(PROVIDER_STARTS).where(own)).first()
            connection.execute(delete(PROVIDER_STARTS).where(own))
        if row is None or row.ends_at <= self._clock():
            return None
        return Start(state, row.nonce, row.verifier, row.account, row.leads_to, bool(row.is_invited))
