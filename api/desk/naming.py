"""Names in what is asked: an id is taken as it is, a name where it means one record. For commands and forms alike."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping

from api.desk.gone import tell_retired
from api.desk.names import Names
from api.desk.parameters import Asks, Parameter, list_parameters
from api.errors import ParameterError, WrongParameter
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.search import FOUND, Match, find_near, find_records
from ontology.snapshot.snapshot import Snapshot

_MOST_SHOWN = 10
#: Tables whose names are indexed.
_INDEXED = (*FOUND, "shifts", "places")
#: More ids than these are shown as they are.
_MOST_SAID = 200


def get_id(snapshot: Snapshot, table: str, text: str) -> str:
    """Return the id that a text means in a table: the id itself, else the one record with this name.

    A whole name goes before names that only begin so.

    Raises
    ------
    InputError
        Several records could be meant; they are listed.
    UnknownIdError
        None is; what is spelt nearly so is told.
    """
    if text in getattr(snapshot, table):
        return text
    if table not in _INDEXED:
        return _get_called(snapshot, table, text)
    if snapshot.retired.has(table, text):
        raise InputError(f"{text!r} in {table} was {tell_retired(snapshot, table, text)}.", table=table, id=text)
    matches = find_records(snapshot, text, (table,))
    whole = _list_whole(matches)
    meant = whole or list(matches)
    if len(meant) == 1:
        return meant[0].id
    if meant:
        shown = "; ".join(f"{match.id} ({_tell(match)})" for match in meant[:_MOST_SHOWN])
        more = f"; and {len(meant) - _MOST_SHOWN} more" if len(meant) > _MOST_SHOWN else ""
        raise InputError(
            f"{text!r} could mean several of {table}: {shown}{more}. Give the id.",
            table=table,
            candidates=[match.id for match in meant],
        )
    near = find_near(snapshot, text, (table,))
    raise UnknownIdError(table, text, near=[(match.id, match.label) for match in near])


def list_called(snapshot: Snapshot, table: str, text: str) -> tuple[str, ...]:
    """Return the ids that a text means whole: itself, else all with this very name, and nobody called nearly so."""
    if text in getattr(snapshot, table):
        return (text,)
    return tuple(match.id for match in _list_whole(find_records(snapshot, text, (table,))))


def _list_whole(matches: Iterable[Match]) -> list[Match]:
    return [match for match in matches if match.fit == "whole"]


def _get_called(snapshot: Snapshot, table: str, text: str) -> str:
    """Return the id of the one record of a table without an index that is called so; UnknownIdError. O(records)."""
    names = Names(snapshot)
    called = [one for one in getattr(snapshot, table) if names.get(table, one).casefold() == text.casefold()]
    if len(called) != 1:
        raise UnknownIdError(table, text)
    return str(called[0])


def _tell(match: Match) -> str:
    return match.label if match.name in (match.label, match.id) else f"{match.label}, also {match.name}"


def take_id(snapshot: Snapshot, table: str, text: str) -> str:
    """Return the id that a text means, as `get_id`; what means no record, or several, stays as it is."""
    with contextlib.suppress(InputError, UnknownIdError):
        return get_id(snapshot, table, text.strip()) if text.strip() else text
    return text


def require_ids(snapshot: Snapshot, parameter: Parameter, text: str) -> str:
    """Return the text of a parameter with every name of a record made its id.

    Several stand with commas between them, or with semicolons where names hold commas; errors as `get_id`.
    """
    kind = parameter.kind
    if kind.name == "id":
        return get_id(snapshot, kind.table, text.strip())
    if kind.name not in ("ids", "pairs"):
        return text
    taken = []
    for part in filter(None, map(str.strip, text.split(";" if ";" in text else ","))):
        one, colon, other = part.partition(":") if kind.name == "pairs" else (part, "", "")
        taken.append(get_id(snapshot, kind.table, one) + colon + other)
    return ",".join(taken)


def take_ids(snapshot: Snapshot, asks: type[Asks], given: Mapping[str, str]) -> dict[str, str]:
    """Return what is asked by texts, by name, with every name of a record made its id.

    Raises
    ------
    ParameterError
        Names that mean no record, or several; all of them.
    """
    taken, wrong = dict(given), []
    for parameter in list_parameters(asks):
        text = given.get(parameter.name, "")
        if text and parameter.kind.table and parameter.field not in asks.UNCHECKED:
            try:
                taken[parameter.name] = require_ids(snapshot, parameter, text)
            except (InputError, UnknownIdError) as error:
                why = "is not found" if isinstance(error, UnknownIdError) else "is not clear"
                wrong.append(WrongParameter(parameter.name, text, f"{why}: {error.detail.rstrip('.')}"))
    if wrong:
        raise ParameterError(*wrong)
    return taken


def say_ids(snapshot: Snapshot, parameter: Parameter, text: str) -> str:
    """Return the text of ids as a person would type it: the names that tell one record, else the ids."""
    ids = text.split(",")
    if parameter.kind.name != "ids" or not text or len(ids) > _MOST_SAID:
        return text
    table, names = parameter.kind.table, Names(snapshot)
    told = [names.get(table, one) for one in ids]
    said = [name if take_id(snapshot, table, name) == one else one for one, name in zip(ids, told, strict=True)]
    return "; ".join(said)
