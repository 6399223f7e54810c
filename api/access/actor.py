"""Who asks: an account with its roles, the person behind it, and what a token leaves of that. Built anew each time."""

from __future__ import annotations

import datetime as dt
import hashlib
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import Final

from api.access.rights import Kind, Verb

__all__ = ["LOCAL_OWNER", "Actor", "Assessing", "Lead", "Purpose", "Role", "Scope", "Share"]


class Role(Enum):
    """What an account was made by an administrator; whoever has an account reads."""

    EMPLOYEE = "employee"
    LEAD = "lead"
    ASSESSOR = "assessor"
    ARCHITECT = "architect"
    ADMINISTRATOR = "administrator"


@dataclass(frozen=True, slots=True)
class Assessing:
    """What an assessor sees: assessments of these competencies in these teams."""

    competencies: frozenset[str]
    teams: frozenset[str]


@dataclass(frozen=True, slots=True)
class Purpose:
    """Why an architect looks at a team or a person, and until when."""

    team: str
    person: str
    reason: str
    ends_at: dt.datetime
    number: int = 0


@dataclass(frozen=True, slots=True)
class Share:
    """One address of a person that they show, until a day."""

    person: str
    address: str
    until: dt.date


@dataclass(frozen=True, slots=True, order=True)
class Lead:
    """Somebody who leads: what they are called, and which person they are, "" for none."""

    name: str
    person: str


@dataclass(frozen=True, slots=True)
class Scope:
    """What a token may at the most: kinds, verbs, and teams (none: all that the account may see)."""

    kinds: frozenset[Kind]
    verbs: frozenset[Verb]
    teams: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Actor:
    """Who asks, with the rights of this moment.

    `account` is its number, 0 for nobody who signed in. `belongs_to` are the teams of the person today, `leads` those
    that they lead, the ones below included where that was ticked; `purposes` are those that have not ended. `is_owner`
    is whoever reaches a program without accounts, or the folder of its store: they may everything, and `person` is as
    whom they look.
    """

    account: int = 0
    name: str = ""
    roles: frozenset[Role] = frozenset()
    person: str = ""
    belongs_to: frozenset[str] = frozenset()
    leads: frozenset[str] = frozenset()
    assesses: tuple[Assessing, ...] = ()
    purposes: tuple[Purpose, ...] = ()
    shown: tuple[Share, ...] = ()
    scope: Scope | None = None
    is_owner: bool = False

    @property
    def is_signed_in(self) -> bool:
        """Whether there is an account behind it."""
        return self.is_owner or self.account > 0

    def has_purpose(self, teams: frozenset[str], person: str) -> bool:
        """Whether a purpose was stated for the person, or for one of the teams."""
        return self.find_purpose(teams, person) is not None

    def find_purpose(self, teams: frozenset[str], person: str) -> int | None:
        """Return the number of the purpose for which they look at someone of these teams; None where it is none."""
        fits = (one for one in self.purposes if (one.person == person if one.person else one.team in teams))
        return next((one.number for one in fits), None)

    @cached_property
    def key(self) -> str:
        """What stands for all it may see: two with the same key may see the same."""
        if self.is_owner:
            return "everything"
        parts = (
            sorted(role.value for role in self.roles),
            self.person,
            sorted(self.belongs_to),
            sorted(self.leads),
            sorted((sorted(one.competencies), sorted(one.teams)) for one in self.assesses),
            sorted((purpose.team, purpose.person) for purpose in self.purposes),
            sorted((share.person, share.address) for share in self.shown),
            _tell_scope(self.scope),
            self.is_signed_in,
        )
        return hashlib.sha256(repr(parts).encode()).hexdigest()[:32]


def _tell_scope(scope: Scope | None) -> object:
    if scope is None:
        return None
    kinds, verbs = (sorted(one.name for one in part) for part in (scope.kinds, scope.verbs))
    return kinds, verbs, sorted(scope.teams)


#: Who owns the store on this machine, and whoever reaches a program that is open.
LOCAL_OWNER: Final = Actor(name="local owner", is_owner=True)
