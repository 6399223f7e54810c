"""Who asks. Until there is sign-in that is the owner of this machine, who may look as any person. Imports Flask."""

from __future__ import annotations

import dataclasses
from typing import Final
from urllib.parse import quote, unquote

from flask import Response

from api.desk.names import Names
from api.desk.rights import LOCAL_OWNER, Actor
from api.http.context import get_desk, get_request

__all__ = ["get_actor", "look_as"]

#: The cookie that keeps as whom one looks.
COOKIE: Final = "newel-looks-as"
_A_MONTH_S: Final = 30 * 24 * 3600


def get_actor() -> Actor:
    """Return who asks: the local owner, under the name of the person they look as where there is such a person."""
    request = get_request()
    # most programs send none, and looking for it costs as much as a part of a short answer
    person_id = unquote(request.cookies.get(COOKIE, "")) if "HTTP_COOKIE" in request.environ else ""
    if not person_id:
        return LOCAL_OWNER
    snapshot = get_desk().graph.get_snapshot()  # who asks is of today, whichever state is asked
    if person_id not in snapshot.people:
        return LOCAL_OWNER
    return dataclasses.replace(LOCAL_OWNER, name=Names(snapshot).person(person_id), person_id=person_id)


def look_as(response: Response, person_id: str) -> Response:
    """Keep with the browser as whom it looks from now on; "" for nobody."""
    if person_id:
        response.set_cookie(COOKIE, quote(person_id), max_age=_A_MONTH_S, httponly=True, samesite="Lax")
    else:
        response.delete_cookie(COOKIE)
    return response
