"""What a request works with where there is sign-in: the accounts, and the cookie that says who signed in. Flask.

The cookie holds a reference and nothing else. Under https its name begins with `__Host-`: a browser takes it from this
server alone, for every path, never over plain http (RFC 6265bis, section 4.1.3.2; OWASP ASVS 5.0.0, V3.3.1 to 3.3.4).
On plain loopback some browsers refuse such a name, so there it has a plain one.
"""

from __future__ import annotations

from typing import Final

from flask import Response
from werkzeug.sansio.http import parse_cookie

from api.access.access import Access, read_bearer
from api.http.context import get_extensions, get_request, get_settings

#: Under which name an application keeps its accounts among its extensions; None there: open, nobody signs in.
ACCESS_EXTENSION: Final = "newel-access"
#: What brings the secret of an invitation from its link to where it is used.
INVITATION: Final = "invitation"
_PLAIN_NAME: Final = "newel"
#: Seconds for which a browser brings along what one page tells the next.
SHORTLY_S: Final = 60


def get_access() -> Access | None:
    """Return what keeps the accounts of this application; None where it is open to whoever reaches it."""
    access: Access | None = get_extensions().get(ACCESS_EXTENSION)
    return access


def require_access() -> Access:
    """Return what keeps the accounts, in a view that is there only with them."""
    access = get_access()
    assert access is not None  # such views are registered with accounts alone
    return access


def is_under_https() -> bool:
    """Whether browsers reach this server over https, as its public address says."""
    return get_settings().public_url.startswith("https://")


def get_cookie_name() -> str:
    """Return the name of the cookie that says who signed in."""
    return f"__Host-{_PLAIN_NAME}" if is_under_https() else _PLAIN_NAME


def read_session_secret() -> str:
    """Return the secret of the session that this request brings along; "" for none."""
    # most programs send no cookie, and `request.cookies` goes through all headers for it
    told = get_request().environ.get("HTTP_COOKIE", "")
    return parse_cookie(told).get(get_cookie_name(), "") if told else ""


def read_token() -> str:
    """Return the token of a program that this request brings along; "" for none. With one, a cookie says nothing."""
    request = get_request()
    return read_bearer(request.environ["HTTP_AUTHORIZATION"]) if "HTTP_AUTHORIZATION" in request.environ else ""


def set_session(response: Response, secret: str) -> Response:
    """Have the browser bring a session along from now on, until it is closed."""
    response.set_cookie(get_cookie_name(), secret, path="/", secure=is_under_https(), httponly=True, samesite="Lax")
    return response


def clear_session(response: Response) -> Response:
    """Have the browser forget its session, and all that it keeps of this server (W3C Clear Site Data)."""
    response.delete_cookie(get_cookie_name(), path="/", secure=is_under_https(), httponly=True, samesite="Lax")
    response.headers["Clear-Site-Data"] = '"cache", "cookies", "storage"'
    return response


def keep_short(response: Response, name: str, text: str, seconds: int = SHORTLY_S) -> Response:
    """Have the browser bring a text along for a moment: from one of our pages to the next, and in no address."""
    full = _get_short_name(name)
    secure = is_under_https()
    response.set_cookie(full, text, max_age=seconds, path="/", secure=secure, httponly=True, samesite="Lax")
    return response


def read_short(name: str) -> str:
    """Return what the browser was to bring along for a moment; "" for nothing."""
    return get_request().cookies.get(_get_short_name(name), "")


def forget_short(response: Response, name: str) -> Response:
    """Have the browser bring it along no longer."""
    full = _get_short_name(name)
    response.delete_cookie(full, path="/", secure=is_under_https(), httponly=True, samesite="Lax")
    return response


def _get_short_name(name: str) -> str:
    return f"{get_cookie_name()}-{name}"
