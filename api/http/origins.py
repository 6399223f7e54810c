"""Who may reach an application: by names of this machine or by its public address, and pages that it served itself.

A page on the internet can point its own name at 127.0.0.1 (DNS rebinding), so only names that always mean this machine
are answered: RFC 6761, section 6.3 (localhost), RFC 1122, section 3.2.1.3 (127.0.0.0/8), RFC 4291, section 2.5.3 (::1).
A browser says where a request comes from (Origin: RFC 6454; Sec-Fetch-Site: W3C Fetch Metadata), so changes asked for
by pages of others are refused.
"""

from __future__ import annotations

import ipaddress
import re
from functools import lru_cache
from typing import Final

from flask import Request

from api.errors import MisdirectedError
from api.http.context import get_request, get_settings
from ontology.errors import ForbiddenError, shorten

#: RFC 9110, section 9.2.1: these change nothing.
_SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_OWN_SITES: Final = frozenset({"same-origin", "none"})
_HOST: Final = re.compile(r"(?P<name>\[[0-9a-f:.]+\]|[0-9a-z.-]+)(?::(?P<port>\d{0,5}))?", re.ASCII)
_DEFAULT_PORTS: Final = {"http": "80", "https": "443"}


def require_own_origin() -> None:
    """Let a request pass that came under a name of this machine and, where it would change something, from our pages.

    Raises
    ------
    MisdirectedError
        The Host is no name of this machine.
    ForbiddenError
        A page of another origin asked for a change.
    """
    request, public = get_request(), get_settings().public_url.lower()
    host = request.environ.get("HTTP_HOST")
    # every browser sends a Host; HTTP/1.0 knows requests without
    if host is not None and not is_loopback_host(host) and not (public and f"https://{host.lower()}" == public):
        raise MisdirectedError(host)
    if request.method not in _SAFE:
        _require_own_page(request)


@lru_cache(maxsize=64)
def is_loopback_host(host: str) -> bool:
    """Whether the value of a Host header always means this machine.

    Examples
    --------
    >>> [is_loopback_host(host) for host in ("localhost:8000", "[::1]", "127.0.0.1.example.org", "::1")]
    [True, True, False, False]
    """
    match = _HOST.fullmatch(host.lower())
    if match is None:
        return False
    name = match["name"]
    if name.removesuffix(".") == "localhost":
        return True
    try:
        return ipaddress.ip_address(name.strip("[]")).is_loopback
    except ValueError:
        return False


def _require_own_page(request: Request) -> None:
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None and site not in _OWN_SITES:
        raise ForbiddenError("A page of another site may not change anything here (Sec-Fetch-Site says so).")
    origin = request.headers.get("Origin")
    if origin is not None and not _is_same_origin(origin, request.scheme, request.headers.get("Host", "")):
        raise ForbiddenError(
            f"A page of {shorten(origin)!r} may not change anything here: only pages served from this address may."
        )


def _is_same_origin(origin: str, scheme: str, host: str) -> bool:
    return _complete(origin.lower(), scheme) == _complete(f"{scheme}://{host.lower()}", scheme)


def _complete(origin: str, scheme: str) -> str:
    """Return an origin with its port, where that is the usual one of the scheme."""
    has_port = re.search(r":\d+\Z", origin) is not None
    return origin if has_port else f"{origin.removesuffix(':')}:{_DEFAULT_PORTS.get(scheme, '')}"
