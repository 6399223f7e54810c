"""Who asked of the present state a moment ago: what they may see is not worked out again while nothing has changed.

A sight is of one actor as they are now: a right that changes makes another actor. What is kept is of one state and one
day, and goes with them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from api.access.actor import Actor
from api.access.sight import FindLeads, Sight, find_none
from api.desk.states import State
from ontology.snapshot.snapshot import Snapshot

_MOST: Final = 2_000


@dataclass(frozen=True, slots=True)
class _OfState:
    """Sights by the identity of their actors, and the present state as each of them sees it.

    A sight holds its actor, so that no other has that identity as long as it is kept.
    """

    present: Snapshot | None = None
    today: dt.date = dt.date.min
    sights: dict[int, Sight] = field(default_factory=dict)
    states: dict[int, State] = field(default_factory=dict)


class Sights:
    """What the latest actors see of the present state. Safe for many threads: at worst something is built twice."""

    def __init__(self) -> None:
        self._known = _OfState()

    def get(self, actor: Actor, present: Snapshot, today: dt.date, find_leads: FindLeads = find_none) -> Sight:
        """Return the sight of an actor; the same as long as actor, state and day are.

        `find_leads` as of a Sight: who leads what is of accounts, and any change of those makes other actors.
        """
        known = self._known
        if known.present is not present or known.today != today or len(known.sights) >= _MOST:
            known = self._known = _OfState(present, today)
        sight = known.sights.get(id(actor))
        if sight is None:
            sight = known.sights.setdefault(id(actor), Sight(actor, present, today, find_leads))
        return sight

    def see(self, present: Snapshot, today: dt.date, sight: Sight, build: Callable[[], State]) -> State:
        """Return the present state as it is seen; the same as long as it is the present one.

        `build` makes the whole state of what is present on the day.
        """
        known, key = self._known, id(sight.actor)
        if present is not known.present or today != known.today or known.sights.get(key) is not sight:
            return build().see(sight)
        seen = known.states.get(key)
        if seen is None:
            seen = build().see(sight)
            if seen.whole is present:  # it may have gone on meanwhile
                known.states[key] = seen
        return seen
