"""How often one may try to sign in: waits that grow with wrong passwords in a row, and tries by address (ASVS V6.3.1).

A right password during a wait is refused like a wrong one; tries during a wait are not counted, or whoever knows a name
could shut its owner out at once. Sessions that are open, and signing in by a provider, are not concerned.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import delete, func, insert, select

from api.access.database import Database
from api.access.tables import ATTEMPTS

__all__ = ["STOPS_AT", "compute_wait", "count_attempt"]

#: Wrong passwords in a row that cost nothing.
_FREE: Final = 5
_LONGEST_WAIT_S: Final = 900.0
#: Wrong passwords in a row after which an administrator has to free the account (from memory of SP 800-63B: 100).
STOPS_AT: Final = 100
#: Tries from one address of the network in so many seconds.
_BY_ADDRESS: Final = 20
_WITHIN_S: Final = 300.0


def compute_wait(failures: int) -> float:
    """Return the seconds to wait after so many wrong passwords in a row.

    Examples
    --------
    >>> [compute_wait(n) for n in (4, 5, 6, 7, 14, 15, 99)]
    [0.0, 1.0, 2.0, 4.0, 512.0, 900.0, 900.0]
    """
    return 0.0 if failures < _FREE else min(_LONGEST_WAIT_S, 2.0 ** (failures - _FREE))


def count_attempt(database: Database, address: str, now: float) -> float:
    """Count a try from an address of the network; return the seconds it has to wait, 0 where it may go on."""
    with database.begin(is_durable=False) as connection:
        connection.execute(delete(ATTEMPTS).where(ATTEMPTS.c.at <= now - _WITHIN_S))
        own = select(func.count(), func.min(ATTEMPTS.c.at)).where(ATTEMPTS.c.address == address)
        number, first = connection.execute(own).one()
        if number >= _BY_ADDRESS:
            return float(first) + _WITHIN_S - now
        connection.execute(insert(ATTEMPTS).values(address=address, at=now))
    return 0.0
