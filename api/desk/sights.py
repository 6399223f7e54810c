"""Who asked of the present state a moment ago: what they may see is not worked out again while nothing has changed.

A sight is of one actor as they are now: a right that changes makes another actor. What is kept is of one state and one
day, and goes with them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from api.access.actor import LOCAL_OWNER, Actor
from api.access.sight import FindLeads, Sight, find_none
from api.desk.answer import Enquiry
from api.desk.states import State
from ontology.snapshot.snapshot import Snapshot

_MOST: Final = 2_000
#: So many questions that were put are kept.
_MOST_PUT: Final = 5_000
#: Whoever sees all of it, beside the identities of actors.
_EVERYTHING: Final = 0
#: Who asks, by identity; the question, the kind and id of its subject, and what is asked, as in an address.
_Put = tuple[int, str, str, str, bytes]


@dataclass(frozen=True, slots=True)
class _OfState:
    """Sights by the identity of their actors, and the present state as each of them sees it.

    A sight holds its actor, so that no other has that identity as long as it is kept.
    """

    present: Snapshot | None = None
    today: dt.date = dt.date.min
    sights: dict[int, Sight] = field(default_factory=dict)
    states: dict[int, State] = field(default_factory=dict)
    put: dict[_Put, Enquiry] = field(default_factory=dict)


class Sights:
    """What the latest actors see of the present state. Safe for many threads: at worst something is built twice."""

    def __init__(self) -> None:
        self._known = _OfState()

    def get(self, actor: Actor, present: Snapshot, today: dt.date, find_leads: FindLeads = find_none) -> Sight:
        """Return the sight of an actor; the same as long as actor, state and day are.

        `find_leads` as of a Sight: who leads what is of accounts, and any change of those makes other actors.
        """
        known = self._get_of_state(present, today)
        sight = known.sights.get(id(actor))
        if sight is None:
            sight = known.sights.setdefault(id(actor), Sight(actor, present, today, find_leads))
        return sight

    def _get_of_state(self, present: Snapshot, today: dt.date) -> _OfState:
        known = self._known
        if known.present is not present or known.today != today or len(known.sights) >= _MOST:
            known = self._known = _OfState(present, today)
        return known

    def see_everything(self, present: Snapshot, today: dt.date, build: Callable[[], State]) -> State:
        """Return the present state, whole; the same as long as it and the day are."""
        known = self._get_of_state(present, today)
        state = known.states.get(_EVERYTHING)
        return known.states.setdefault(_EVERYTHING, build()) if state is None else state

    def receive(
        self, actor: Actor, state: State, about: tuple[str, str, str, bytes], receive: Callable[[], Enquiry]
    ) -> Enquiry:
        """Return a question as it was received before, where the state is the present one as the actor sees it.

        `about` is the question, the kind and id of its subject, and what is asked, as in an address; `receive` receives
        it anew, and always so where its parameters name other states.
        """
        known, key = self._known, _EVERYTHING if actor is LOCAL_OWNER else id(actor)
        if known.states.get(key) is not state:
            return receive()
        put = (key, *about)
        enquiry = known.put.get(put)
        if enquiry is None:
            enquiry = receive()
            if not enquiry.states:
                if len(known.put) >= _MOST_PUT:
                    known.put.clear()
                known.put[put] = enquiry
        return enquiry

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
