"""The form of a record: from an item and what was found wrong to fields, and from what was typed to a body.

What stands in a form are texts by the names of columns; a field that comes back as it was shown keeps the value that
it showed, whatever a text can say of it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from api.desk.column_values import parse_value
from api.desk.kinds import parse_date
from api.desk.plain_cells import say_days
from api.json_text import to_json
from api.pages.forms.controls import Control, build_control
from api.pages.forms.faults import Fault, get_anchor
from ontology.checks.rules.levels import LEVEL_COLUMNS, get_measured
from ontology.model.columns import Column, Table
from ontology.model.records import ScaleLevel

__all__ = ["Body", "Field", "FindId", "build_fields", "fill_defaults", "format_text", "format_texts", "read_body"]

#: A competency's id -> the levels of its scale; () where there is no such competency.
LevelsOf = Callable[[str], Sequence[ScaleLevel]]
#: A table, and what was typed where an id of it belongs -> the id.
FindId = Callable[[str, str], str]

_SEVERAL: Final = ("refs", "texts", "iris")


@dataclass(frozen=True, slots=True)
class Field:
    """A control with the text in it and what is wrong with that.

    `is_fixed`: it is a part of the record's id, which stays as it was made.
    """

    control: Control
    text: str
    faults: tuple[str, ...] = ()
    is_fixed: bool = False

    @property
    def id(self) -> str:
        """Id of the input in the page."""
        return get_anchor(self.control.name)

    @property
    def shape(self) -> str:
        """How it is shown: a choice that has not what was typed, and a text of several lines, need room for it."""
        shape = self.control.shape
        if shape in ("select", "radio"):
            return shape if self.text in dict(self.control.choices) else "line"
        return "area" if "\n" in self.text else shape

    @property
    def words(self) -> str:
        """What stands there where it cannot be typed: a day as pages tell it, all else as it is."""
        is_day = self.control.type == "date" and _is_day(self.text)
        return say_days(self.text) if is_day else self.text

    @property
    def is_typed(self) -> bool:
        """Whether the input may be of the control's own kind: a date field shows nothing of what is no date."""
        return self.control.type != "date" or not self.text or _is_day(self.text)


@dataclass(frozen=True, slots=True)
class Body:
    """What was typed, as the body of a request, and the fields whose text is no value: name -> what would be right."""

    members: dict[str, Any]
    wrong: dict[str, str]


def build_fields(
    table: Table,
    texts: Mapping[str, str],
    faults: Sequence[Fault] = (),
    *,
    levels_of: LevelsOf,
    fixed: Sequence[str] = (),
    columns: Sequence[Column] | None = None,
    prefix: str = "",
    before: str = "",
) -> tuple[Field, ...]:
    """Return the fields of a record, the required ones first.

    Parameters
    ----------
    table : Table
    texts : what stands in them, by name; nothing where a name is missing
    faults : what is wrong, those of other fields too
    levels_of : the levels that can be chosen, once a competency is known
    fixed : names of columns that stay as they are
    columns : those of the table that have fields; all where left out
    prefix, before : of the fields' names and labels, where a form has several records
    """
    measured = _list_measured(table, texts)
    fields = []
    for column in columns if columns is not None else table.columns:
        name = prefix + column.name
        levels = levels_of(texts.get(measured[column.name], "")) if column.name in measured else ()
        control = build_control(table, column, levels=levels, name=name)
        control = replace(control, label=f"{before}{control.label}") if before else control
        told = tuple(fault.reason for fault in faults if fault.field == name)
        fields.append(Field(control, texts.get(column.name, ""), told, column.name in fixed))
    return tuple(sorted(fields, key=lambda field: not (field.control.is_required or field.is_fixed)))


def _is_day(text: str) -> bool:
    try:
        return parse_date(text) is not None
    except ValueError:
        return False


def _list_measured(table: Table, texts: Mapping[str, str]) -> Mapping[str, str]:
    """Return the columns that hold levels, each with the column that names what they are levels of."""
    return {name: get_measured(name) for name in LEVEL_COLUMNS.get(table.name, ())}


def fill_defaults(table: Table, texts: Mapping[str, str]) -> dict[str, str]:
    """Return the texts of a new record's form: what is not given has its default where a choice needs one."""
    filled = {
        column.name: format_text(column, column.default)
        for column in table.columns
        if column.kind in ("choice", "flag") and not column.is_required and not callable(column.default)
    }
    return filled | dict(texts)


def format_texts(columns: Sequence[Column], members: Mapping[str, Any]) -> dict[str, str]:
    """Return the texts of a record's members (its JSON form), by column."""
    return {column.name: format_text(column, members.get(column.name)) for column in columns}


def format_text(column: Column, value: Any) -> str:
    """Return the text in which a form shows a value; several values stand one on a line.

    Examples
    --------
    >>> number = Column("hours", "number", "", "")
    >>> format_text(number, 2.0), format_text(number, 0.25), format_text(number, None)
    ('2', '0.25', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return "\n".join(map(str, value)) if column.kind in _SEVERAL else str(value)


def read_body(
    columns: Sequence[Column],
    posted: Mapping[str, str],
    shown: Mapping[str, Any] | None = None,
    find_id: FindId = lambda _, text: text,
) -> Body:
    """Return the body of what was typed; what is no column is left in it, to be refused as any body's is.

    Parameters
    ----------
    columns : those that have fields
    posted : texts by name
    shown : the members of the item that the form showed; a field with the text of its member keeps it
    find_id : the id for what was typed, a name perhaps
    """
    known = {column.name: column for column in columns}
    members: dict[str, Any] = {}
    wrong: dict[str, str] = {}
    for name, text in posted.items():
        column, plain = known.get(name), text.replace("\r\n", "\n")
        if column is None:
            members[name] = plain
        elif shown is not None and name in shown and _is_same(column, shown[name], plain):
            members[name] = shown[name]
        elif column.is_required and not plain:
            members[name] = None
        else:
            try:
                members[name] = _read_value(column, plain, find_id)
            except ValueError as error:
                members[name], wrong[name] = plain, str(error)
    return Body(members, wrong)


def _is_same(column: Column, value: Any, plain: str) -> bool:
    return format_text(column, value).replace("\r\n", "\n") == plain


def _read_value(column: Column, plain: str, find_id: FindId) -> Any:
    table = column.refers_to
    if column.kind in _SEVERAL:
        lines = filter(None, (line.strip() for line in plain.split("\n")))
        return list(dict.fromkeys(find_id(table, line) if table else line for line in lines))
    # blanks around what is typed are slips; where nothing is left, nothing was said
    text = plain if column.kind == "text" else plain.strip()
    value = to_json(parse_value(column, find_id(table, text) if table else text))
    # an optional field without a text has its default
    return None if value == "" and column.default != "" and not column.is_required else value
