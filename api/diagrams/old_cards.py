"""The pieces pictures are made of, as HTML-like labels: cards, level rulers, title block with legend.

Imports style and text. Every text goes through `text.to_markup`; colours and numbers are ours.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from api.diagrams import old_style as style
from api.diagrams.text import WRAP_COLUMNS, is_right_to_left, to_markup, wrap

LONGEST_RULER: Final = 9
#: dot spreads spare width evenly over all columns; a filler of many columns takes nearly all of it.
_FILLER_COLUMNS: Final = 30
_GAP: Final = '<TD WIDTH="2" HEIGHT="3" FIXEDSIZE="TRUE"></TD>'
#: Size of a numbered cell, on a ruler and in the legend.
_BOX: Final = 'WIDTH="17" HEIGHT="15" FIXEDSIZE="TRUE"'


@dataclass(frozen=True, slots=True)
class Line:
    """One paragraph of a card, wrapped to `columns`."""

    text: str
    size_pt: float = style.SMALL_PT
    bold: bool = False
    colour: str = style.INK
    columns: int = WRAP_COLUMNS
    max_lines: int | None = 5


def build_name(text: str, columns: int = WRAP_COLUMNS) -> Line:
    """Return the line that names a card."""
    return Line(text, style.NAME_PT, bold=True, columns=columns)


def build_note(text: str, columns: int = 32) -> Line:
    """Return a lesser line."""
    return Line(text, colour=style.QUIET, columns=columns)


def build_line_markup(line: Line) -> str:
    """Return a line as markup, aligned to the side its script begins on."""
    parts = [to_markup(part) or "&#160;" for part in wrap(line.text, line.columns, line.max_lines)]
    side = "RIGHT" if is_right_to_left(line.text) else "LEFT"
    body = f'<BR ALIGN="{side}"/>'.join(parts)
    if len(parts) > 1:
        body += f'<BR ALIGN="{side}"/>'
    if line.bold:
        body = f"<B>{body}</B>"
    return f'<FONT POINT-SIZE="{line.size_pt:g}" COLOR="{line.colour}">{body}</FONT>'


def build_line_row(line: Line) -> str:
    """Return a line as a table row."""
    side = "RIGHT" if is_right_to_left(line.text) else "LEFT"
    return f'<TR><TD ALIGN="{side}" BALIGN="{side}">{build_line_markup(line)}</TD></TR>'


def _build_row(content: str) -> str:
    return f'<TR><TD ALIGN="LEFT">{content}</TD></TR>'


@dataclass(frozen=True, slots=True)
class Ruler:
    """A requirement's levels as numbered cells 1..ranks, darkest up to the entry level, with words beside them.

    A scale longer than nine levels has no cells, only the words: the numbers stand below in words anyway.
    """

    ranks: int
    full: int
    entry: int
    unsupervised: int
    words: str = ""

    def build_cells(self) -> list[str]:
        """Return the numbered cells as markup, each of a fixed size."""
        return [self._build_cell(rank) for rank in range(1, self.ranks + 1 if self.ranks <= LONGEST_RULER else 1)]

    def _build_cell(self, rank: int) -> str:
        ground, ink = self._get_colours(rank)
        number = f'<FONT POINT-SIZE="{style.SMALL_PT}" COLOR="{ink}">{rank}</FONT>'
        return f'<TD BORDER="1" COLOR="{style.LINE}" BGCOLOR="{ground}" {_BOX}>{number}</TD>'

    def _get_colours(self, rank: int) -> tuple[str, str]:
        if rank > self.full:
            return style.RULER_NONE, style.QUIET
        if rank <= self.entry:
            return style.RULER_ENTRY, style.WHITE
        if rank <= self.unsupervised:
            return style.RULER_UNSUPERVISED, style.BLACK
        return style.RULER_FULL, style.BLACK


def _build_strip(cells: str) -> str:
    filler = f'<TD COLSPAN="{_FILLER_COLUMNS}"></TD>'
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR>{cells}{filler}</TR></TABLE>'


def format_levels(full: int, entry: int, unsupervised: int) -> str:
    """Return the three levels of a requirement in words, equal ones together.

    Examples
    --------
    >>> format_levels(4, 2, 3)
    'entry 2, unsupervised 3, full 4'
    >>> format_levels(3, 3, 3)
    'level 3 from the first day'
    """
    if full == entry == unsupervised:
        return f"level {full} from the first day"
    if entry == unsupervised:
        return f"entry and unsupervised {entry}, full {full}"
    if unsupervised == full:
        return f"entry {entry}, unsupervised and full {full}"
    return f"entry {entry}, unsupervised {unsupervised}, full {full}"


def build_words(lines: Sequence[str]) -> str:
    """Return short words for a line of the picture, one below the other, as a label."""
    return f"<{'<BR/>'.join(to_markup(line) for line in lines)}>"


@dataclass(frozen=True, slots=True)
class Key:
    """One entry of the legend: what a mark stands for, in words."""

    colour: str
    words: str
    shape: Literal["bar", "box", "line", "dashes", "none"] = "bar"
    ink: str = style.BLACK
    sample: str = ""


def build_sample(key: Key) -> str:
    """Return the sample of a legend's entry, as a table cell."""
    if key.shape in ("line", "dashes"):
        # thin cells in the line's own colour: one long, or three short; pushed down to the middle of the words
        count, width = (1, 22) if key.shape == "line" else (3, 6)
        dash = f'<TD BGCOLOR="{key.colour}" WIDTH="{width}" HEIGHT="3" FIXEDSIZE="TRUE"></TD>'
        above = f'<TR><TD COLSPAN="{2 * count - 1}" WIDTH="22" HEIGHT="7" FIXEDSIZE="TRUE"></TD></TR>'
        table = '<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">'
        return f"<TD>{table}{above}<TR>{_GAP.join([dash] * count)}</TR></TABLE></TD>"
    if key.shape == "box":
        sample = to_markup(key.sample) or "&#160;"
        return (
            f'<TD BORDER="1" COLOR="{style.LINE}" BGCOLOR="{key.colour}" {_BOX}>'
            f'<FONT POINT-SIZE="{style.SMALL_PT}" COLOR="{key.ink}">{sample}</FONT></TD>'
        )
    return f'<TD BGCOLOR="{key.colour}" WIDTH="8" HEIGHT="12" FIXEDSIZE="TRUE"></TD>'


