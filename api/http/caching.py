"""What caches are told where people sign in: that it is private, on whom it hangs, and to keep nothing about people.

By the right that an address needs, so that no view can forget it. Imports Flask.
"""

from __future__ import annotations

from typing import Final

from flask import Response

from api.access.rights import Kind
from api.http.context import get_request
from api.http.route_rights import find_right
from api.questions import load_question

__all__ = ["tell_caches"]

_NOTHING: Final = "private, no-store"
_TO_LOOK_AGAIN: Final = "private, no-cache"
#: By what one is known.
_BY: Final = ("Cookie", "Authorization")


def tell_caches(response: Response) -> Response:
    """Tell caches of a response that it is for who asked alone (ASVS V14.2.2, V14.3.2)."""
    request, headers = get_request(), response.headers
    rule = request.url_rule
    right = None if rule is None else find_right(rule.rule, request.method)
    if right is not None and right.kind is None:
        return response  # the same for everybody
    if "no-store" not in headers.get("Cache-Control", ""):
        is_of_framework = (
            right is not None
            and right.kind is Kind.FRAMEWORK
            and not right.is_draft
            and not (right.question and load_question(right.question).is_of_seen)
        )
        headers["Cache-Control"] = _TO_LOOK_AGAIN if is_of_framework else _NOTHING
    told = headers.get("Vary", "")
    headers["Vary"] = ", ".join(filter(None, (told, *(name for name in _BY if name not in told))))
    return response
