"""The JSON form of records: one schema per table, made from its columns, and the way there and back.

JSON keys are column names. An optional member that is null or absent has its default, as an empty cell has.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Final

from marshmallow import RAISE, Schema, ValidationError, fields

from api.desk.table_words import tell_one
from api.errors import FieldError, FieldsError
from api.http import json_fields as values
from api.http.translations import MEMBER as TEXTS
from api.http.translations import JsonTranslations
from api.json_text import to_json
from ontology.errors import shorten
from ontology.model.columns import Column, Table
from ontology.model.tables import REFUSED_COLUMNS, TABLES
from ontology.model.translated import TRANSLATED
from ontology.plurals import format_count

#: The names of the record schemas in the OpenAPI document: those of the records.
SCHEMA_NAMES: Final = {name: table.record.__name__ for name, table in TABLES.items()}


class RecordSchema(Schema):
    """Base of the record schemas: a member that is no column is an error."""

    class Meta:
        """Unknown members are errors, and the OpenAPI document says so."""

        unknown = RAISE


def build_field(column: Column, *, is_part_of_id: bool = False) -> fields.Field[Any]:
    """Return the field of a column; the parts of an id have a longest length."""
    about = column.about
    if column.refers_to:
        about += f" Refers to {column.refers_to}."
    common: dict[str, Any] = {
        "required": column.is_required,
        "allow_none": not column.is_required,
        "metadata": {"description": about},
    }
    is_empty_allowed = not column.is_required and column.default == ""
    match column.kind:
        case "id":
            return values.JsonId(**common)
        case "ref":
            return values.JsonId(allow_empty=is_empty_allowed, **common)
        case "refs":
            return fields.List(values.JsonId(), validate=values.require_room_for_all, **common)
        case "text":
            return values.JsonText(is_part_of_id=is_part_of_id, **common)
        case "texts":
            return fields.List(values.JsonText(required=True), validate=values.require_room_for_all, **common)
        case "iri":
            return values.JsonIri(is_part_of_id=is_part_of_id, **common)
        case "iris":
            return fields.List(values.JsonIri(), validate=values.require_room_for_all, **common)
        case "integer":
            return values.JsonInteger(minimum=column.minimum, maximum=column.maximum, **common)
        case "number":
            return values.JsonNumber(minimum=column.minimum, maximum=column.maximum, **common)
        case "flag":
            return values.JsonFlag(**common)
        case "date":
            return values.JsonDate(**common)
        case "choice":
            return values.JsonChoice(column.choices, allow_empty=is_empty_allowed, **common)


def build_schema(table: Table) -> type[Schema]:
    """Return the schema class of a table's records."""
    members: dict[str, Any] = {
        column.name: build_field(column, is_part_of_id=column.attribute in table.key) for column in table.columns
    }
    if table.name in TRANSLATED:
        members[TEXTS] = JsonTranslations(table.name)
    return RecordSchema.from_dict(members, name=SCHEMA_NAMES[table.name])


RECORD_SCHEMAS: Final[dict[str, type[Schema]]] = {name: build_schema(table) for name, table in TABLES.items()}


class LevelElsewhere(RecordSchema):
    """What a level counts as on another scale."""

    scale = values.JsonText(required=True, metadata={"description": "The other scale."})
    rank = values.JsonInteger(
        required=True, minimum=0, metadata={"description": "The rank there; 0 = below the first."}
    )


class LevelOfScale(RecordSchema):
    """One level as a member of its scale."""

    rank = build_field(TABLES["scales"].get_column("rank"))
    label = build_field(TABLES["scales"].get_column("label"))
    description = build_field(TABLES["scales"].get_column("description"))
    counts_as = fields.List(
        fields.Nested(LevelElsewhere),
        metadata={"description": "By maps, its rank on other scales; told, and passed over when sent."},
    )
    translations = JsonTranslations("scales")


class Scale(RecordSchema):
    """A proficiency scale with its ordered levels."""

    id = values.JsonId(required=True, metadata={"description": "Short text without spaces, unique among scales."})
    levels = fields.List(
        fields.Nested(LevelOfScale),
        required=True,
        metadata={"description": "The levels, ranks 1..n without a hole."},
    )


def load_members(schema: type[Schema], body: Mapping[str, Any], what: str) -> dict[str, Any]:
    """Return the checked values of a body by member name; members that are null are left out.

    Raises
    ------
    FieldsError
        Every wrong, missing or unknown member, each with its pointer, value and what would be right.
    """
    try:
        loaded = schema().load(body)
    except ValidationError as error:
        found = list(_flatten(error.messages, "", body))
        raise FieldsError(
            f"The {what} has {format_count(len(found), 'wrong value')}; nothing was stored.", found
        ) from None
    return {name: value for name, value in loaded.items() if value is not None}


def load_record(table: Table, body: Mapping[str, Any]) -> Any:
    """Return the record of a body, defaults filled in.

    Raises
    ------
    FieldsError
        Values are wrong, missing or unknown.
    """
    loaded = load_members(RECORD_SCHEMAS[table.name], body, tell_one(table))
    loaded.pop(TEXTS, None)
    attributes = {table.get_column(name).attribute: value for name, value in loaded.items()}
    for name, value in attributes.items():
        if isinstance(value, list):
            attributes[name] = tuple(value)
    return table.build(**attributes)


def dump_record(table: Table, record: Any) -> dict[str, Any]:
    """Return the JSON form of a record, members in the order of the columns."""
    return {name: to_json(getattr(record, attribute)) for name, attribute in _get_members(table.name)}


@cache
def _get_members(table_name: str) -> tuple[tuple[str, str], ...]:
    return tuple((column.name, column.attribute) for column in TABLES[table_name].columns)


def _flatten(messages: Any, pointer: str, data: Any) -> list[FieldError]:
    found: list[FieldError] = []
    if isinstance(messages, Mapping):
        for name, below in messages.items():
            if name == "_schema":
                found.extend(_flatten(below, pointer, data))
                continue
            escaped = str(name).replace("~", "~0").replace("/", "~1")
            found.extend(_flatten(below, f"{pointer}/{escaped}", _get_member(data, name)))
        return found
    told = messages if isinstance(messages, list) else [messages]
    return [FieldError(pointer, _show(data), _say(str(message), pointer)) for message in told]


def _get_member(data: Any, name: Any) -> Any:
    try:
        return data[name]
    except (KeyError, IndexError, TypeError):
        return None


def _show(data: Any) -> Any:
    if isinstance(data, str):
        return shorten(data).encode("utf-8", "replace").decode()
    if isinstance(data, bool) or data is None:
        return data
    if isinstance(data, int | float):
        return data if abs(data) < 1e16 else shorten(repr(data) if isinstance(data, float) else hex(data))
    return shorten(str(data)).encode("utf-8", "replace").decode()


def _say(message: str, pointer: str) -> str:
    if message == "Missing data for required field.":
        return "is missing"
    if message == "Field may not be null.":
        return "must not be null"
    if message == "Unknown field.":
        name = pointer.rsplit("/", 1)[1].strip().lower().replace("-", "_").replace(" ", "_")
        refused = REFUSED_COLUMNS.get(name)
        return f"is refused: {refused}" if refused else "is not known here"
    return message if message[:1].islower() else message.rstrip(".").lower()