def build_legend(rows: Iterable[Sequence[Key]]) -> str:
    """Return the legend as markup, a table row for each row of keys that is not empty."""
    return "".join(_build_row(_build_strip("".join(map(_build_entry, row)))) for row in rows if row)


def _build_entry(key: Key) -> str:
    words = f'<FONT POINT-SIZE="{style.SMALL_PT}">{to_markup(key.words)}</FONT>'
    if key.shape == "none":
        return f'<TD ALIGN="LEFT">{words}</TD>'
    return f'{build_sample(key)}<TD WIDTH="5"></TD><TD ALIGN="LEFT">{words}</TD><TD WIDTH="14"></TD>'


def build_heading(title: str, subtitle: str, caution: str, keys: Iterable[Sequence[Key]], columns: int = 92) -> str:
    """Return the block above a picture: title, one sentence, legend, caution."""
    lines = (
        Line(title, style.TITLE_PT, bold=True, columns=columns * 2 // 3, max_lines=None),
        Line(subtitle, style.TEXT_PT, colour=style.QUIET, columns=columns, max_lines=None),
    )
    rows = "".join(build_line_row(line) for line in lines if line.text) + build_legend(keys)
    if caution:
        rows += build_line_row(Line(caution, columns=columns + 8, max_lines=None))
    return (
        f'<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="3">{rows}'
        '<TR><TD HEIGHT="10"></TD></TR></TABLE>>'
    )


def build_ruler_keys() -> list[Key]:
    """Return the legend of a requirement's ruler."""
    return [
        Key(style.RULER_ENTRY, "needed on the first day (entry)", "box", style.WHITE, "1"),
        Key(style.RULER_UNSUPERVISED, "to work unsupervised", "box", style.BLACK, "2"),
        Key(style.RULER_FULL, "full level", "box", style.BLACK, "3"),
        Key(style.RULER_NONE, "not asked for", "box", style.QUIET, "4"),
    ]
