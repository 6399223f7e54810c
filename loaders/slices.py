"""A slice: those rows of the tables that are not about people which a filter names."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any, Final

from loaders.tables.rows import get_table
from ontology.errors import InputError, shorten
from ontology.model.columns import MANY, Key, Table
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.model.translated import parse_key_text
from ontology.snapshot.snapshot import Snapshot

__all__ = ["SLICED_TABLES", "SliceFilter", "cut_slice", "require_known"]

_TEXTS: Final = "translations"
#: The tables of the framework, the offers and the teams.
SLICED_TABLES: Final = tuple(name for name in TABLES if name not in PERSONAL_TABLES)


@dataclass(frozen=True, slots=True)
class SliceFilter:
    """Which rows a slice holds; what is left empty narrows nothing.

    Attributes
    ----------
    tables : whole where no row of theirs names what the others narrow; empty: every table that does (without any
        other filter: every table)
    roles, families : roles by id, and those of a family; either is enough
    below : a competency, with all that is narrower
    courses : by id
    """

    tables: tuple[str, ...] = ()
    roles: tuple[str, ...] = ()
    families: tuple[str, ...] = ()
    below: str = ""
    courses: tuple[str, ...] = ()

    @classmethod
    def parse(cls, texts: Mapping[str, str]) -> SliceFilter:
        """Return the filter of texts by name, several values between commas.

        Raises
        ------
        InputError
            A table is unknown, or about people.
        """
        parts = {
            one.name: tuple(dict.fromkeys(filter(None, map(str.strip, texts.get(one.name, "").split(",")))))
            for one in fields(cls)
        }
        below = texts.get("below", "").strip()
        return cls(_read_tables(parts["tables"]), parts["roles"], parts["families"], below, parts["courses"])

    @property
    def texts(self) -> dict[str, str]:
        """The texts that `parse` reads, those that say something."""
        values = {one.name: getattr(self, one.name) for one in fields(self)}
        return {name: value if isinstance(value, str) else ",".join(value) for name, value in values.items() if value}


def cut_slice(snapshot: Snapshot, asked: SliceFilter) -> dict[str, dict[Key, Any]]:
    """Return table -> key -> record of a slice, tables and records in their usual order, retired ones with them.

    An id that the state does not have names nothing. O(records of the tables).
    """
    wanted = _find_wanted(snapshot, asked)
    named = [name for name in SLICED_TABLES if not wanted or any(_get_fields(TABLES[name], one) for one in wanted)]
    cut: dict[str, dict[Key, Any]] = {
        name: {
            key: record for key, record in snapshot.get_all(name).items() if _is_wanted(TABLES[name], record, wanted)
        }
        for name in (asked.tables or named)
    }
    texts = {
        key: row
        for key, row in snapshot.get_all(_TEXTS).items()
        if parse_key_text(row.table, row.id) in cut.get(row.table, ())
    }
    if not asked.tables and (texts or not wanted):
        cut[_TEXTS] = texts  # what is said of the rows in other languages goes with them
    return cut


def require_known(snapshot: Snapshot, asked: SliceFilter) -> None:
    """Raise InputError where a filter names what a state does not have: its context names the parameter."""
    for table, parameter, ids in (
        ("roles", "roles", asked.roles),
        ("competencies", "below", (asked.below,) if asked.below else ()),
        ("courses", "courses", asked.courses),
    ):
        for one in ids:
            if (one,) not in snapshot.get_all(table):
                raise _refuse(parameter, one, f"names something that is not among the {table}")
    families = {role.family for role in snapshot.get_all("roles").values()}
    for one in asked.families:
        if one not in families:
            raise _refuse("families", one, "names a family that no role is of")


def _read_tables(names: Iterable[str]) -> tuple[str, ...]:
    found = set()
    for name in names:
        table = get_table(name)
        if table is None:
            raise _refuse("tables", name, f"names no table; those of a slice are {', '.join(SLICED_TABLES)}")
        if table.name in PERSONAL_TABLES:
            raise _refuse("tables", name, "names a table about people, which no draft holds")
        found.add(table.name)
    return tuple(name for name in SLICED_TABLES if name in found)


def _find_wanted(snapshot: Snapshot, asked: SliceFilter) -> dict[str, frozenset[str]]:
    """Return table -> ids that are wanted, of the tables that a filter narrows by."""
    wanted: dict[str, frozenset[str]] = {}
    if asked.roles or asked.families:
        roles = snapshot.get_all("roles").values()
        wanted["roles"] = frozenset(asked.roles) | {role.id for role in roles if role.family in asked.families}
    if asked.below:
        wanted["competencies"] = _find_below(snapshot, asked.below)
    if asked.courses:
        wanted["courses"] = frozenset(asked.courses)
    return wanted


def _find_below(snapshot: Snapshot, competency_id: str) -> frozenset[str]:
    narrower: dict[str, list[str]] = {}
    for one in snapshot.get_all("competencies").values():
        for above in one.broader:
            narrower.setdefault(above, []).append(one.id)
    found, open_ids = {competency_id}, [competency_id]
    while open_ids:
        fresh = [one for one in narrower.get(open_ids.pop(), ()) if one not in found]
        found.update(fresh)
        open_ids += fresh
    return frozenset(found)


def _get_fields(table: Table, narrowed: str) -> list[tuple[str, bool]]:
    """Return the fields by which a table names records of another, and whether each holds several; its own by id."""
    if table.name == narrowed:
        return [("id", False)]
    return [(column.attribute, column.kind in MANY) for column in table.columns if column.refers_to == narrowed]


def _is_wanted(table: Table, record: Any, wanted: Mapping[str, frozenset[str]]) -> bool:
    """Whether a record names something wanted in each way in which its table can."""
    for narrowed, ids in wanted.items():
        named = _get_fields(table, narrowed)
        values = (getattr(record, name) if is_many else (getattr(record, name),) for name, is_many in named)
        if named and not any(ids.intersection(several) for several in values):
            return False
    return True


def _refuse(parameter: str, value: str, reason: str) -> InputError:
    detail = f"The parameter {parameter!r} {reason} (given: {shorten(value)!r})."
    return InputError(detail, parameter=parameter, value=value, reason=reason)
