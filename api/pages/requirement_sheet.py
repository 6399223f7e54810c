"""All that a role asks, in one sheet that is stored in one commit: a row a requirement, and some rows for more."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from api.desk.naming import take_id
from api.desk.record_words import name_reference
from api.desk.table_words import tell_label
from api.errors import FieldsError
from api.pages.addresses import build_record_address
from api.pages.forms.controls import Shape
from api.pages.forms.faults import FILL_IN, MISSING, Fault, build_reason, tell_count
from api.pages.forms.form import Field, build_fields, fill_defaults, format_texts, read_body
from api.pages.offered import list_offered
from api.pages.page import Link, Page
from api.pages.record_form import make_levels_of
from api.pages.records import build_page, build_trail
from ontology.errors import FindingsError, NewelError
from ontology.model.columns import Column, Table
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Row",
    "SheetView",
    "TypedRow",
    "build_sheet_view",
    "describe_sheet",
    "find_row_faults",
    "flatten",
    "read_rows",
]

#: Rows for what the role does not ask yet.
_MORE_ROWS: Final = 4
_NAME: Final = re.compile(r"(\d{1,4})\.(\w+)", re.ASCII)
#: The box that takes a requirement away.
GONE: Final = "gone"
_SHORT: Final[Mapping[str, Shape]] = {"radio": "select", "area": "line"}


@dataclass(frozen=True, slots=True)
class TypedRow:
    """A row as it was sent: its number, the texts by column, whether it is to go."""

    number: int
    texts: dict[str, str]
    is_gone: bool

    @property
    def competency(self) -> str:
        """What the row asks for."""
        return self.texts.get("competency", "")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the sheet; `competency` is what people read for what it asks, "" where that is to be typed."""

    number: int
    competency: str
    competency_id: str
    fields: tuple[Field, ...]
    is_gone: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    """All that the sheet shows."""

    role: str
    heading: str
    title: str
    summary: str
    faults: tuple[Fault, ...]
    headings: tuple[str, ...]
    rows: tuple[Row, ...]
    offered: Mapping[str, tuple[tuple[str, str], ...]]
    hidden: tuple[tuple[str, str], ...]
    why: str
    action: str
    back: str
    revision: int


def get_columns() -> tuple[Column, ...]:
    """Return the columns of a requirement but the role, which the sheet is about."""
    return tuple(column for column in get_table().columns if column.name != "role")


def get_table() -> Table:
    """Return the table that the sheet changes."""
    return TABLES["requirements"]


def read_rows(snapshot: Snapshot, posted: Mapping[str, str]) -> tuple[list[TypedRow], dict[str, str]]:
    """Return the rows of a sheet that say something, and what is no field of a row.

    A name that only one competency has stands for its id.
    """
    rows: dict[int, dict[str, str]] = {}
    others = {}
    for name, text in posted.items():
        match = _NAME.fullmatch(name)
        if match is None:
            others[name] = text
        else:
            rows.setdefault(int(match[1]), {})[match[2]] = text
    usual = fill_defaults(get_table(), {})
    read = []
    for number, texts in sorted(rows.items()):
        is_gone = texts.pop(GONE, "") == "yes"
        if any(text.strip() and text != usual.get(name) for name, text in texts.items()):
            texts["competency"] = take_id(snapshot, "competencies", texts.get("competency", "").strip())
            read.append(TypedRow(number, texts, is_gone))
    return read, others


def list_rows(version: Sequence[Mapping[str, Any]]) -> list[TypedRow]:
    """Return the rows of a version of the sheet as they stand in it."""
    return [TypedRow(at, format_texts(get_columns(), members), False) for at, members in enumerate(version)]


def read_row(row: TypedRow, role_id: str, shown: Mapping[str, Any] | None) -> tuple[dict[str, Any], dict[str, str]]:
    """Return the body of a row, and its fields whose text is no value; `shown` are the members as they stand."""
    body = read_body(get_columns(), row.texts, shown)
    return {"role": role_id, **(shown or {}), **body.members}, body.wrong


def build_sheet_view(
    snapshot: Snapshot,
    role_id: str,
    rows: Sequence[TypedRow],
    *,
    action: str,
    hidden: Sequence[tuple[str, str]],
    why: str = "",
    faults: Sequence[Fault] = (),
) -> SheetView:
    """Return what the sheet of a role shows: the rows given, and empty ones."""
    known = {requirement.competency for requirement in snapshot.get_requirements(role_id)}
    next_number = max((row.number for row in rows), default=-1) + 1
    empty = [TypedRow(next_number + n, fill_defaults(get_table(), {}), False) for n in range(_MORE_ROWS)]
    shown = tuple(_build_row(snapshot, row, faults, row.competency in known) for row in (*rows, *empty))
    fields = [one for row in shown for one in row.fields]
    role = snapshot.roles[role_id].label
    heading = f"What {role} asks"
    return SheetView(
        role=role,
        heading=heading,
        title=f"{tell_count(faults)}: {heading}" if faults else heading,
        summary=f"Nothing is stored yet: {tell_count(faults)}" if faults else "",
        faults=tuple(faults),
        headings=tuple(tell_label(get_table().name, column.name) for column in get_columns()),
        rows=shown,
        offered=list_offered(snapshot, fields),
        hidden=tuple(hidden),
        why=why,
        action=action,
        back=build_record_address("roles", role_id),
        revision=snapshot.revision,
    )


