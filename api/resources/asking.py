"""What every answer's view does: check the path, the parameters and the ids in them. Imports Flask."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final, NamedTuple

from flask import request
from marshmallow import Schema

from api.context import get_request, get_settings, get_snapshot, get_today
from api.errors import ParameterError, WrongParameter
from api.schemas.parameters import get_schema, load_parameters
from ontology.graph.snapshot import Snapshot

_ASKED_KEPT: Final = 2_000
_LONGEST_KEPT: Final = 500
_asked: dict[tuple[type[Schema], bytes], dict[str, Any]] = {}

#: Path parameter of an answer, for the OpenAPI document.
ID_PARAMETER: dict[str, Any] = {
    "in": "path",
    "name": "id",
    "required": True,
    "schema": {"type": "string"},
    "description": "Id of the person, role, competency or team that the path names.",
}


def get_asked(schema: type[Schema]) -> dict[str, Any]:
    """Return the request's parameters: `on` is today where it is left out, `time_limit` within the settings."""
    asked = _load_once(schema)
    names = get_schema(schema).load_fields
    if "on" in names:
        asked.setdefault("on", get_today())
    if "time_limit" in names:
        settings = get_settings()
        asked.setdefault("time_limit", settings.time_limit_default_s)
        if asked["time_limit"] > settings.time_limit_max_s:
            reason = f"must be at most {settings.time_limit_max_s:g} seconds"
            raise ParameterError(WrongParameter("time_limit", request.args.get("time_limit"), reason))
    return asked


def _load_once(schema: type[Schema]) -> dict[str, Any]:
    """Return the checked parameters; the same text asks the same, so it is read once."""
    current = get_request()
    key = (schema, current.query_string)
    asked = _asked.get(key)
    if asked is None:
        asked = load_parameters(schema, current.args)
        if len(_asked) >= _ASKED_KEPT:
            _asked.clear()
        if len(current.query_string) < _LONGEST_KEPT:
            _asked[key] = asked
    return dict(asked)


def require_known_role(snapshot: Snapshot, parameter: str, role_id: str) -> str:
    """Return the id of a role named in a parameter.

    Raises
    ------
    ParameterError
        There is no such role (an id in the path would be 404).
    """
    if role_id not in snapshot.roles:
        raise ParameterError(WrongParameter(parameter, role_id, "must be the id of a role; this one does not exist"))
    return role_id


class PathQuestion(NamedTuple):
    """What is asked of the way to a role: `start` says whose levels count, a person's or those of a role's profile."""

    snapshot: Snapshot
    role_id: str
    start: dict[str, str]
    asked: dict[str, Any]


def ask_from_person(person_id: str, schema: type[Schema]) -> PathQuestion:
    """Return the question about a person of the path and the role of the parameter ``role``."""
    snapshot = get_snapshot()
    snapshot.require_person(person_id)
    asked = get_asked(schema)
    role_id = require_known_role(snapshot, "role", asked["role"])
    return PathQuestion(snapshot, role_id, {"person_id": person_id}, asked)


def ask_from_role(role_id: str, schema: type[Schema]) -> PathQuestion:
    """Return the question about a role of the path and the role of the parameter ``from``."""
    snapshot = get_snapshot()
    snapshot.require_role(role_id)
    asked = get_asked(schema)
    start = {"from_role_id": require_known_role(snapshot, "from", asked["from"])}
    return PathQuestion(snapshot, role_id, start, asked)


def require_known_people(snapshot: Snapshot, parameter: str, people: Iterable[str]) -> None:
    """Raise ParameterError where an id of a parameter is not one of people."""
    wrong = [
        WrongParameter(parameter, person, "must be ids of people; this one does not exist")
        for person in sorted(people)
        if person not in snapshot.people
    ]
    if wrong:
        raise ParameterError(*wrong)
