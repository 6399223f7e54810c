"""The pieces of a picture as HTML-like labels of Graphviz: words, cells, rows, tables, cards, columns, lists, legends.

Every piece is markup, a string; cells are made of words, rows of cells, tables of rows:

>>> print(table(row(cell(words("Pump")))))
<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="2" COLOR="#767676" BGCOLOR="#FFFFFF">\
<TR><TD ALIGN="LEFT" BALIGN="LEFT">Pump</TD></TR></TABLE>

Graphviz measures and places everything: there is no width of text and no coordinate here. The only sizes are the
heights of bars and gaps, and fixed cells whose place is their meaning (ladders, calendars). STYLE="DASHED" on a table
or a cell makes Graphviz 2.43 crash: dashes are for edges only.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.text import clean, is_right_to_left, to_markup, wrap

#: Characters in a line of a card's name.
NAME_COLUMNS: Final = 30
_SPACES: Final = "&#160;" * 4


def words(
    text: str,
    *,
    size: int = style.TEXT_PT,
    colour: str = style.INK,
    bold: bool = False,
    columns: int | None = None,
    ends_line: bool = False,
) -> str:
    """Return user text as markup, cleaned and escaped; empty for an empty text.

    `columns`: characters in a line, None for one line; wrapping is only taste, a cell is as wide as its words.
    `ends_line`: break after the last line too, so that more words can follow below in the same cell.

    Examples
    --------
    >>> words("a < b", bold=True)
    '<B>a &lt; b</B>'
    >>> words("one two", columns=3)
    'one<BR ALIGN="LEFT"/>two<BR ALIGN="LEFT"/>'
    >>> words(" ")
    ''
    """
    if not clean(text):
        return ""
    lines = [clean(text)] if columns is None else wrap(text, columns)
    end = f'<BR ALIGN="{"RIGHT" if is_right_to_left(text) else "LEFT"}"/>'
    body = to_markup(lines[0]) if len(lines) == 1 else "".join(to_markup(line) + end for line in lines)
    body = f"<B>{body}</B>" if bold else body
    font = f' COLOR="{colour}"' * (colour != style.INK) + f' POINT-SIZE="{size}"' * (size != style.TEXT_PT)
    body = f"<FONT{font}>{body}</FONT>" if font else body
    return body + end if ends_line and len(lines) == 1 else body


def small(text: str, *, columns: int | None = None, bold: bool = False, colour: str = style.QUIET) -> str:
    """Return lesser words: small and quiet. See `words`."""
    return words(text, size=style.SMALL_PT, colour=colour, columns=columns, bold=bold)


def count_lines(text: str, columns: int) -> int:
    """Return how many lines wrapped words take: for paging, never for a place."""
    return len(wrap(text, columns))


def cell(content: str = "", *, link: str = "", tooltip: str = "", **more: str | int) -> str:
    """Return one cell of a table: markup (`words`, or a table), with further attributes of Graphviz' TD.

    A link without a tooltip is a ValueError: dot would write "<TABLE>" there.
    """
    if link and not clean(tooltip):
        raise ValueError("A linked cell needs a tooltip.")
    attributes: dict[str, str | int] = {"align": "LEFT", "balign": "LEFT", **more}
    if link:
        attributes["href"] = link
    if tooltip:
        attributes["title"] = to_markup(tooltip)
    written = "".join(f' {name.upper()}="{value}"' for name, value in attributes.items())
    return f"<TD{written}>{content}</TD>"


def row(*cells: str) -> str:
    """Return a row of cells."""
    return f"<TR>{''.join(cells)}</TR>"


def line(content: str, *, link: str = "", tooltip: str = "", **more: str | int) -> str:
    """Return a row of one cell."""
    return row(cell(content, link=link, tooltip=tooltip, **more))


def bar(colour: str, span: int = 1) -> str:
    """Return the row that gives a card its colour: a bar 4 points high over `span` columns."""
    return line("", bgcolor=colour, colspan=span, height=4, cellpadding=0)


def gap(height: int = 8, span: int = 1) -> str:
    """Return an empty row, `height` points high."""
    return line("", colspan=span, height=height, cellpadding=0)


def table(
    *rows: str, border: int = 0, colour: str = style.LINE, padding: int = 2, spacing: int = 0, align: str = "",
    ground: str = style.WHITE,
) -> str:  # fmt: skip
    """Return rows as a table: of `border` points in a colour, cells with `padding` points around their content."""
    placed = f' ALIGN="{align}"' if align else ""
    return (
        f'<TABLE{placed} BORDER="{border}" CELLBORDER="0" CELLSPACING="{spacing}" CELLPADDING="{padding}"'
        f' COLOR="{colour}" BGCOLOR="{ground}">{"".join(rows)}</TABLE>'
    )


def card(
    colour: str, name: str, *rows: str, border: int = 1, span: int = 1, is_tinted: bool = False,
    columns: int = NAME_COLUMNS,
) -> str:  # fmt: skip
    """Return a card: a bar of its colour, its name in bold, rows of `span` columns.

    What the picture is about has a `border` of 2 points, and its name on a tint.
    """
    ground: dict[str, str] = {"bgcolor": style.mix(colour)} if is_tinted else {}
    named = line(words(name, bold=True, columns=columns), colspan=span, cellpadding=4, **ground)
    return table(bar(colour, span), named, *rows, border=border, colour=colour, padding=3)


class Entry(NamedTuple):
    """A card in a column that is one node: its port, its markup, where it leads."""

    port: str
    markup: str
    tooltip: str
    link: str = ""


def column(entries: Sequence[Entry]) -> str:
    """Return cards below each other as one table, so that they stay in this order; edges meet their ports."""
    rows = [line(e.markup, port=e.port, cellpadding=0, link=e.link, tooltip=e.tooltip) for e in entries]
    return table(gap().join(rows), padding=0)


def listing(headers: Sequence[str], rows: Sequence[Sequence[str]], *, numbers: Sequence[int] = ()) -> str:
    """Return a list of the rest: a quiet header row, then rows; nothing without rows.

    Each cell is markup of `words`, or of `cell` where it needs more. Columns of `numbers` are centred.
    """
    if not rows:
        return ""

    def place(position: int, content: str) -> str:
        if content.startswith("<TD"):
            return content
        return cell(content, align="CENTER" if position in numbers else "LEFT")

    body = [row(*(place(position, content) for position, content in enumerate(line))) for line in rows]
    head = row(*(place(position, small(header)) for position, header in enumerate(headers)))
    return table(head, *body, border=1, colour=style.HAIR, padding=3)


def mark(colour: str) -> str:
    """Return the sign of a colour, to stand before the word that says what it means."""
    return f'<FONT COLOR="{colour}">&#9632;</FONT>&#160;'


def state(word: str, colour: str) -> str:
    """Return a state: the sign of its colour, and the word."""
    return mark(colour) + words(word)


def list_states(states: Collection[str]) -> list[tuple[str, str]]:
    """Return the keys of a legend for the states of needs that are there, the worst first."""
    return [(style.STATES[name], word) for name, word in style.STATE_WORDS.items() if name in states]


def legend(keys: Sequence[tuple[str, str]], columns: int = style.NOTE_COLUMNS) -> str:
    """Return the legend: colours and what they mean, as many beside each other as `columns` characters hold."""
    lines: list[list[str]] = [[]]
    taken = 0
    for colour, meaning in keys:
        if lines[-1] and taken + len(meaning) + 6 > columns:
            lines.append([])
            taken = 0
        taken += len(meaning) + 6
        lines[-1].append(mark(colour) + small(meaning))
    return "".join(_SPACES.join(line) + '<BR ALIGN="LEFT"/>' for line in lines if line)
