"""Who asked a moment ago is not built again: the same actor holds as long as nothing has changed that it is made of.

That is what the database says of rights (it counts how often that changes, whichever process does), the state of the
store and the day; and no longer than until something of it ends by itself. So a right that was taken away is gone at
the next request.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from api.access.actor import Actor
from api.access.database import Database

__all__ = ["Recent"]

_MOST: Final = 2_000
#: No actor is kept longer: sessions are marked as used about so often.
_LONGEST_S: Final = 30.0


@dataclass(frozen=True, slots=True)
class _Built:
    made_of: tuple[object, ...]
    until: float
    actor: Actor


class Recent:
    """The actors of who asked last, by what they bring along.

    Parameters
    ----------
    database : Database
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, database: Database, clock: Callable[[], float]) -> None:
        self._database = database
        self._clock = clock
        self._built: OrderedDict[str, _Built] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, brought: str, state: tuple[object, ...], build: Callable[[], tuple[Actor, float]]) -> Actor:
        """Return the actor of who brings something along.

        Parameters
        ----------
        brought : str
            Its digest, never itself: there are secrets in it.
        state : tuple
            What the actor is made of beside the database.
        build : callable
            Makes the actor; with it, when the first thing of it ends by itself, in seconds since 1970.
        """
        made_of = (self._database.read_version(), *state)
        known = self._built.get(brought)
        if known is not None and known.made_of == made_of and self._clock() < known.until:
            return known.actor
        actor, ends = build()
        if known is not None and known.made_of == made_of and known.actor == actor:
            actor = known.actor  # what was worked out for it goes on being known
        if actor.is_signed_in:
            with self._lock:
                self._built[brought] = _Built(made_of, min(ends, self._clock() + _LONGEST_S), actor)
                self._built.move_to_end(brought)
                while len(self._built) > _MOST:
                    self._built.popitem(last=False)
        return actor
