"""An empty workbook to fill in: a sheet per table that checks what is typed, and a sheet that explains all of them.

What is filled in loads as it stands; left empty it loads as nothing.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any, Final

from loaders import limits
from loaders.tables.explanations import TABLE_MEANINGS, tell_allowed, tell_default
from loaders.tables.rows import REQUIRED_MARK
from loaders.tables.targets import write_book
from loaders.tables.workbook import EXPLANATION_SHEET
from ontology.errors import ConflictError, InputError
from ontology.model.columns import Column, Table
from ontology.model.tables import REFUSED_COLUMNS, TABLES

#: How far down a drop-down of ids looks in the table they come from.
_LISTED_ROWS: Final = 5_000
#: Larger numbers are refused by the columns anyway.
_LARGEST: Final = 1_000_000_000
_HEADER: Final = ("table", "column", "required", "default", "meaning", "allowed values")
_INTRODUCTION: Final = (
    "How to fill in this workbook",
    "A sheet per table, a row per record. Columns marked (required) must be filled in; an empty cell elsewhere means "
    "the default. Leave the first row as it is. Tables you do not need stay empty.",
    "A text in another language than the main one: add a column named after the column and the language, such as "
    "label@de, or fill in the sheet translations.",
    "Drop-downs of ids offer what stands in the other sheets; an id that is in the store already may be typed too.",
    "Then check it, with Load tables in a browser or with newel load FILE --dry-run: every fault is shown with its "
    "sheet, row and column, and nothing is stored yet.",
)


def export_template(path: Path) -> Path:
    """Write the empty workbook and return its path.

    Raises
    ------
    ConflictError
        There is a file already: it may have been filled in.
    InputError
        The name does not end in .xlsx, or nothing can be written there.
    """
    if path.suffix.lower() != ".xlsx":
        raise InputError(f"{path.name}: a workbook's name ends in .xlsx.", path=str(path))
    if path.exists():
        raise ConflictError(f"{path} is there already; name a new file.", path=str(path))
    with write_book(path) as book:
        formats = _Formats(book)
        _write_explanation(book.add_worksheet(EXPLANATION_SHEET), formats)
        for table in TABLES.values():
            _write_table(book.add_worksheet(table.name), table, formats)
    return path


class _Formats:
    def __init__(self, book: Any) -> None:
        head = {"bold": True, "bottom": 1, "valign": "top"}
        self.title = book.add_format({"bold": True, "font_size": 14})
        self.required = book.add_format(head | {"bg_color": "#DDE8F3"})
        self.optional = book.add_format(head)
        self.wrapped = book.add_format({"text_wrap": True, "valign": "top"})
        self.bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "top": 1})
        # as text: a spreadsheet would make a number of the id 007 and a date of 1-2
        self._as_text = book.add_format({"num_format": "@"})
        self._as_date = book.add_format({"num_format": "yyyy-mm-dd"})

    def get_cell(self, column: Column) -> Any:
        """Return the format of the cells to fill in."""
        if column.kind in ("integer", "number"):
            return None
        return self._as_date if column.kind == "date" else self._as_text


def _write_table(sheet: Any, table: Table, formats: _Formats) -> None:
    sheet.freeze_panes(1, 0)
    for position, column in enumerate(table.columns):
        name = f"{column.name} {REQUIRED_MARK}" if column.is_required else column.name
        sheet.set_column(position, position, max(len(name) + 3, 14), formats.get_cell(column))
        sheet.write_string(0, position, name, formats.required if column.is_required else formats.optional)
        sheet.write_comment(0, position, _tell_column(table, column), {"x_scale": 2, "y_scale": 1.2})
        rule = _build_rule(table, column)
        if rule is not None:
            sheet.data_validation(1, position, limits.MAX_TABLE_ROWS - 1, position, rule)


def _tell_column(table: Table, column: Column) -> str:
    default = "Required." if column.is_required else f"Left empty: {tell_default(table, column)}."
    return f"{column.about}\n{default}\nAllowed: {tell_allowed(column)}."


def _build_rule(table: Table, column: Column) -> dict[str, Any] | None:
    """Return what the spreadsheet program checks while people type, or None for free text."""
    right = f"Allowed: {tell_allowed(column)}."
    told = {"error_title": f"{table.name}: {column.name}"[:32], "error_message": right[:255]}
    if column.kind == "choice":
        return told | {"validate": "list", "source": list(column.choices)}
    if column.kind == "flag":
        return told | {"validate": "list", "source": ["yes", "no"]}
    if column.kind == "date":
        return told | {
            "validate": "date",
            "criteria": "between",
            "minimum": date(1900, 1, 1),
            "maximum": date(9999, 12, 31),
        }
    if column.kind in ("integer", "number"):
        return told | {
            "validate": "integer" if column.kind == "integer" else "decimal",
            "criteria": "between",
            "minimum": -_LARGEST if column.minimum is None else column.minimum,
            "maximum": _LARGEST if column.maximum is None else column.maximum,
        }
    if column.kind == "ref" and column.refers_to != table.name:
        # offered, not demanded: the id may stand in the store already
        return {"validate": "list", "source": f"={column.refers_to}!$A$2:$A${_LISTED_ROWS + 1}", "show_error": False}
    return None


def _write_explanation(sheet: Any, formats: _Formats) -> None:
    for position, width in enumerate((18, 20, 10, 24, 60, 50)):
        sheet.set_column(position, position, width, formats.wrapped)
    for number, text in enumerate(_INTRODUCTION):
        last = len(_HEADER) - 1
        sheet.set_row(number, 20 if number == 0 else 32)  # a merged cell does not grow with its text
        sheet.merge_range(number, 0, number, last, text, formats.wrapped if number else formats.title)
    row = len(_INTRODUCTION) + 1
    sheet.write_row(row, 0, _HEADER, formats.required)
    for table in TABLES.values():
        row += 1
        sheet.write_row(row, 0, (table.name, "", "", "", TABLE_MEANINGS[table.name], ""), formats.bold)
        for column in table.columns:
            row += 1
            required = "required" if column.is_required else ""
            texts = (table.name, column.name, required, tell_default(table, column), column.about, tell_allowed(column))
            sheet.write_row(row, 0, texts, formats.wrapped)
    row += 2
    sheet.write_string(row, 0, "Columns that are refused", formats.title)
    for name, reason in REFUSED_COLUMNS.items():
        row += 1
        sheet.write_row(row, 0, ("any", name, "", "", reason, "none"), formats.wrapped)
