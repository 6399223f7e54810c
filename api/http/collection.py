"""The collections of records: where each lives, what its items are, and their change. No Flask.

An item is a record; of scales it is the tuple of one scale's levels, since a level alone means nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from marshmallow import Schema

from api.desk.table_words import tell_one
from api.errors import FieldError, FieldsError
from api.http.record_schemas import (
    RECORD_SCHEMAS,
    SCHEMA_NAMES,
    LevelOfScale,
    Scale,
    dump_record,
    load_members,
    load_record,
)
from api.http.translations import MEMBER as TEXTS
from api.http.translations import build_rows, dump_translations
from api.json_text import to_json
from ontology.errors import UnknownIdError
from ontology.live.live_graph import Change
from ontology.mapping.writer import build_quads, build_scale_quads
from ontology.model.columns import ID_PATTERN, Key, Table
from ontology.model.framework_tables import SCALES
from ontology.model.keeping_records import Translation
from ontology.model.key_text import read_key
from ontology.model.retirable import HANGING, RETIRABLE
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.model.validity import fill_valid_until
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot

#: The column that says when something was written down.
RECORDED_ON: Final = "recorded_on"

#: Tables whose items can be searched by the words of their labels.
SEARCHED: Final = ("competencies", "roles", "courses")


#: Members of a level that are no columns of it.
_BESIDE: Final = ("counts_as", TEXTS)


@dataclass(frozen=True)
class Collection:
    """The records of one table as resources."""

    table: Table

    @property
    def name(self) -> str:
        """Last part of the collection's path: the table's name with hyphens."""
        return self.table.name.replace("_", "-")

    @property
    def schema(self) -> type[Schema]:
        """Schema of one item."""
        return RECORD_SCHEMAS[self.table.name]

    @property
    def what(self) -> str:
        """What one item is called in the OpenAPI document."""
        return SCHEMA_NAMES[self.table.name]

    @property
    def word(self) -> str:
        """What people call one item."""
        return tell_one(self.table)

    @property
    def key_names(self) -> tuple[str, ...]:
        """Column names of the parts of an item's id, in order."""
        names = {column.attribute: column.name for column in self.table.columns}
        return tuple(names[attribute] for attribute in self.table.key)

    @property
    def is_searched(self) -> bool:
        """Whether ``?q=`` is understood."""
        return self.table.name in SEARCHED

    @property
    def has_retired(self) -> bool:
        """Whether its lists leave out what is retired, or hangs on what is, unless it is asked for."""
        name = self.table.name
        return name in RETIRABLE or (name in HANGING and name not in PERSONAL_TABLES)

    def get_items(self, snapshot: Snapshot, *, with_retired: bool = False) -> Sequence[Any]:
        """Return every item in the order of keys; what is retired, or hangs on what is, where it is asked for."""
        is_whole = with_retired or not self.has_retired
        return tuple((snapshot.get_all if is_whole else snapshot.get_table)(self.table.name).values())

    def get_item(self, snapshot: Snapshot, item_id: str, *, with_retired: bool = False) -> Any:
        """Return the item of an id (percent-decoded); UnknownIdError where there is none in use, or at all."""
        item = self.find_item(snapshot, item_id)
        is_retired = item is not None and self.table.name in RETIRABLE and item.retired_on is not None
        if item is None or (is_retired and not with_retired):
            raise UnknownIdError(self.table.name, item_id)
        return item

    def find_item(self, snapshot: Snapshot, item_id: str) -> Any | None:
        """Return the item of an id, be it retired or not, or None."""
        key = self.parse_id(item_id)
        return None if key is None else snapshot.get_all(self.table.name).get(key)

    def has_item(self, snapshot: Snapshot, item: Any) -> bool:
        """Whether there is an item with the key of this one, be it retired or not."""
        return self.table.get_key(item) in snapshot.get_all(self.table.name)

    def get_path_id(self, item: Any) -> str:
        """Return the last part of the item's address: that of its IRI, percent-encoded."""
        return self.table.get_iri(item).rsplit("/", 1)[1]

    def parse_id(self, item_id: str) -> Key | None:
        """Return the key of a percent-decoded id, or None where it cannot be one."""
        return read_key(self.table, item_id)

    def complete_body(self, body: Mapping[str, Any], item_id: str) -> dict[str, Any]:
        """Return a PUT's body with the parts of the id from its path.

        Raises
        ------
        FieldsError
            A part in the body differs from the path, or the path is no id of this collection.
        """
        key = self.parse_id(item_id)
        if key is None:
            raise FieldsError(
                f"{item_id!r} is not a valid id of {self.name}.",
                [FieldError("", item_id, f"the id must be {'~'.join(self.key_names)}")],
            )
        return complete(body, dict(zip(self.key_names, map(to_json, key), strict=True)))

    def tell_recorded(self, body: Mapping[str, Any], today: dt.date) -> Mapping[str, Any]:
        """Return the body of something new with the day it is written down, where its table has one and it has none."""
        has_day = any(column.name == RECORDED_ON for column in self.table.columns)
        return {**body, RECORDED_ON: today.isoformat()} if has_day and body.get(RECORDED_ON) is None else body

    def load_item(self, snapshot: Snapshot, body: Mapping[str, Any]) -> Any:
        """Return the item of a body, defaults and the end of an assessment's validity filled in; FieldsError."""
        record = load_record(self.table, body)
        if self.table.name != "assessments":
            return record
        try:
            known = snapshot.get_assessments(record.person, record.competency)
            return fill_valid_until(record, snapshot.competencies.get(record.competency), known)
        except OverflowError:
            raise FieldsError(
                "The assessment counts past the end of the calendar.",
                [FieldError("/date", record.date.isoformat(), "date and validity lead past the year 9999")],
            ) from None

    def dump_item(self, item: Any) -> dict[str, Any]:
        """Return the JSON form of an item, without its translations."""
        return dump_record(self.table, item)

    def dump_whole(self, item: Any, snapshot: Snapshot) -> dict[str, Any]:
        """Return the JSON form of an item of a state, with its translations."""
        return self.dump_item(item) | dump_translations(snapshot, self.table.name, self.table.get_key(item))

    def list_records(self, item: Any) -> list[Any]:
        """Return the records of the table that an item is."""
        return [item]

    def load_translations(self, item: Any, body: Mapping[str, Any]) -> list[tuple[Any, list[Translation]]]:
        """Return the records of an item of whose translations its body speaks, with all that it gives."""
        if body.get(TEXTS) is None:
            return []
        given = load_members(self.schema, body, self.word)[TEXTS]
        return [(item, list(build_rows(self.table.name, self.table.get_key(item), given)))]

    def build_quads(self, item: Any) -> list[Quad]:
        """Return the quads of an item."""
        return [quad for record in self.list_records(item) for quad in build_quads(self.table, record)]

    def build_put(self, item: Any, present: Any | None) -> Change:
        """Return the change that makes the item, or replaces the present one."""
        return Change(put=tuple((self.table.name, record) for record in self.list_records(item)))

    def build_removal(self, item: Any) -> Change:
        """Return the change that removes the item."""
        return Change(remove=tuple((self.table.name, self.table.get_key(one)) for one in self.list_records(item)))


