"""Who asked of the present state a moment ago: what they see is not worked out again while nothing has changed.

A sight is of one actor as they are now: a right that changes makes another one. What is kept is of one state and one
day, and goes with them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from api.access.actor import Actor
from api.access.sight import Sight
from api.desk.answer import Enquiry
from api.desk.states import State
from ontology.snapshot.snapshot import Snapshot

_MOST: Final = 2_000
#: So many questions that were put are kept.
_MOST_PUT: Final = 5_000
#: The question, the kind and id of its subject, and what is asked, as in an address.
_About = tuple[str, str, str, bytes]


@dataclass(frozen=True, slots=True)
class _OfState:
    """The present state as those who asked see it, None being whoever sees all; and the questions they put.

    A state that is kept is no other's, so questions are known by its identity.
    """

    present: Snapshot | None = None
    today: dt.date = dt.date.min
    states: dict[Sight | None, State] = field(default_factory=dict)
    put: dict[tuple[int, _About], Enquiry] = field(default_factory=dict)


class Sights:
    """What the latest sights show of the present state. Safe for many threads: at worst something is built twice."""

    def __init__(self) -> None:
        self._known = _OfState()

    def see(self, present: Snapshot, today: dt.date, sight: Sight | None, build: Callable[[], State]) -> State:
        """Return the present state as it is seen, None seeing all; the same as long as it and the day are.

        `build` makes the whole state of what is present on the day.
        """
        known = self._known
        if known.present is not present or known.today != today or len(known.states) >= _MOST:
            known = self._known = _OfState(present, today)
        seen = known.states.get(sight)
        if seen is None:
            whole = build()
            seen = whole if sight is None else whole.see(sight)
            if whole.snapshot is present:  # it may have gone on meanwhile
                seen = known.states.setdefault(sight, seen)
        return seen

    def receive(self, actor: Actor, state: State, about: _About, receive: Callable[[], Enquiry]) -> Enquiry:
        """Return a question as an actor put it before, where the state is the present one as they see it.

        `about` is the question, the kind and id of its subject, and what is asked, as in an address; `receive` receives
        it anew, and always so where its parameters name other states.
        """
        known = self._known
        if known.states.get(state.sight) is not state:
            return receive()
        put = (id(state), about)
        enquiry = known.put.get(put)
        if enquiry is None or enquiry.actor is not actor:
            enquiry = receive()
            if not enquiry.states:
                if len(known.put) >= _MOST_PUT:
                    known.put.clear()
                known.put[put] = enquiry
        return enquiry
