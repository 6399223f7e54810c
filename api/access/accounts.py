"""Accounts: made and ended by an administrator, tied to a person, given teams and roles; signing in by a password."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import Row, delete, insert, select, update

from api.access.actor import Role
from api.access.database import Database
from api.access.passwords import Passwords, require_good
from api.access.tables import ACCOUNTS, EVENTS, GRANTS, INVITATIONS, SESSIONS, TOKENS
from api.access.throttle import STOPS_AT, compute_wait
from ontology.errors import ConflictError, InputError, NotFoundError
from ontology.model.folding import fold

__all__ = ["Account", "Accounts", "Grant"]

Clock = Callable[[], float]
_LONGEST_NAME: Final = 100


@dataclass(frozen=True, slots=True)
class Grant:
    """What an account was made: a lead of a team, an assessor of a competency in a team, ... each by itself."""

    role: Role
    team: str = ""
    competency: str = ""
    with_below: bool = False


@dataclass(frozen=True, slots=True)
class Account:
    """An account without its secrets."""

    number: int
    name: str
    person: str
    has_password: bool
    has_provider: bool
    is_ended: bool
    is_stopped: bool
    grants: tuple[Grant, ...]


class Accounts:
    """The accounts of a database.

    Parameters
    ----------
    database : Database
    passwords : Passwords
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, database: Database, passwords: Passwords, clock: Clock = time.time) -> None:
        self._database = database
        self._passwords = passwords
        self._clock = clock

    def make(self, name: str, grants: Iterable[Grant] = (), *, by: int | None = None) -> Account:
        """Make an account; it has no password yet. `by` is, here and below, the account that does it, if any.

        Raises
        ------
        InputError, ConflictError
            The name is empty or too long, or another account's.
        """
        name = " ".join(name.split())
        if not 0 < len(name) <= _LONGEST_NAME:
            raise InputError(f"A name has 1 to {_LONGEST_NAME} characters.", parameter="name")
        with self._database.begin() as connection:
            if connection.execute(select(ACCOUNTS.c.number).where(ACCOUNTS.c.folded == fold(name))).first():
                raise ConflictError(f"There is an account {name!r} already.")
            new = insert(ACCOUNTS).values(name=name, folded=fold(name), person="", made_at=self._clock())
            (number,) = connection.execute(new).inserted_primary_key or (0,)
            for grant in grants:
                connection.execute(insert(GRANTS).values(**_write(number, grant)))
            connection.execute(self._tell(number, "account made", by))
        return self.get(number)

    def get(self, number: int) -> Account:
        """Return an account; NotFoundError where there is none."""
        rows = self._database.ask(select(ACCOUNTS).where(ACCOUNTS.c.number == number))
        if not rows:
            raise NotFoundError("There is no such account.")
        return self._build(rows[0])

    def find(self, name: str) -> Account | None:
        """Return the account of a name, as people write it."""
        rows = self._database.ask(select(ACCOUNTS).where(ACCOUNTS.c.folded == fold(name)))
        return self._build(rows[0]) if rows else None

    def find_by_provider(self, issuer: str, subject: str) -> Account | None:
        """Return the account of who is called so by a provider (ASVS V6.8.1); None where none can sign in."""
        own = select(ACCOUNTS).where(ACCOUNTS.c.issuer == issuer, ACCOUNTS.c.subject == subject)
        rows = self._database.ask(own.where(ACCOUNTS.c.ended_at.is_(None)))
        return self._build(rows[0]) if rows else None

    def tie_to_provider(self, number: int, issuer: str, subject: str) -> None:
        """Let who is called so by a provider sign in; ConflictError where they have another account.

        A password that the account had is gone: who signs in at a provider does so by its rules.
        """
        own = select(ACCOUNTS.c.number).where(ACCOUNTS.c.issuer == issuer, ACCOUNTS.c.subject == subject)
        with self._database.begin() as connection:
            if connection.execute(own.where(ACCOUNTS.c.number != number)).first():
                raise ConflictError("You have an account already: sign in with it, or have it ended first.")
            new = {"issuer": issuer, "subject": subject, "password": None, "failures": 0, "waits_until": 0.0}
            connection.execute(update(ACCOUNTS).where(ACCOUNTS.c.number == number).values(**new))
            connection.execute(delete(SESSIONS).where(SESSIONS.c.account == number))
            connection.execute(self._tell(number, "tied to a provider"))

    def list(self) -> tuple[Account, ...]:
        """Return every account, by number."""
        return tuple(self._build(row) for row in self._database.ask(select(ACCOUNTS).order_by(ACCOUNTS.c.number)))

    def has_administrator(self) -> bool:
        """Whether somebody who can still sign in administers the accounts."""
        who = select(ACCOUNTS.c.number).join(GRANTS, GRANTS.c.account == ACCOUNTS.c.number)
        who = who.where(GRANTS.c.role == Role.ADMINISTRATOR.value, ACCOUNTS.c.ended_at.is_(None))
        return bool(self._database.ask(who.where(ACCOUNTS.c.password.is_not(None) | ACCOUNTS.c.issuer.is_not(None))))

    def tie(self, number: int, person: str, *, by: int | None = None) -> None:
        """Tie an account to a person, or with "" to nobody; every session of it begins anew."""
        self._change(number, "tied to a person" if person else "tied to nobody", by, person=person)
        self._database.change(delete(SESSIONS).where(SESSIONS.c.account == number))

    def grant(self, number: int, grants: Iterable[Grant], *, by: int | None = None) -> None:
        """Make an account exactly this; every session of it begins anew."""
        self.get(number)
        with self._database.begin() as connection:
            connection.execute(delete(GRANTS).where(GRANTS.c.account == number))
            for grant in set(grants):
                connection.execute(insert(GRANTS).values(**_write(number, grant)))
            connection.execute(delete(SESSIONS).where(SESSIONS.c.account == number))
            connection.execute(self._tell(number, "rights changed", by))

    def free(self, number: int, *, by: int | None = None) -> None:
        """Let an account try passwords again."""
        self._change(number, "freed", by, failures=0, waits_until=0.0)

    def end(self, number: int, *, by: int | None = None) -> None:
        """End an account with its sessions, tokens and invitations (ASVS V7.4.2)."""
        self._change(number, "account ended", by, ended_at=self._clock(), password=None)
        for table in (SESSIONS, TOKENS, INVITATIONS):
            self._database.change(delete(table).where(table.c.account == number))

    def set_password(self, number: int, password: str, words: Iterable[str] = ()) -> None:
        """Set a password, which ends every session (ASVS V7.4.3); InputError where it is not good enough."""
        self.keep_password(number, self.hash_password(number, password, words))

    def hash_password(self, number: int, password: str, words: Iterable[str] = ()) -> str:
        """Return what would be kept of a password; InputError where it is not good enough for this account."""
        require_good(password, (self.get(number).name, *words))
        return self._passwords.hash(password)

    def keep_password(self, number: int, kept: str) -> None:
        """Set a password by what is kept of it, which ends every session."""
        self._change(number, "password set", password=kept, failures=0, waits_until=0.0)
        self._database.change(delete(SESSIONS).where(SESSIONS.c.account == number))

    def check_password(self, name: str, password: str) -> Account | None:
        """Return the account that a name and a password sign in; None in every other case, after the same work.

        A wrong password counts, unless the account waits: then nothing does, and a right one is refused too.
        """
        now = self._clock()
        rows = self._database.ask(select(ACCOUNTS).where(ACCOUNTS.c.folded == fold(name)))
        row = rows[0] if rows else None
        is_open = row is not None and row.ended_at is None and row.failures < STOPS_AT and row.waits_until <= now
        is_right = self._passwords.is_right(row.password if row is not None else None, password)
        if row is None or not is_open or not is_right:
            # of nobody, or who waits, there is nothing to count, and as much is done
            self._count_failure(row.number if row is not None and is_open else 0, now)
            return None
        news: dict[str, Any] = {"failures": 0, "waits_until": 0.0}
        if self._passwords.is_outdated(row.password):
            news["password"] = self._passwords.hash(password)
        self._database.change(update(ACCOUNTS).where(ACCOUNTS.c.number == row.number).values(**news))
        return self.get(row.number)

    def _count_failure(self, number: int, now: float) -> None:
        """Count a wrong password of an account; of 0, nobody, as much is read and written, and nothing counts."""
        columns = ACCOUNTS.c.number, ACCOUNTS.c.failures, ACCOUNTS.c.waits_until
        with self._database.begin() as connection:
            # of nobody that is the first account there is: it is written as it was
            found = connection.execute(
                select(*columns).where(columns[0] >= number).order_by(columns[0]).limit(1)
            ).first()
            first, failures, waits_until = (0, 0, 0.0) if found is None else found
            counted = failures + 1
            waits = now + compute_wait(counted)
            values = (counted, waits) if number else (failures, waits_until)
            row = update(ACCOUNTS).where(columns[0] == first)
            connection.execute(row.values(failures=values[0], waits_until=values[1]))
            told = "stopped" if number and counted >= STOPS_AT else "wrong password"
            connection.execute(self._tell(number or None, told))

    def _change(self, number: int, what: str, by: int | None = None, /, **values: Any) -> None:
        with self._database.begin() as connection:
            changed = connection.execute(update(ACCOUNTS).where(ACCOUNTS.c.number == number).values(**values))
            if not changed.rowcount:
                raise NotFoundError("There is no such account.")
            connection.execute(self._tell(number, what, by))

    def _tell(self, number: int | None, what: str, by: int | None = None) -> Any:
        return insert(EVENTS).values(at=self._clock(), account=number, what=what, by_account=by)

    def _build(self, row: Row[Any]) -> Account:
        of_account = select(GRANTS).where(GRANTS.c.account == row.number)
        grants = self._database.ask(of_account.order_by(GRANTS.c.role, GRANTS.c.team, GRANTS.c.competency))
        return Account(
            number=row.number,
            name=row.name,
            person=row.person,
            has_password=row.password is not None,
            has_provider=row.issuer is not None,
            is_ended=row.ended_at is not None,
            is_stopped=row.failures >= STOPS_AT,
            grants=tuple(Grant(Role(one.role), one.team, one.competency, bool(one.with_below)) for one in grants),
        )


def _write(number: int, grant: Grant) -> dict[str, Any]:
    return {
        "account": number,
        "role": grant.role.value,
        "team": grant.team,
        "competency": grant.competency,
        "with_below": int(grant.with_below),
    }
