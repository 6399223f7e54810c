"""What keeps accounts, in memory, on a clock that the test turns, with passwords that are hashed quickly."""

from __future__ import annotations

from dataclasses import dataclass, field

from argon2 import PasswordHasher

from api.access.accounts import Accounts
from api.access.database import Database
from api.access.invitations import Invitations
from api.access.looks import Looks
from api.access.passwords import Passwords
from api.access.purposes import Purposes
from api.access.sessions import Sessions
from api.access.tokens import Tokens

GOOD = "forty quiet herons over the weir"
OTHER = "seven blue kettles in a drawer"
START = 1_796_000_000.0


@dataclass
class Clock:
    """Seconds since 1970, as the test says."""

    now: float = START

    def __call__(self) -> float:
        return self.now


def quicken(passwords: Passwords) -> None:
    """Let passwords be hashed in no time."""
    passwords._hasher = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    passwords._nobodys = passwords.hash("nobody")


@dataclass
class Parts:
    """All of it over one database."""

    clock: Clock = field(default_factory=Clock)
    database: Database = field(default_factory=lambda: Database(None))

    def __post_init__(self) -> None:
        self.passwords = Passwords()
        quicken(self.passwords)
        self.accounts = Accounts(self.database, self.passwords, self.clock)
        self.invitations = Invitations(self.database, self.accounts, self.clock)
        self.sessions = Sessions(self.database, self.clock)
        self.tokens = Tokens(self.database, self.clock)
        self.purposes = Purposes(self.database, self.clock)
        self.looks = Looks(self.database, self.clock)
