"""Who asks: whoever has signed in, or, where nobody signs in, the owner of this machine, who may look as any person."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any, Final
from urllib.parse import quote, unquote

from flask import Response, has_app_context

from api.access.actor import LOCAL_OWNER, Actor
from api.access.authors import get_author
from api.access.database import DatabaseError
from api.access.kinds import TABLE_KINDS
from api.access.looks import find_none
from api.access.rights import Kind
from api.access.sight import Sight
from api.desk.names import Names
from api.http.access_context import get_access, read_session_secret, read_token
from api.http.context import get_desk, get_kept, get_request
from ontology.errors import UnavailableError
from ontology.model.columns import Key

#: The cookie that keeps as whom one looks.
COOKIE: Final = "newel-looks-as"
_A_MONTH_S: Final = 30 * 24 * 3600


def get_actor() -> Actor:
    """Return who asks, the same throughout a request: the account that signed in; where nobody does, the owner."""
    kept = get_kept()
    actor: Actor | None = kept.get("actor")
    if actor is None:
        sight = get_sight()
        kept["actor"] = actor = _get_local_owner() if sight is None else sight.actor
    return actor


def get_who() -> str:
    """Return what the history keeps of who asks: an account's number, or the local owner, whoever they look as."""
    return get_author(get_actor())


def get_sight() -> Sight | None:
    """Return what who asks may see, the same throughout a request; None: all, there being no accounts."""
    kept = get_kept()
    sight: Sight | None = kept.get("sight")
    if sight is None:
        access = get_access()
        if access is None:
            return None
        desk, environ = get_desk(), get_request().environ
        present = desk.graph.get_snapshot()  # rights are those of today, whichever state is asked
        cookie, token = environ.get("HTTP_COOKIE", ""), environ.get("HTTP_AUTHORIZATION", "")
        # reading the cookies costs as much as all else here: who asked a moment ago is known by the whole text
        brought = f"{len(cookie)} {cookie}{token}" if cookie or token else ""
        kept["sight"] = sight = access.recognise(brought, _read_secrets, present, desk.get_today())
    return sight


def _read_secrets() -> tuple[str, str]:
    return read_session_secret(), read_token()


def note_look(actor: Actor, what: str, people: frozenset[str]) -> None:
    """Write that an actor is told of people; UnavailableError where it cannot be written: then nothing is told.

    Outside a request, and where nobody signs in, there is no such log.
    """
    access = get_access() if has_app_context() else None
    if access is None:
        return
    sight = get_sight() if actor.purposes else None  # of use to who states a purpose alone
    try:
        access.look_book.note(actor, what, people, find_none if sight is None else sight.find_teams_of_person)
    except DatabaseError as error:
        raise UnavailableError("It cannot be written down who looks: nothing about people is told.") from error


def note_records(table: str, records: Iterable[Any]) -> None:
    """Write that who asks is told of the people whom records of a table are about."""
    sight = get_sight()
    if sight is not None and _is_about_people(table):
        note_look(sight.actor, table.replace("_", " "), frozenset(sight.get_person(table, one) for one in records))


def note_life(table: str, key: Key) -> None:
    """Write that who asks is told of the person whom a record of a table, perhaps gone by now, is about."""
    sight = get_sight()
    if sight is not None and _is_about_people(table):
        note_look(
            sight.actor, f"history of {table.replace('_', ' ')}", frozenset({sight.get_person_of_key(table, key)})
        )


def _is_about_people(table: str) -> bool:
    return TABLE_KINDS[table] not in (Kind.FRAMEWORK, Kind.TEAMS, Kind.COVER_NEEDS)


def _get_local_owner() -> Actor:
    """Return the local owner, under the name of the person they look as where there is such a person."""
    request = get_request()
    # most programs send none, and looking for it costs as much as a part of a short answer
    person_id = unquote(request.cookies.get(COOKIE, "")) if "HTTP_COOKIE" in request.environ else ""
    if not person_id:
        return LOCAL_OWNER
    snapshot = get_desk().graph.get_snapshot()  # who asks is of today, whichever state is asked
    if person_id not in snapshot.people:
        return LOCAL_OWNER
    return dataclasses.replace(LOCAL_OWNER, name=Names(snapshot).person(person_id), person=person_id)


def look_as(response: Response, person_id: str) -> Response:
    """Keep with the browser as whom it looks from now on; "" for nobody."""
    if person_id:
        response.set_cookie(COOKIE, quote(person_id), max_age=_A_MONTH_S, httponly=True, samesite="Lax")
    else:
        response.delete_cookie(COOKIE)
    return response
