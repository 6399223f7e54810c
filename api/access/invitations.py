"""Invitations: a link with a secret by which somebody sets the password of an account, once, within three days."""

from __future__ import annotations

import time
from collections.abc import Iterable
from typing import Final

from sqlalchemy import delete, insert, select

from api.access.accounts import Accounts, Clock
from api.access.actor import Role
from api.access.database import Database
from api.access.secrets import digest_secret, make_secret
from api.access.tables import EVENTS, GRANTS, INVITATIONS
from ontology.errors import NotFoundError

__all__ = ["ENDS_AFTER_S", "Invitations"]

ENDS_AFTER_S: Final = 72 * 3600.0
_ENDED: Final = "This invitation has been used or has ended: ask for a new one."


class Invitations:
    """The invitations of a database; an administrator hands them out and never knows a password."""

    def __init__(self, database: Database, accounts: Accounts, clock: Clock = time.time) -> None:
        self._database = database
        self._accounts = accounts
        self._clock = clock

    def make(self, account: int, *, by: int | None = None) -> str:
        """Return the secret of a new invitation, given by an account, if any; those made before of the same end."""
        if self._accounts.get(account).is_ended:
            raise NotFoundError("This account has ended.")
        secret = make_secret()
        with self._database.begin() as connection:
            connection.execute(delete(INVITATIONS).where(INVITATIONS.c.account == account))
            ends_at = self._clock() + ENDS_AFTER_S
            new = insert(INVITATIONS).values(digest=digest_secret(secret), account=account, ends_at=ends_at)
            connection.execute(new)
            told = insert(EVENTS).values(at=self._clock(), account=account, what="invited", by_account=by)
            connection.execute(told)
        return secret

    def find(self, secret: str) -> int | None:
        """Return the account that a secret is for; None where it is used, has ended, or never was one."""
        own = select(INVITATIONS.c.account).where(
            INVITATIONS.c.digest == digest_secret(secret), INVITATIONS.c.ends_at > self._clock()
        )
        rows = self._database.ask(own)
        return int(rows[0].account) if rows else None

    def list(self) -> dict[int, float]:
        """Return account -> when its invitation ends, of those that can still be used, the next to end first."""
        still = select(INVITATIONS).where(INVITATIONS.c.ends_at > self._clock()).order_by(INVITATIONS.c.ends_at)
        return {int(row.account): float(row.ends_at) for row in self._database.ask(still)}

    def has_administrator(self) -> bool:
        """Whether somebody who is to administer the accounts was invited and can still come."""
        who = select(INVITATIONS.c.account).join(GRANTS, GRANTS.c.account == INVITATIONS.c.account)
        who = who.where(GRANTS.c.role == Role.ADMINISTRATOR.value, INVITATIONS.c.ends_at > self._clock())
        return bool(self._database.ask(who))

    def redeem(self, secret: str, password: str, words: Iterable[str] = ()) -> int:
        """Set the password of the account that a secret is for, and use the secret up; return the account.

        `words` are those by which the password must not be guessed, besides the account's name.

        Raises
        ------
        NotFoundError
            There is no such invitation, any more or at all.
        InputError
            The password is not good enough; the invitation can be used again.
        """
        account = self.find(secret)
        if account is None:
            raise NotFoundError(_ENDED)
        kept = self._accounts.hash_password(account, password, words)
        self._use_up(secret)
        self._accounts.keep_password(account, kept)
        return account

    def redeem_at_provider(self, secret: str, issuer: str, subject: str) -> int:
        """Let who is called so by a provider sign in to the account that a secret is for; return the account.

        Raises
        ------
        NotFoundError
            There is no such invitation, any more or at all.
        ConflictError
            They have another account; the invitation can be used again.
        """
        account = self.find(secret)
        if account is None:
            raise NotFoundError(_ENDED)
        self._accounts.tie_to_provider(account, issuer, subject)
        self._use_up(secret)
        return account

    def _use_up(self, secret: str) -> None:
        # of two who have the link one is first
        if not self._database.change(delete(INVITATIONS).where(INVITATIONS.c.digest == digest_secret(secret))):
            raise NotFoundError(_ENDED)
