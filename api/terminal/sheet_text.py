"""A sheet as text for a terminal: no line longer than it is wide, no column narrower than a word. The door to rich.

Texts of the data are printed as they are, never as markup.
"""

from __future__ import annotations

import io
import re
import shlex
from typing import Any, Final, cast

from rich import box
from rich.console import Console, JustifyMethod
from rich.table import Table as RichTable
from rich.text import Text

from api.desk.plain_cells import DASH, format_cell, format_number
from api.desk.sheet import Cell, Column, Next, Note, Quantity, Sheet, State, Steps, Strips, Table
from api.terminal.call import Call
from api.terminal.table_widths import TextColumn, lay_out

#: Okabe-Ito colours, each beside a word that says the same.
COLOURS: Final = {
    "short": "#d55e00",
    "sole-holder": "#e69f00",
    "no-reserve": "#cc79a7",
    "below-target": "#56b4e9",
    "covered": "#009e73",
    "lapsed": "#d55e00",
    "review-due": "#e69f00",
    "not-assessed": "#56b4e9",
}


def render_sheet(
    sheet: Sheet, revision: int, *, width: int = 100, colours: str | None = None, is_plain: bool = False
) -> str:
    """Return a sheet as text of `width` columns; `revision` is that of the data.

    `colours` is which of rich's colour systems the terminal has, None for neither colours nor styles; `is_plain`:
    styles come without colours.
    """
    # everything is said, so that nothing depends on the surroundings of the process: a server prints for others
    console = Console(
        file=io.StringIO(),
        width=width,
        height=25,
        force_terminal=colours is not None,
        color_system=cast("Any", colours),
        no_color=is_plain,
        legacy_windows=False,
        highlight=False,
        markup=False,
        emoji=False,
    )
    _print(sheet, revision, console)
    text = cast(io.StringIO, console.file).getvalue()
    # the last column is filled with blanks, which nobody sees, and which are in the way of whoever copies it
    return re.sub(r" +$", "", text, flags=re.MULTILINE)


def print_sheet(sheet: Sheet, revision: int, call: Call) -> bytes:
    """Return a sheet as the text that a call wants."""
    return render_sheet(sheet, revision, width=call.width, colours=call.colours, is_plain=call.is_plain).encode()


def _print(sheet: Sheet, revision: int, console: Console) -> None:
    console.print(Text(sheet.title, style="bold"))
    console.print(Text(sheet.lead))
    for fact in sheet.facts:
        console.print(Text(f"{fact.name}: {format_cell(fact.value)}"))
    for part in sheet.parts:
        if isinstance(part, Note):
            console.print()
            console.print(Text(part.text))
        elif isinstance(part, Table | Strips):
            _print_table(part if isinstance(part, Table) else part.table, console)
        elif isinstance(part, Steps):
            _print_steps(part, console)
    if sheet.parts:
        console.print()
    for remark in sheet.remarks:
        console.print(Text(f"Remark: {remark}"))
    for ask in sheet.next:
        console.print(Text(f"{ask.words}: {_format_command(ask)}"))
    console.print(Text(f"Revision {revision}."))
    for caution in sheet.cautions:
        console.print(Text(f"Note: {caution}", style="dim"))


def _format_command(ask: Next) -> str:
    options = [word for name, text in ask.asked.items() for word in (f"--{name.replace('_', '-')}", text)]
    return shlex.join(filter(None, ("newel", ask.question, ask.subject, *options)))


def _print_table(part: Table, console: Console) -> None:
    console.print()
    if not part.rows:
        console.print(Text(part.empty))
        return
    cells = [[_format(row[n], column) for row in part.rows] for n, column in enumerate(part.columns)]
    columns = [
        TextColumn(column.head, [text.plain for text in texts], column.is_number)
        for column, texts in zip(part.columns, cells, strict=True)
    ]
    for number, block in enumerate(lay_out(columns, console.width)):
        if number:
            console.print()
        title = f"{part.title or 'The same'}, further columns" if number else part.title
        if title:
            console.print(Text(title))
        # the box itself sets one blank
        table = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, block.gap - 1, 0, 0))
        for n, width in zip(block.columns, block.widths, strict=True):
            justify: JustifyMethod = "right" if columns[n].is_number else "left"
            table.add_column(Text(columns[n].head), justify=justify, overflow="fold", width=width)
        for row in zip(*(cells[n] for n in block.columns), strict=True):
            table.add_row(*row)
        console.print(table)
    if part.note:
        console.print(Text(part.note))


def _format(cell: Cell, column: Column) -> Text:
    if isinstance(cell, Quantity) and column.unit and cell.value is not None:
        return Text(format_number(cell))
    if isinstance(cell, State):
        return Text(cell.word, style=COLOURS.get(cell.code, ""))
    return Text(format_cell(cell))


def _print_steps(part: Steps, console: Console) -> None:
    console.print()
    if part.title:
        console.print(Text(part.title))
    if not part.rows:
        console.print(Text(part.empty or DASH))
    for number, row in enumerate(part.rows, start=1):
        console.print(Text(f"{number}. {' '.join(map(format_cell, row))}"))
