"""Purposes: why an architect looks at a team or a person, stated before and for at most a working day."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Sequence
from typing import Final

from sqlalchemy import insert, select, update

from api.access.accounts import Clock
from api.access.actor import Purpose
from api.access.database import Database
from api.access.tables import EVENTS, PURPOSES
from api.settings import Settings
from ontology.errors import InputError

__all__ = ["LONGEST_S", "REASONS", "Purposes", "split_reasons"]

LONGEST_S: Final = 8 * 3600.0
_BETWEEN: Final = ";"
_LONGEST_WORDS: Final = 300


def split_reasons(text: str) -> tuple[str, ...]:
    """Return the reasons that a setting names.

    Examples
    --------
    >>> split_reasons("audit; incident review;")
    ('audit', 'incident review')
    """
    return tuple(filter(None, (reason.strip() for reason in text.split(_BETWEEN))))


#: What a purpose can be for, where the company has set no reasons of its own; common practice, no source.
REASONS: Final = split_reasons(Settings().purpose_reasons)


class Purposes:
    """The purposes of a database."""

    def __init__(self, database: Database, clock: Clock = time.time, reasons: Sequence[str] = REASONS) -> None:
        self._database = database
        self._clock = clock
        self.reasons = tuple(reasons)

    def state(self, account: int, reason: str, words: str, *, team: str = "", person: str = "") -> None:
        """State a purpose for a team or for a person, from now on; errors as `check`."""
        self.check(reason, words, team=team, person=person)
        now = self._clock()
        new = {"account": account, "team": team, "person": person, "reason": reason, "words": " ".join(words.split())}
        with self._database.begin() as connection:
            connection.execute(insert(PURPOSES).values(**new, made_at=now, ends_at=now + LONGEST_S))
            connection.execute(insert(EVENTS).values(at=now, account=account, what="purpose stated"))

    def check(self, reason: str, words: str, *, team: str = "", person: str = "") -> None:
        """Refuse what is no purpose, whether or not there is such a team or person.

        Raises
        ------
        InputError
            The reason is none of the list, no line is said with it, or it is for neither or for both.
        """
        if reason not in self.reasons:
            raise InputError(f"The reason must be one of {', '.join(self.reasons)}.", parameter="reason")
        if not 0 < len(" ".join(words.split())) <= _LONGEST_WORDS:
            raise InputError(f"Say in a line, of at most {_LONGEST_WORDS} characters, what for.", parameter="words")
        if bool(team) == bool(person):
            raise InputError("A purpose is for one team or for one person.", parameter="team")

    def end(self, account: int) -> None:
        """End every purpose of an account."""
        now = self._clock()
        own = update(PURPOSES).where(PURPOSES.c.account == account, PURPOSES.c.ends_at > now)
        self._database.change(own.values(ends_at=now))

    def list(self, account: int) -> tuple[Purpose, ...]:
        """Return the purposes of an account that have not ended."""
        own = select(PURPOSES).where(PURPOSES.c.account == account, PURPOSES.c.ends_at > self._clock())
        return tuple(
            Purpose(row.team, row.person, row.reason, dt.datetime.fromtimestamp(row.ends_at, dt.UTC), row.number)
            for row in self._database.ask(own.order_by(PURPOSES.c.number))
        )
