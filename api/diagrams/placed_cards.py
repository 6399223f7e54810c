"""Cards whose size is known before anything is drawn. Imports cards, metrics and style.

Every row has a fixed size, worked out from the widths of the letters: a card is exactly as large as the layout says,
whatever font the machine has.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from api.diagrams import old_style as style
from api.diagrams.metrics import LINE_HEIGHT, measure, wrap_to_width
from api.diagrams.old_cards import Line, Ruler, build_line_markup
from api.diagrams.text import is_right_to_left, to_markup

#: Points: the coloured bar, the bar that holds a number, free space at the sides of the text, above and below it.
_BAR: Final = 7
_NUMBER_BAR: Final = 24
_SIDE: Final = 5
_ABOVE: Final = 4
_ROW_GAP: Final = 2
#: What a ruler takes: its row, and one of its cells.
_RULER_HEIGHT: Final = 18
_RULER_CELL: Final = 17
_NO_SPACE: Final = 'BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'


class Card(NamedTuple):
    """A label of a node, and its size in points."""

    markup: str
    width: int
    height: int


def build_fixed_card(
    rows: Sequence[Line | Ruler],
    width: int,
    bar: str,
    *,
    border: str = style.LINE,
    border_width: float = 1,
    ground: str = style.WHITE,
    is_dashed: bool = False,
    mark: str = "",
    height: int = 0,
) -> Card:
    """Return a card of this width, as high as its rows are (or `height`, where that is more).

    Parameters
    ----------
    rows : sequence of Line or Ruler
        A line is wrapped to the card, whatever its `columns`.
    width : int
        Points, the border included.
    bar : str
        Colour at the left; none for a card without a bar.
    mark : str
        A short word in the bar, such as the number of a step.
    height : int
        The least, in points.
    """
    edge = (_NUMBER_BAR if mark else _BAR) if bar else 0
    pen = 2 * math.ceil(border_width)
    inner = width - edge - 2 * _SIDE - pen
    built = [_build_row(row, inner) for row in rows]
    content = sum(taken for _, taken in built)
    tall = max(content + 2 * _ABOVE, height)
    markup = "".join(row for row, _ in built)
    table = f'<TABLE {_NO_SPACE} FIXEDSIZE="TRUE" WIDTH="{inner}" HEIGHT="{content}">{markup}</TABLE>'
    beside = inner + 2 * _SIDE
    cells = _build_bar(bar, edge, tall - pen, mark)
    cells += f'<TD FIXEDSIZE="TRUE" WIDTH="{beside}" HEIGHT="{tall - pen}">{table}</TD>'
    dashes = ' STYLE="DASHED"' if is_dashed else ""
    return Card(
        f'<<TABLE BORDER="{border_width:g}" COLOR="{border}" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'
        f' BGCOLOR="{ground}"{dashes} FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="{tall}"><TR>{cells}</TR></TABLE>>',
        width,
        tall,
    )


def build_words_card(rows: Sequence[Line], width: int) -> Card:
    """Return lines without border or ground: a heading."""
    built = [_build_row(row, width) for row in rows]
    height = sum(taken for _, taken in built)
    markup = "".join(row for row, _ in built)
    table = f'<<TABLE {_NO_SPACE} FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="{height}">{markup}</TABLE>>'
    return Card(table, width, height)


def measure_rows(
    rows: Sequence[Line | Ruler], width: int, *, has_mark: bool = False, has_bar: bool = True, border_width: float = 1
) -> int:
    """Return the height of a card with these rows, in points, without building it."""
    edge = (_NUMBER_BAR if has_mark else _BAR) if has_bar else 0
    inner = width - edge - 2 * _SIDE - 2 * math.ceil(border_width)
    return 2 * _ABOVE + sum(_measure_row(row, inner) for row in rows)


def get_natural_width(rows: Sequence[Line], most: int) -> int:
    """Return the width at which no line of a card breaks, at most `most` points."""
    longest = max((measure(row.text, row.size_pt, is_bold=row.bold) for row in rows), default=0)
    return min(most, math.ceil(longest) + _BAR + 2 * _SIDE + 3)


def _build_bar(bar: str, edge: int, height: int, mark: str) -> str:
    if not bar:
        return ""
    word = f'<FONT POINT-SIZE="{style.NAME_PT}" COLOR="{style.BLACK}"><B>{to_markup(mark)}</B></FONT>' if mark else ""
    return f'<TD WIDTH="{edge}" HEIGHT="{height}" FIXEDSIZE="TRUE" BGCOLOR="{bar}">{word}</TD>'


def _measure_row(row: Line | Ruler, width: int) -> int:
    if isinstance(row, Ruler):
        return _RULER_HEIGHT
    lines = len(wrap_to_width(row.text, width, row.size_pt, row.bold, row.max_lines))
    return math.ceil(lines * row.size_pt * LINE_HEIGHT + _ROW_GAP)


def _build_row(row: Line | Ruler, width: int) -> tuple[str, int]:
    height = _measure_row(row, width)
    body, side = _build_ruler(row, width) if isinstance(row, Ruler) else _build_line(row, width)
    return (
        f'<TR><TD FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="{height}" ALIGN="{side}" BALIGN="{side}">{body}</TD></TR>'
    ), height


def _build_line(line: Line, width: int) -> tuple[str, str]:
    side = "RIGHT" if is_right_to_left(line.text) else "LEFT"
    wrapped = wrap_to_width(line.text, width, line.size_pt, line.bold, line.max_lines)
    parts = [to_markup(part) or "&#160;" for part in wrapped]
    body = f'<BR ALIGN="{side}"/>'.join(parts) + (f'<BR ALIGN="{side}"/>' if len(parts) > 1 else "")
    if line.bold:
        body = f"<B>{body}</B>"
    return f'<FONT POINT-SIZE="{line.size_pt:g}" COLOR="{line.colour}">{body}</FONT>', side


def _build_ruler(ruler: Ruler, width: int) -> tuple[str, str]:
    cells = ruler.build_cells()
    rest = width - _RULER_CELL * len(cells)
    words = build_line_markup(Line(ruler.words, columns=60)) if ruler.words else ""
    cells.append('<TD FIXEDSIZE="TRUE" WIDTH="5" HEIGHT="1"></TD>')
    cells.append(f'<TD FIXEDSIZE="TRUE" WIDTH="{rest - 5}" HEIGHT="15" ALIGN="LEFT">{words}</TD>')
    return f'<TABLE {_NO_SPACE} FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="15"><TR>{"".join(cells)}</TR></TABLE>', "LEFT"
