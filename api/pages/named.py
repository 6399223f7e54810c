"""Records told by their names in forms: people type and read names, addresses of programs hold ids."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, cast

from api.desk.names import Names
from api.desk.parameters import Asks, Parameter, list_parameters
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MOST_CHOICES", "list_choices", "say_ids", "take_name", "take_names"]

#: More records than these are typed, not chosen from a list.
MOST_CHOICES: Final = 200
_OF_SEVERAL: Final = ("ids", "pairs")


def list_choices(snapshot: Snapshot, table: str) -> tuple[tuple[str, str], ...]:
    """Return id and name of every record of a table, by name; nothing where there are too many to choose from."""
    records = _get_records(snapshot, table)
    if len(records) > MOST_CHOICES:
        return ()
    names = Names(snapshot)
    return tuple(
        sorted(((one, names.get(table, one)) for one in records), key=lambda pair: (pair[1].casefold(), pair[0]))
    )


def say_ids(snapshot: Snapshot, parameter: Parameter, text: str) -> str:
    """Return the text of ids as a person would type it: the names that tell one record, else the ids."""
    if parameter.kind.name != "ids" or not text:
        return text
    ids = text.split(",")
    names = Names(snapshot)
    known = _index_names(snapshot, parameter.kind.table) if len(ids) <= MOST_CHOICES else {}
    told = [names.get(parameter.kind.table, one) for one in ids]
    said = [name if known.get(name.casefold()) == one else one for one, name in zip(ids, told, strict=True)]
    return "; ".join(said)


def take_names(snapshot: Snapshot, asks: type[Asks], given: Mapping[str, str]) -> dict[str, str]:
    """Return what a form gives with ids in place of names; what is no name of one record alone stays as it is.

    Several stand with commas or semicolons between them. O(records) for each parameter that holds a name.
    """
    taken = dict(given)
    for parameter in list_parameters(asks):
        text = given.get(parameter.name, "")
        kind = parameter.kind
        if not text or not kind.table:
            continue
        if kind.name == "id":
            taken[parameter.name] = take_name(snapshot, kind.table, text.strip())
        elif kind.name in _OF_SEVERAL:
            taken[parameter.name] = _take_several(snapshot, kind.table, text)
    return taken


def take_name(snapshot: Snapshot, table: str, text: str) -> str:
    """Return the id of the one record that is called so; what is an id, or no name of one record alone, stays as it is.

    O(records) for a name.
    """
    if not text or text in _get_records(snapshot, table):
        return text
    return _index_names(snapshot, table).get(text.casefold(), text)


def _take_several(snapshot: Snapshot, table: str, text: str) -> str:
    records = _get_records(snapshot, table)
    parts = [part.strip() for part in text.split(";" if ";" in text else ",")]
    if all(part.partition(":")[0] in records for part in parts):
        return ",".join(parts)
    known = _index_names(snapshot, table)
    return ",".join(part if part in records else known.get(part.casefold(), part) for part in parts if part)


def _index_names(snapshot: Snapshot, table: str) -> dict[str, str]:
    """Return the id of every name, case folded, that only one record has."""
    names = Names(snapshot)
    index: dict[str, str] = {}
    shared: set[str] = set()
    for one in _get_records(snapshot, table):
        name = names.get(table, one).casefold()
        if index.setdefault(name, one) != one:
            shared.add(name)
    return {name: one for name, one in index.items() if name not in shared}


def _get_records(snapshot: Snapshot, table: str) -> Mapping[str, Any]:
    return cast(Mapping[str, Any], getattr(snapshot, table))
