"""All that keeps accounts, over one database: signing in, and who asks by what a request brings along."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from api.access.accounts import Account, Accounts, Clock
from api.access.actor import Actor, Scope
from api.access.building import build_actor
from api.access.database import Database
from api.access.erasure_requests import ErasureRequests
from api.access.events import Events
from api.access.invitations import Invitations
from api.access.leads import Leads
from api.access.looks import LookBook, Looks
from api.access.passwords import Passwords
from api.access.provider_starts import Starts
from api.access.purposes import REASONS, Purposes
from api.access.recent import Recent
from api.access.secrets import TOKEN_PREFIX
from api.access.sessions import IDLE_S, LONGEST_S, Session, Sessions
from api.access.shares import Shares
from api.access.sight import Sight
from api.access.throttle import count_attempt
from api.access.tokens import Tokens
from api.errors import ThrottledError, UnauthenticatedError
from ontology.errors import NotFoundError
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # who has no provider does not import what speaks with one
    from api.access.provider import Identity, Provider

__all__ = ["Access", "read_bearer"]

_SCHEME = "bearer "
_NOBODY = Actor()


def read_bearer(header: str) -> str:
    """Return the token of an Authorization header (RFC 6750, section 2.1); "" where it holds none.

    Examples
    --------
    >>> read_bearer("Bearer nwl_x"), read_bearer("bearer  nwl_x"), read_bearer("Basic bndsX3g="), read_bearer("")
    ('nwl_x', 'nwl_x', '', '')
    """
    return header[len(_SCHEME) :].strip() if header[: len(_SCHEME)].lower() == _SCHEME else ""


class Access:
    """Who may sign in, has signed in, and asks.

    Parameters
    ----------
    path : Path or None
        Of the database; None: in memory.
    clock : callable
        Seconds since 1970.
    reasons : sequence of str
        For which an architect may look at people.
    """

    def __init__(self, path: Path | None, clock: Clock = time.time, reasons: Sequence[str] = REASONS) -> None:
        self.database = Database(path)
        self._clock = clock
        self.passwords = Passwords()
        self.accounts = Accounts(self.database, self.passwords, clock)
        self.invitations = Invitations(self.database, self.accounts, clock)
        self.sessions = Sessions(self.database, clock)
        self.tokens = Tokens(self.database, clock)
        self.purposes = Purposes(self.database, clock, reasons)
        self.looks = Looks(self.database, clock)
        self.look_book = LookBook(self.looks, clock)
        self.shares = Shares(self.database)
        self.leads = Leads(self.database)
        self._recent = Recent(self.database, clock, self.leads.find)
        self.erasures_asked = ErasureRequests(self.database, clock)
        #: Where one can sign in with the company's account; None: nowhere.
        self.provider: Provider | None = None
        self.starts = Starts(self.database, clock)
        self.events = Events(self.database, clock)

    def sign_in(self, name: str, password: str, *, address: str, about: str = "", old: str = "") -> str:
        """Return the secret of a new session.

        Parameters
        ----------
        address : str
            Of the network, from where it is tried.
        about : str
            What the browser says it is.
        old : str
            The secret of the session that the browser brought along: it ends (ASVS V7.2.4).

        Raises
        ------
        ThrottledError
            Too many tries from this address.
        UnauthenticatedError
            Name or password is wrong, or the account waits or has ended: which of these is not told.
        BusyError
            Too many passwords are being compared.
        """
        account = self._check(name, password, address)
        if account is None:
            raise UnauthenticatedError("Name or password is wrong.")
        return self.open_session(account.number, about=about, old=old)

    def open_session(self, account: int, *, about: str = "", old: str = "") -> str:
        """Return the secret of a new session of an account that has just shown whose it is; the old session ends."""
        if old:
            self.sessions.end(old)
        self.events.tell("signed in", account)
        return self.sessions.open(account, about)

    def sign_in_at_provider(self, identity: Identity, *, invitation: str = "", about: str = "", old: str = "") -> str:
        """Return the secret of a new session of who has signed in at the provider.

        Parameters
        ----------
        invitation : str
            The secret of one that is used up with it; "" for none.

        Raises
        ------
        UnauthenticatedError
            They have no account here and were not invited, or no longer.
        ConflictError
            They were invited to an account besides their own.
        """
        who = (identity.issuer, identity.subject)
        try:
            number = self.invitations.redeem_at_provider(invitation, *who) if invitation else None
        except NotFoundError as error:
            raise UnauthenticatedError(error.detail) from None
        account = self.accounts.find_by_provider(*who)
        if account is None or number not in (None, account.number):
            self.events.tell("refused: no account for who came from the provider")
            raise UnauthenticatedError("You have no account here yet. Ask your administrator for an invitation.")
        return self.open_session(account.number, about=about, old=old)

    def confirm_at_provider(self, session: Session, secret: str, identity: Identity) -> str:
        """Return the new secret of a session whose owner has signed in at the provider again."""
        account = self.accounts.find_by_provider(identity.issuer, identity.subject)
        if account is None or account.number != session.account:
            raise UnauthenticatedError("That is another account than the one you are signed in with.")
        return self._renew(secret)

    def sign_out(self, session: Session, secret: str) -> None:
        """End the session of a secret."""
        self.sessions.end(secret)
        self.events.tell("signed out", session.account)

    def confirm(self, session: Session, secret: str, password: str, *, address: str) -> str:
        """Return the new secret of a session whose password was given again; the old secret ends.

        Raises
        ------
        ThrottledError, UnauthenticatedError, BusyError
            As when one signs in; the session stays as it is.
        """
        self._require_own(session, password, address)
        return self._renew(secret)

    def change_password(self, session: Session, old: str, new: str, *, address: str, words: Iterable[str] = ()) -> str:
        """Set another password, which ends every session; return the secret of a new one (ASVS V6.2.3, V7.4.3).

        Raises
        ------
        ThrottledError, UnauthenticatedError, BusyError
            The old password is wrong, or may not be tried now.
        InputError
            The new one is not good enough.
        """
        self._require_own(session, old, address)
        self.accounts.set_password(session.account, new, words)
        return self.open_session(session.account, about=session.about)

    def _require_own(self, session: Session, password: str, address: str) -> None:
        name = self.accounts.get(session.account).name
        if self._check(name, password, address) is None:
            raise UnauthenticatedError("The password is wrong.")

    def _renew(self, secret: str) -> str:
        renewed = self.sessions.confirm(secret)
        if renewed is None:
            raise UnauthenticatedError("This session has ended: sign in again.")
        return renewed

    def _check(self, name: str, password: str, address: str) -> Account | None:
        wait = count_attempt(self.database, address, self._clock())
        if wait:
            self.events.tell("too many tries from one address")
            raise ThrottledError(wait)
        return self.accounts.check_password(name, password)

    def identify(self, session: str, bearer: str, snapshot: Snapshot, today: dt.date) -> Actor:
        """Return who asks, with the rights of this moment; nobody where nothing holds.

        Parameters
        ----------
        session : str
            The secret of the cookie, "" for none. A request with a token is the token's, whatever cookie it has.
        bearer : str
            The token of the Authorization header, "" for none.
        """
        return self._identify(session, bearer, snapshot, today)[0]

    def recognise(self, brought: str, read: Callable[[], tuple[str, str]], snapshot: Snapshot, today: dt.date) -> Sight:
        """Return what who asks may see, as `identify` finds them; the same as long as nothing it is made of changes.

        Parameters
        ----------
        brought : str
            All that a request brings along to tell who asks, as it stands there; "" for nothing.
        read : callable
            Finds in it the secret of the cookie and the token; not called for who asked a moment ago.
        """
        return self._recent.get(brought, snapshot, today, lambda: self._identify(*read(), snapshot, today))

    def _identify(self, session: str, bearer: str, snapshot: Snapshot, today: dt.date) -> tuple[Actor, float]:
        """Return who asks, and when the first thing of them ends by itself."""
        if bearer:
            token = self.tokens.find(bearer) if bearer.startswith(TOKEN_PREFIX) else None
            return (
                (_NOBODY, 0.0)
                if token is None
                else self._build(token.account, snapshot, today, token.scope, token.ends_at)
            )
        found = self.sessions.find(session)
        if found is None:
            return _NOBODY, 0.0
        ends = min(found.made_at + LONGEST_S, found.seen_at + IDLE_S)
        return self._build(found.account, snapshot, today, None, ends)

    def _build(
        self, number: int, snapshot: Snapshot, today: dt.date, scope: Scope | None, ends: float
    ) -> tuple[Actor, float]:
        try:
            account = self.accounts.get(number)
        except NotFoundError:
            return _NOBODY, 0.0
        purposes = self.purposes.list(number)
        actor = build_actor(account, snapshot, today, purposes, scope, self.shares.list_all)
        return actor, min([ends, *(purpose.ends_at.timestamp() for purpose in purposes)])
