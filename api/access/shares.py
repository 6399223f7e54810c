"""What a person shows to their lead: one address of theirs each, until a day, and no longer than they like."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from sqlalchemy import delete, insert, select

from api.access.actor import Share
from api.access.database import Database
from api.access.tables import SHARES
from ontology.errors import InputError

__all__ = ["LONGEST_DAYS", "MOST", "Shared", "Shares"]

LONGEST_DAYS: Final = 365
#: Most that one person shows at once.
MOST: Final = 100
_LONGEST_ADDRESS: Final = 2000


@dataclass(frozen=True, slots=True)
class Shared:
    """What is shown, with the number by which it is stopped."""

    number: int
    share: Share


class Shares:
    """The shares of a database."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def show(self, person: str, address: str, until: dt.date, today: dt.date) -> None:
        """Show a page of one's own from now on; the same one again is shown until the new day.

        Raises
        ------
        InputError
            The address is none of this person's pages, the day has passed or is too far, or too much is shown.
        """
        own_page = f"/people/{quote(person, safe='')}/"
        is_plain = address.isascii() and address.isprintable() and "\\" not in address and "#" not in address
        if not (is_plain and len(address) <= _LONGEST_ADDRESS and address.startswith(own_page)):
            raise InputError("Only a page of your own can be shown.", parameter="address")
        if not today <= until <= today + dt.timedelta(days=LONGEST_DAYS):
            raise InputError("A page is shown until a day from today on, at most a year ahead.", parameter="until")
        shown = self.list(person, today)
        if len(shown) >= MOST and all(one.share.address != address for one in shown):
            raise InputError(f"At most {MOST} pages are shown: stop one first.", parameter="address")
        with self._database.begin() as connection:
            connection.execute(delete(SHARES).where(SHARES.c.person == person, SHARES.c.address == address))
            connection.execute(insert(SHARES).values(person=person, address=address, until=until.isoformat()))

    def list(self, person: str, today: dt.date) -> tuple[Shared, ...]:
        """Return what a person shows today, the latest first."""
        own = select(SHARES).where(SHARES.c.person == person, SHARES.c.until >= today.isoformat())
        return tuple(
            Shared(row.number, Share(row.person, row.address, dt.date.fromisoformat(row.until)))
            for row in self._database.ask(own.order_by(SHARES.c.number.desc()))
        )

    def list_all(self, today: dt.date) -> tuple[Share, ...]:
        """Return what anybody shows today."""
        shown = select(SHARES).where(SHARES.c.until >= today.isoformat()).order_by(SHARES.c.number)
        return tuple(
            Share(row.person, row.address, dt.date.fromisoformat(row.until)) for row in self._database.ask(shown)
        )

    def stop(self, person: str, number: int) -> bool:
        """Show something no longer; return whether this person showed it."""
        own = delete(SHARES).where(SHARES.c.person == person, SHARES.c.number == number)
        return self._database.change(own) > 0

    def erase(self, person: str) -> int:
        """Remove all that a person shows; return how much."""
        return self._database.change(delete(SHARES).where(SHARES.c.person == person))
