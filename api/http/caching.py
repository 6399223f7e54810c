"""What caches are told where people sign in: that it is private, on whom it hangs, and to keep nothing about people.

By the right that an address needs, so that no view can forget it.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Final

from flask import Response

from api.access.rights import Kind
from api.http.context import get_request
from api.http.quick_response import Changes, change_headers
from api.http.route_rights import find_right
from api.questions import load_question

_NOTHING: Final = "private, no-store"
_TO_LOOK_AGAIN: Final = "private, no-cache"
#: By what one is known.
_BY: Final = ("Cookie", "Authorization")


def tell_caches(response: Response) -> Response:
    """Tell caches of a response that it is for who asked alone (ASVS V14.2.2, V14.3.2)."""
    request = get_request()
    rule = request.url_rule
    change_headers(response, _tell(_NOTHING) if rule is None else _find_changes(rule.rule, request.method))
    return response


@cache
def _find_changes(rule: str, method: str) -> Changes:
    """Return what of an address' headers becomes what caches are told at the least: nothing where all are told one."""
    right = find_right(rule, method)
    if right is not None and right.kind is None:
        return ()
    is_of_framework = (
        right is not None
        and right.kind is Kind.FRAMEWORK
        and not right.is_draft
        and not (right.question and load_question(right.question).is_of_seen)
    )
    return _tell(_TO_LOOK_AGAIN if is_of_framework else _NOTHING)


def _tell(told: str) -> Changes:
    return ("Cache-Control", lambda other: other if "no-store" in other else told), ("Vary", _hang_on_who_asks)


@lru_cache
def _hang_on_who_asks(told: str) -> str:
    return ", ".join(filter(None, (told, *(name for name in _BY if name not in told))))
