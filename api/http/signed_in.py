"""Who has signed in with this browser: the session of a request and its account.

What concerns one's own account is done with a browser: a request with a token is nobody here, whatever its cookie says.
"""

from __future__ import annotations

from typing import Final, cast

from flask import Response, after_this_request

from api.access.accounts import Account
from api.access.sessions import Session
from api.errors import UnauthenticatedError
from api.http.access_context import (
    get_access,
    read_session_secret,
    read_token,
    require_access,
    set_session,
)
from api.http.context import get_kept, get_request

_KEPT: Final = "newel_session"


def find_session() -> Session | None:
    """Return the session that this request brings along; None where there is none, or it has ended."""
    kept = get_kept()
    if _KEPT not in kept:
        access, secret = get_access(), read_session_secret()
        kept[_KEPT] = access.sessions.find(secret) if access is not None and secret and not read_token() else None
    return cast("Session | None", kept[_KEPT])


def require_session() -> Session:
    """Return the session of this request; UnauthenticatedError where there is none."""
    session = find_session()
    if session is None:
        raise UnauthenticatedError("Sign in with a browser to come here.")
    return session


def require_account() -> Account:
    """Return the account that has signed in with this browser; UnauthenticatedError where none has."""
    return require_access().accounts.get(require_session().account)


def is_confirmed() -> bool:
    """Whether the password was given not long ago."""
    return require_access().sessions.is_confirmed(require_session())


def keep_session(secret: str) -> None:
    """Have the answer to this request bring the browser a new secret of its session."""

    def tell(response: Response) -> Response:
        return set_session(response, secret)

    after_this_request(tell)
    # for the rest of this request the session is the one of the new secret
    get_kept()[_KEPT] = require_access().sessions.find(secret)


def get_browser() -> str:
    """Return what the browser says it is."""
    return get_request().headers.get("User-Agent", "")


def get_network_address() -> str:
    """Return from where on the network this request came, as far as one knows."""
    return get_request().remote_addr or ""