def _build_row(snapshot: Snapshot, row: TypedRow, faults: Sequence[Fault], is_known: bool) -> Row:
    columns = [column for column in get_columns() if not (is_known and column.name == "competency")]
    prefix = f"{row.number}."
    fields = build_fields(
        get_table(), row.texts, faults, levels_of=make_levels_of(snapshot), columns=columns, prefix=prefix
    )
    order = {prefix + column.name: at for at, column in enumerate(columns)}
    name = name_reference(snapshot, "competencies", row.competency) if row.competency else ""
    about = name or f"new row {row.number + 1}"
    in_order = sorted(fields, key=lambda one: order[one.control.name])
    return Row(
        number=row.number,
        competency=name if is_known else "",
        competency_id=row.competency if is_known else "",
        fields=tuple(_make_short(one, about) for one in in_order),
        is_gone=row.is_gone,
    )


def _make_short(one: Field, about: str) -> Field:
    """Return a field as it fits into a cell: buttons are a list to open, the column's name and the row's its label."""
    control = one.control
    shape = _SHORT.get(control.shape, control.shape)
    label = f"{control.label}, {about}"
    choices = tuple((value, words.partition(":")[0]) for value, words in control.choices)
    return replace(one, control=replace(control, shape=shape, label=label, choices=choices))


def find_row_faults(
    snapshot: Snapshot, error: NewelError, role_id: str, rows: Sequence[TypedRow], wrong: Mapping[str, str]
) -> tuple[Fault, ...]:
    """Return what an error says, cell by cell.

    Parameters
    ----------
    snapshot : for the names of competencies
    error : why the sheet was refused
    role_id : whose sheet it is
    rows : as they were typed; the bodies of those that stay were sent on, in their order
    wrong : fields whose text is no value, by name
    """
    if isinstance(error, FieldsError):
        kept = [row for row in rows if not row.is_gone]
        return tuple(_tell_member(snapshot, entry.pointer, entry.reason, kept, wrong) for entry in error.fields)
    if not isinstance(error, FindingsError):
        return (Fault("", "", error.detail),)
    of_competency = {row.competency: row for row in rows}
    found = []
    for finding in (one for one in error.findings if one.severity == "error"):
        row = of_competency.get(finding.about[2]) if finding.about[:2] == ("requirements", role_id) else None
        if row is None:
            found.append(Fault("", "", finding.reason))
        else:
            found.append(
                _tell_cell(snapshot, row, finding.column, build_reason(finding, get_table(), finding.about[1:]))
            )
    return tuple(found)


def _tell_member(
    snapshot: Snapshot, pointer: str, reason: str, rows: Sequence[TypedRow], wrong: Mapping[str, str]
) -> Fault:
    at, _, column = pointer.removeprefix("/").partition("/")
    known = {one.name for one in get_columns()} | {""}
    if not at.isdigit() or column not in known:
        return Fault("", column or at, reason)
    row, column = rows[int(at)], column or "competency"
    told = wrong.get(f"{row.number}.{column}", FILL_IN if reason in MISSING else reason)
    return _tell_cell(snapshot, row, column, told[:1].upper() + told[1:])


def _tell_cell(snapshot: Snapshot, row: TypedRow, column: str, reason: str) -> Fault:
    name = name_reference(snapshot, "competencies", row.competency) or f"Row {row.number + 1}"
    return Fault(f"{row.number}.{column}", f"{name}, {tell_label('requirements', column)}", reason)


def flatten(snapshot: Snapshot, version: Sequence[Mapping[str, Any]]) -> tuple[dict[str, str], dict[str, str]]:
    """Return the texts of a version of the sheet and what people read for each, by competency and column."""
    texts, labels = {}, {}
    for members in version:
        competency = str(members.get("competency", ""))
        for name, text in format_texts(get_columns(), members).items():
            key = f"{competency}.{name}"
            label = tell_label("requirements", name)
            texts[key], labels[key] = text, f"{name_reference(snapshot, 'competencies', competency)}: {label}"
    return texts, labels


def describe_sheet(view: SheetView) -> Page:
    """Return the page of the sheet."""
    roles = TABLES["roles"]
    trail = build_trail(roles, Link(view.role, view.back))
    return build_page(roles, "requirement_sheet.html", {"view": view}, trail)
