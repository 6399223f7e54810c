"""The log of looks: who was told of whom, readable by the person. Written before an answer leaves, or none leaves."""

from __future__ import annotations

import datetime as dt
import time
from collections import defaultdict
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Final

from sqlalchemy import delete, insert, select

from api.access.accounts import Clock
from api.access.actor import Actor
from api.access.database import Database
from api.access.tables import LOOKED_AT, LOOKS, PURPOSES

__all__ = ["Look", "LookBook", "Looks", "find_none"]

#: The same account, kind and person within so long is one look.
_ONCE_IN_S: Final = 3600.0
#: Of so many accounts and kinds it is remembered what was written.
_MOST_WRITTEN: Final = 10_000
#: As many people as one statement names.
_AT_ONCE: Final = 500
_NOBODY: Final[frozenset[str]] = frozenset()


@dataclass(frozen=True, slots=True)
class Look:
    """One look at a person: by whom, as an account is called, when, at what kind of answer, for which reason."""

    by: str
    when: dt.datetime
    kind: str
    reason: str


class Looks:
    """The log of looks of a database."""

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock

    def write(
        self, account: int, by: str, kind: str, people: Collection[str], *, own: str = "", purpose: int | None = None
    ) -> int:
        """Write that an account is told of people; return of how many it was not written within the hour.

        Parameters
        ----------
        account : int
            0 for the command line.
        by : str
            What the account is called: shown to the person.
        kind : str
            What kind of answer it is.
        people : collection of str
            Ids; `own` is the account's own, which is no look.
        purpose : int, optional
        """
        told = sorted(set(people) - {own, ""})
        if not told:
            return 0
        now = self._clock()
        with self._database.begin(is_durable=False) as connection:
            recent = select(LOOKED_AT.c.person).join(LOOKS, LOOKS.c.number == LOOKED_AT.c.look)
            recent = recent.where(
                LOOKS.c.account == account, LOOKS.c.by == by, LOOKS.c.kind == kind, LOOKS.c.at > now - _ONCE_IN_S
            )
            known = {row.person for row in connection.execute(recent)}
            new = [person for person in told if person not in known]
            if new:
                look = insert(LOOKS).values(account=account, by=by, at=now, kind=kind, purpose=purpose)
                (number,) = connection.execute(look).inserted_primary_key or (0,)
                for start in range(0, len(new), _AT_ONCE):
                    rows = [{"look": number, "person": person} for person in new[start : start + _AT_ONCE]]
                    connection.execute(insert(LOOKED_AT), rows)
        return len(new)

    def list(self, person: str) -> tuple[Look, ...]:
        """Return the looks at a person, the latest first."""
        own = select(LOOKS.c.by, LOOKS.c.at, LOOKS.c.kind, PURPOSES.c.reason)
        own = own.join(LOOKED_AT, LOOKED_AT.c.look == LOOKS.c.number).where(LOOKED_AT.c.person == person)
        own = own.outerjoin(PURPOSES, PURPOSES.c.number == LOOKS.c.purpose).order_by(LOOKS.c.number.desc())
        return tuple(
            Look(row.by, dt.datetime.fromtimestamp(row.at, dt.UTC), row.kind, row.reason or "")
            for row in self._database.ask(own)
        )

    def forget(self, before: float) -> int:
        """Remove looks from before a moment; return how many."""
        return self._database.change(delete(LOOKS).where(LOOKS.c.at < before))

    def erase(self, person: str) -> int:
        """Remove the looks at a person; return how many."""
        return self._database.change(delete(LOOKED_AT).where(LOOKED_AT.c.person == person))


#: The teams of a person, by their id.
FindTeams = Callable[[str], frozenset[str]]


def find_none(_: str) -> frozenset[str]:
    """Return no teams: for who needs none."""
    return frozenset()


class LookBook:
    """Writes looks, once an hour for an account, a kind of answer and a person; what was written it need not ask again.

    Parameters
    ----------
    looks : Looks
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, looks: Looks, clock: Clock = time.time) -> None:
        self._looks = looks
        self._clock = clock
        #: Account and kind -> since when, of whom, and of whom the last answer told whose own person.
        self._written: dict[tuple[int, str], tuple[float, frozenset[str], frozenset[str], str]] = {}

    def note(self, actor: Actor, what: str, people: frozenset[str], find_teams: FindTeams = find_none) -> None:
        """Write that an actor is told of people, before they are; of oneself one is told without a look.

        Of each it is written for which of the actor's purposes it was, by the person or by the teams that `find_teams`
        returns for them.
        """
        now, key = self._clock(), (actor.account, what)
        since, known, last, own = self._written.get(key) or (now, _NOBODY, _NOBODY, "")
        is_new = now - since >= _ONCE_IN_S
        # an answer that is kept tells each time of the very same set
        if people is last and own == actor.person and not is_new:
            return
        told = people - {actor.person, ""}
        if not told or not actor.account or (not is_new and told <= known):
            return
        by_purpose: defaultdict[int | None, set[str]] = defaultdict(set)
        for person in told:
            number = actor.find_purpose(find_teams(person), person) if actor.purposes else None
            by_purpose[number].add(person)
        for purpose, some in by_purpose.items():
            self._looks.write(actor.account, actor.name, what, some, own=actor.person, purpose=purpose)
        if len(self._written) >= _MOST_WRITTEN:
            self._written.clear()
        self._written[key] = (now if is_new else since, told if is_new else known | told, people, actor.person)
