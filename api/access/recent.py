"""What who asked a moment ago may see is not worked out again: it holds while nothing changes that it is made of.

That is what the database says of rights (it counts how often that changes, whichever process does), the state of the
store and the day; and no longer than until something of it ends by itself. So a right that was taken away is gone at
the next request.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from hashlib import blake2s
from typing import Final

from api.access.actor import Actor
from api.access.database import Database
from api.access.sight import FindLeads, Sight
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Recent"]

_MOST: Final = 2_000
#: Nobody is known for longer: sessions are marked as used about so often.
_LONGEST_S: Final = 30.0
_NOBODY: Final = Actor()


@dataclass(frozen=True, slots=True)
class _Known:
    """Sights by the digest of what was brought along, each with until when it holds, and what they are made of."""

    version: int
    present: Snapshot
    today: dt.date
    nobody: Sight
    sights: dict[bytes, tuple[float, Sight]] = field(default_factory=dict)


class Recent:
    """The sights of who asked last, by what they bring along. Safe for many threads: at worst one is built twice.

    Parameters
    ----------
    database : Database
    clock : callable
        Seconds since 1970.
    find_leads : callable
        Team -> who leads it, of a state.
    """

    def __init__(self, database: Database, clock: Callable[[], float], find_leads: FindLeads) -> None:
        self._database = database
        self._clock = clock
        self._find_leads = find_leads
        self._known: _Known | None = None

    def get(self, brought: str, present: Snapshot, today: dt.date, build: Callable[[], tuple[Actor, float]]) -> Sight:
        """Return what who brings something along may see; nobody brings nothing.

        Parameters
        ----------
        brought : str
            Its digest alone is kept: there are secrets in it.
        present, today
            What the actor is made of beside the database.
        build : callable
            Makes the actor; with it, when the first thing of it ends by itself, in seconds since 1970.
        """
        version, known = self._database.read_version(), self._known
        if known is None or known.present is not present or known.version != version or known.today != today:
            nobody = Sight(_NOBODY, present, today, self._find_leads)
            known = self._known = _Known(version, present, today, nobody)
        if not brought:
            return known.nobody
        digest = blake2s(brought.encode()).digest()
        until, sight = known.sights.get(digest, (0.0, known.nobody))
        if self._clock() < until:
            return sight
        actor, ends = build()
        if not actor.is_signed_in:
            return known.nobody
        if actor != sight.actor:  # else what was worked out for it goes on being known
            sight = Sight(actor, present, today, self._find_leads)
        if len(known.sights) >= _MOST:
            known.sights.clear()
        known.sights[digest] = min(ends, self._clock() + _LONGEST_S), sight
        return sight
