"""Ways and plans that a person keeps: an address of ours, words, a day. Nobody sees another's."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Final
from urllib.parse import quote

from sqlalchemy import delete, insert, select

from api.access.database import Database
from api.access.tables import KEPT
from ontology.errors import InputError

__all__ = ["MOST_KEPT", "Kept", "KeptWays"]

#: Most that one person can keep.
MOST_KEPT: Final = 100
_LONGEST_ADDRESS, _LONGEST_WORDS = 2000, 300
_COLUMNS: Final = ("number", "address", "words", "day", "revision")
_PAGES: Final = ("routes", "schedule", "development-plan")


@dataclass(frozen=True, slots=True)
class Kept:
    """One way or plan; `revision` is that of the data it was computed from."""

    number: int
    address: str
    words: str
    day: dt.date
    revision: int


class KeptWays:
    """What people keep, in the database beside the store."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def list(self, person: str) -> tuple[Kept, ...]:
        """Return what a person keeps, the latest first."""
        own = select(*(KEPT.c[name] for name in _COLUMNS)).where(KEPT.c.person == person)
        rows = self.database.ask(own.order_by(KEPT.c.number.desc()))
        return tuple(
            Kept(number, address, words, dt.date.fromisoformat(day), at) for number, address, words, day, at in rows
        )

    def keep(self, person: str, address: str, words: str, day: dt.date, revision: int) -> None:
        """Keep a way or plan; one that is kept already is kept anew, with the words and the day of now.

        Raises
        ------
        InputError
            The address is none of this person's ways or plans, nothing is said of it, or too much is kept already.
        """
        require_own_page(person, address)
        words = " ".join(words.split())[:_LONGEST_WORDS]
        if not words:
            raise InputError("Say in a few words what is kept.", parameter="words")
        kept = {row.address for row in self.list(person)}
        if address not in kept and len(kept) >= MOST_KEPT:
            raise InputError(f"At most {MOST_KEPT} ways and plans are kept: remove one first.", parameter="address")
        # the latest stands first, so what is kept anew gets a new number
        new = {"person": person, "address": address, "words": words, "day": day.isoformat(), "revision": revision}
        with self.database.begin() as connection:
            connection.execute(delete(KEPT).where(KEPT.c.person == person, KEPT.c.address == address))
            connection.execute(insert(KEPT).values(**new))

    def remove(self, person: str, number: int) -> bool:
        """Keep something no longer; return whether this person kept it."""
        own = delete(KEPT).where(KEPT.c.person == person, KEPT.c.number == number)
        return self.database.change(own) > 0


def require_own_page(person: str, address: str) -> None:
    """Raise InputError unless an address is a path of ours to a way or plan of this person."""
    pages = tuple(f"/people/{quote(person, safe='')}/{page}?" for page in _PAGES)
    is_plain = address.isascii() and address.isprintable() and "\\" not in address and "#" not in address
    if not (is_plain and len(address) <= _LONGEST_ADDRESS and address.startswith(pages)):
        raise InputError("Only your own ways and plans can be kept.", parameter="address")
