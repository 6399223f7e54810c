"""A response whose text is at hand, sent as it stands: no header is looked through again.

What is usual makes sure of each header several times, which takes as long as finding an answer that is kept. Here they
are those that the program wrote itself; what came from outside goes through `headers` as ever.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from flask import Response
from werkzeug.datastructures import Headers

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment


#: Headers with their values.
_Pairs = tuple[tuple[str, str], ...]
#: Headers with what makes of their values others.
Changes = tuple[tuple[str, Callable[[str], str]], ...]


class _OwnHeaders(Headers):
    """Headers to which the program adds what it wrote itself."""

    def add_own(self, pairs: _Pairs) -> None:
        self._list.extend(pairs)

    def change_own(self, changes: Changes) -> None:
        for name, change in changes:
            for n, (known, value) in enumerate(self._list):
                if known == name:
                    self._list[n] = name, change(value)
                    break
            else:
                self._list.append((name, change("")))


class QuickResponse(Response):
    """A response with a text that is at hand.

    Parameters
    ----------
    content : bytes
        Empty for a 304.
    headers : tuple of pairs of str
        Written by the program; Content-Type among them, where there is content.
    """

    default_mimetype = None

    def __init__(self, content: bytes, headers: _Pairs, status: int = 200) -> None:
        own = _OwnHeaders()
        own.add_own(headers)
        super().__init__(None, status, own)
        self._made = self.response = [content] if content else []
        self._made_as = self.status

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Send it; as any other where something else was made of it, or its text is not wanted."""
        is_as_made = self.response is self._made and self.status == self._made_as and not self._on_close
        if not is_as_made or environ["REQUEST_METHOD"] != "GET":
            return super().__call__(environ, start_response)
        headers = list(self.headers)
        if self._made:
            headers.append(("Content-Length", str(len(self._made[0]))))
        start_response(self._made_as, headers)
        return self._made


def change_headers(response: Response, changes: Changes) -> None:
    """Make of the values of headers that the program writes ("" where one is not there yet) others."""
    headers = response.headers
    if isinstance(headers, _OwnHeaders):
        headers.change_own(changes)
    else:
        for name, change in changes:
            headers[name] = change(headers.get(name, ""))


def add_headers(response: Response, pairs: _Pairs) -> None:
    """Add headers that the program wrote itself behind the others."""
    headers = response.headers
    if isinstance(headers, _OwnHeaders):
        headers.add_own(pairs)
    else:
        headers[len(headers) :] = pairs