class ScaleCollection(Collection):
    """Scales: an item is the tuple of a scale's levels by rank."""

    @property
    def schema(self) -> type[Schema]:
        """Schema of one scale."""
        return Scale

    @property
    def what(self) -> str:
        """What one item is called."""
        return "Scale"

    @property
    def key_names(self) -> tuple[str, ...]:
        """A scale's id."""
        return ("id",)

    def get_items(self, snapshot: Snapshot, *, with_retired: bool = False) -> Sequence[Any]:
        """Return every scale, by id."""
        return tuple(snapshot.scales.values())

    def find_item(self, snapshot: Snapshot, item_id: str) -> Any | None:
        """Return the levels of a scale, or None."""
        return snapshot.scales.get(item_id)

    def has_item(self, snapshot: Snapshot, item: Any) -> bool:
        """Whether there is a scale of this id."""
        return item[0].scale in snapshot.scales

    def get_path_id(self, item: Any) -> str:
        """Return the scale's id."""
        return str(item[0].scale)

    def parse_id(self, item_id: str) -> Key | None:
        """Return the key of a scale."""
        return (item_id,) if ID_PATTERN.fullmatch(item_id) else None

    def load_item(self, snapshot: Snapshot, body: Mapping[str, Any]) -> Any:
        """Return the levels of a scale's body by rank; FieldsError."""
        loaded = load_members(Scale, body, self.word)
        levels = sorted(loaded["levels"], key=lambda level: int(level["rank"]))
        ranks = [level["rank"] for level in levels]
        if ranks != list(range(1, len(ranks) + 1)) or not ranks:
            raise FieldsError(
                "The levels of a scale are numbered from 1 without a hole.",
                [FieldError("/levels", str(ranks), "ranks must be 1, 2, 3 ... each once")],
            )
        return tuple(
            SCALES.build(scale=loaded["id"], **{k: v for k, v in level.items() if v is not None and k not in _BESIDE})
            for level in levels
        )

    def dump_item(self, item: Any) -> dict[str, Any]:
        """Return the JSON form of a scale."""
        names = LevelOfScale().fields
        levels = [
            {name: value for name, value in dump_record(SCALES, level).items() if name in names} for level in item
        ]
        return {"id": item[0].scale, "levels": levels}

    def dump_whole(self, item: Any, snapshot: Snapshot) -> dict[str, Any]:
        """Return the JSON form of a scale of a state, with the translations of its levels."""
        told = self.dump_item(item)
        for level, shown in zip(item, told["levels"], strict=True):
            shown |= dump_translations(snapshot, "scales", SCALES.get_key(level))
        return told

    def build_quads(self, item: Any) -> list[Quad]:
        """Return the quads of a scale and its levels."""
        return super().build_quads(item) + build_scale_quads(item[0].scale, item)

    def list_records(self, item: Any) -> list[Any]:
        """Return the levels of a scale."""
        return list(item)

    def load_translations(self, item: Any, body: Mapping[str, Any]) -> list[tuple[Any, list[Translation]]]:
        """Return the levels of whose translations the body speaks, with all that it gives."""
        given = {level["rank"]: level.get(TEXTS) for level in load_members(Scale, body, self.word)["levels"]}
        return [
            (level, list(build_rows("scales", SCALES.get_key(level), given[level.rank])))
            for level in item
            if given[level.rank] is not None
        ]

    def build_put(self, item: Any, present: Any | None) -> Change:
        """Return the change that leaves exactly these levels."""
        kept = {level.rank for level in item}
        gone = [level for level in present or () if level.rank not in kept]
        return super().build_put(item, present) + self.build_removal(gone)


COLLECTIONS: Final[dict[str, Collection]] = {
    name: ScaleCollection(table) if name == "scales" else Collection(table) for name, table in TABLES.items()
}


def complete(body: Mapping[str, Any], told: Mapping[str, Any]) -> dict[str, Any]:
    """Return a body with the members that its path tells; FieldsError where it says otherwise."""
    wrong = [
        FieldError(f"/{name}", body[name], f"must be {value!r}, as in the path")
        for name, value in told.items()
        if body.get(name, value) != value
    ]
    if wrong:
        raise FieldsError("The body is about another record than the path.", wrong)
    return {**body, **told}


def get_iri(collection: Collection, item: Any) -> str:
    """Return the IRI of an item in linked-data forms."""
    if isinstance(collection, ScaleCollection):
        return ns.record_iri("scale", item[0].scale)
    return collection.table.get_iri(item)
