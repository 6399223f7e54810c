"""A sheet as text for a terminal: at least 100 columns wide, no column narrower than a word. The one door to rich.

Texts of the data are printed as they are, never as markup.
"""

from __future__ import annotations

import sys
from typing import Final

from rich import box
from rich.cells import cell_len
from rich.console import Console, JustifyMethod
from rich.table import Table as RichTable
from rich.text import Text

from api.desk.plain_cells import DASH, format_cell, format_number
from api.desk.sheet import Cell, Column, Next, Note, Quantity, Sheet, State, Steps, Table

__all__ = ["make_console", "print_sheet"]

#: Where there is no window.
WIDTH: Final = 100
#: Longer words are broken.
_LONGEST_WORD: Final = 28
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


def make_console() -> Console:
    """Return the console for answers: as wide as the window, `WIDTH` columns where there is none."""
    return Console(width=None if sys.stdout.isatty() else WIDTH, highlight=False, markup=False, emoji=False)


def print_sheet(sheet: Sheet, revision: int, console: Console | None = None) -> None:
    """Print a sheet."""
    console = console or make_console()
    console.print(Text(sheet.title, style="bold"))
    console.print(Text(sheet.lead))
    for fact in sheet.facts:
        console.print(Text(f"{fact.name}: {format_cell(fact.value)}"))
    for part in sheet.parts:
        if isinstance(part, Note):
            console.print()
            console.print(Text(part.text))
        elif isinstance(part, Table):
            _print_table(part, console)
        elif isinstance(part, Steps):
            _print_steps(part, console)
    for remark in sheet.remarks:
        console.print(Text(f"Remark: {remark}"))
    for ask in sheet.next:
        console.print(Text(f"{ask.words}: {_format_command(ask)}"))
    console.print(Text(f"Revision {revision}."))
    for caution in sheet.cautions:
        console.print(Text(f"Note: {caution}", style="dim"))


def _format_command(ask: Next) -> str:
    options = [f"--{name.replace('_', '-')} {text}" for name, text in ask.asked.items()]
    return " ".join(filter(None, ("newel", ask.question, ask.subject, *options)))


def _print_table(part: Table, console: Console) -> None:
    console.print()
    if not part.rows:
        console.print(Text(part.empty))
        return
    if part.title:
        console.print(Text(part.title))
    widths, gap = _fit(part, console.width)  # the box itself sets one blank
    table = RichTable(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, padding=(0, gap - 1, 0, 0))
    for column, width in zip(part.columns, widths, strict=True):
        justify: JustifyMethod = "right" if column.is_number else "left"
        table.add_column(Text(_head(column)), justify=justify, overflow="fold", width=width)
    for row in part.rows:
        table.add_row(*(_format(cell, column) for cell, column in zip(row, part.columns, strict=True)))
    console.print(table)
    if part.note:
        console.print(Text(part.note))


def _head(column: Column) -> str:
    return f"{column.name} ({column.unit})" if column.unit else column.name


def _fit(part: Table, width: int) -> tuple[list[int], int]:
    """Return the widths of a table's columns and the blanks between them.

    A column of numbers is as wide as its longest word; the others give way, the widest first, down to theirs.
    """
    texts = [[_format(row[n], column).plain for row in part.rows] for n, column in enumerate(part.columns)]
    heads = [_head(column) for column in part.columns]
    least = [
        min(max((cell_len(word) for text in (*column, head) for word in text.split()), default=1), _LONGEST_WORD)
        for column, head in zip(texts, heads, strict=True)
    ]
    widths = [
        low if column.is_number else max(cell_len(text) for text in (*cells, head))
        for low, column, cells, head in zip(least, part.columns, texts, heads, strict=True)
    ]
    gap = 2 if sum(least) + 2 * (len(least) - 1) <= width else 1
    room = max(width - gap * (len(widths) - 1), sum(least))
    while sum(widths) > room:
        widest = max(range(len(widths)), key=lambda n: (widths[n] > least[n], widths[n]))
        widths[widest] -= 1
    return widths, gap


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
