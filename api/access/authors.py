"""Who changed something, as the history keeps it: the number of an account, which only the database has a name for.

So the history need not be rewritten when somebody is given another name, and an account that was erased has none.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from sqlalchemy import select

from api.access.actor import LOCAL_OWNER, Actor
from api.access.database import Database
from api.access.tables import ACCOUNTS

__all__ = ["build_teller", "get_author"]

_AUTHOR: Final = re.compile(r"account ([0-9]{1,12})")


def get_author(actor: Actor) -> str:
    """Return what the history keeps of who changes something; never whom somebody only looks as.

    Examples
    --------
    >>> get_author(Actor(account=7, name="Ada Example")), get_author(LOCAL_OWNER)
    ('account 7', 'local owner')
    """
    return f"account {actor.account}" if actor.account else LOCAL_OWNER.name


def build_teller(open_database: Callable[[], Database]) -> Callable[[str], str]:
    """Return what says how an author of the history is called now; the database is opened by the first account.

    A text that is no account, or one that is not known, is told as it is.
    """

    def tell(who: str) -> str:
        found = _AUTHOR.fullmatch(who)
        if found is None:
            return who
        rows = open_database().ask(select(ACCOUNTS.c.name).where(ACCOUNTS.c.number == int(found[1])))
        return str(rows[0].name) if rows else who

    return tell
