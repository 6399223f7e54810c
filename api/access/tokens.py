"""Tokens for programs: a secret shown once, with a scope and an end; the rights in it are those of the account now."""

from __future__ import annotations

import json
import time
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Row, delete, insert, select, update

from api.access.accounts import Clock
from api.access.actor import Scope
from api.access.database import Database
from api.access.rights import Kind, Verb
from api.access.secrets import TOKEN_PREFIX, digest_secret, make_secret
from api.access.tables import ACCOUNTS, EVENTS, TOKENS
from ontology.errors import InputError

__all__ = ["DAYS", "MOST_DAYS", "Token", "Tokens"]

DAYS: Final = 90
MOST_DAYS: Final = 365
_DAY_S: Final = 86_400.0
_USED_EACH_S: Final = 60.0
_LONGEST_NAME: Final = 100


@dataclass(frozen=True, slots=True)
class Token:
    """A token without its secret."""

    number: int
    account: int
    name: str
    scope: Scope
    ends_at: float
    used_at: float | None


class Tokens:
    """The tokens of a database."""

    def __init__(self, database: Database, clock: Clock = time.time) -> None:
        self._database = database
        self._clock = clock

    def make(self, account: int, name: str, scope: Scope, days: int = DAYS) -> str:
        """Return the secret of a new token.

        Raises
        ------
        InputError
            It has no name, no kind or verb, or would last too long.
        """
        if not 0 < len(name.strip()) <= _LONGEST_NAME:
            raise InputError(f"Say what the token is for, in 1 to {_LONGEST_NAME} characters.", parameter="name")
        if not (scope.kinds and scope.verbs):
            raise InputError("A token needs something that it may.", parameter="scope")
        if not 1 <= days <= MOST_DAYS:
            raise InputError(f"A token lasts 1 to {MOST_DAYS} days.", parameter="days")
        now, secret = self._clock(), make_secret(TOKEN_PREFIX)
        new = {"digest": digest_secret(secret), "account": account, "name": name.strip(), "scope": _write(scope)}
        with self._database.begin() as connection:
            connection.execute(insert(TOKENS).values(**new, made_at=now, ends_at=now + days * _DAY_S))
            connection.execute(insert(EVENTS).values(at=now, account=account, what="token made"))
        return secret

    def find(self, secret: str) -> Token | None:
        """Return the token of a secret, used now; None where there is none, or it or its account has ended."""
        now = self._clock()
        own = select(TOKENS).join(ACCOUNTS, ACCOUNTS.c.number == TOKENS.c.account).where(ACCOUNTS.c.ended_at.is_(None))
        rows = self._database.ask(own.where(TOKENS.c.digest == digest_secret(secret), TOKENS.c.ends_at > now))
        if not rows:
            return None
        token = _build(rows[0])
        if token.used_at is None or now - token.used_at > _USED_EACH_S:
            used = update(TOKENS).where(TOKENS.c.number == token.number).values(used_at=now)
            self._database.change(used, is_durable=False)
        return token

    def list(self, account: int) -> tuple[Token, ...]:
        """Return the tokens of an account, the latest first."""
        own = select(TOKENS).where(TOKENS.c.account == account).order_by(TOKENS.c.number.desc())
        return tuple(map(_build, self._database.ask(own)))

    def end(self, account: int, number: int) -> bool:
        """End a token of an account; return whether there was one."""
        own = delete(TOKENS).where(TOKENS.c.account == account, TOKENS.c.number == number)
        with self._database.begin() as connection:
            is_there = bool(connection.execute(own).rowcount)
            if is_there:
                connection.execute(insert(EVENTS).values(at=self._clock(), account=account, what="token ended"))
        return is_there


def _write(scope: Scope) -> str:
    parts = {"kinds": [one.name for one in scope.kinds], "verbs": [one.name for one in scope.verbs]}
    return json.dumps({name: sorted(names) for name, names in (parts | {"teams": [*scope.teams]}).items()})


def _build(row: Row[Any]) -> Token:
    told = json.loads(row.scope)
    kinds, verbs = (frozenset(Kind[name] for name in told["kinds"]), frozenset(Verb[name] for name in told["verbs"]))
    scope = Scope(kinds, verbs, frozenset(told["teams"]))
    return Token(row.number, row.account, row.name, scope, row.ends_at, row.used_at)
