"""Where one is led once what was sent is stored: a page whose line says so, for as long as its address names it.

A fragment, so that neither the page nor what is kept of it hangs on it.
"""

from __future__ import annotations

from http import HTTPStatus

from flask import redirect
from werkzeug import Response as PlainResponse

__all__ = ["lead_to"]

#: The id of the line in the frame of every page.
_LINE = "stored"


def lead_to(address: str) -> PlainResponse:
    """Return the response that leads to a page which says that what was sent is stored."""
    return redirect(f"{address}#{_LINE}", HTTPStatus.SEE_OTHER)
