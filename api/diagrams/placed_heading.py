"""The block above a placed picture: title, one sentence, legend, caution. Imports cards, metrics, placed_cards."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.metrics import measure
from api.diagrams.old_cards import Key, Line, build_sample
from api.diagrams.placed_cards import Card, build_words_card
from api.diagrams.text import TIE, to_markup

#: Points: a row of the legend, the sample before its words, the space behind them.
_KEY_HEIGHT: Final = 18
_SAMPLE: Final = 28
_SAMPLES: Final = {"bar": 8, "box": 18, "line": 22, "dashes": 22}
_BEHIND: Final = 16
_NO_SPACE: Final = 'BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'
_BELOW: Final = 10
_PAGE: Final = re.compile(r"\(page \d+ of \d+\)$")


def build_fixed_heading(title: str, subtitle: str, keys: Sequence[Sequence[Key]], caution: str, width: int) -> Card:
    """Return the heading as the label of a node, exactly `width` points wide.

    A row of the legend that is too long goes on in even columns.
    """
    # the number of a page stays in one piece
    title = _PAGE.sub(lambda found: found[0].replace(" ", TIE), title)
    above = [Line(title, style.TITLE_PT, bold=True, max_lines=None)]
    if subtitle:
        above.append(Line(subtitle, style.TEXT_PT, colour=style.QUIET, max_lines=None))
    below = [Line(caution, max_lines=None)] if caution else []
    rows = [row for group in keys if group for row in _flow(group, width)]
    parts = [_strip(build_words_card(above, width))]
    parts += [_build_row(row, column, width) for row, column in rows]
    height = build_words_card(above, width).height + _KEY_HEIGHT * len(rows)
    if below:
        parts.append(_strip(build_words_card(below, width)))
        height += build_words_card(below, width).height
    body = "".join(f'<TR><TD ALIGN="LEFT">{part}</TD></TR>' for part in parts)
    height += _BELOW
    return Card(
        f'<<TABLE {_NO_SPACE} FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="{height}">{body}'
        f'<TR><TD HEIGHT="{_BELOW}"></TD></TR></TABLE>>',
        width,
        height,
    )


def _strip(card: Card) -> str:
    return card.markup[1:-1]


def _measure_key(key: Key) -> int:
    sample = 0 if key.shape == "none" else _SAMPLE
    return sample + math.ceil(measure(key.words, style.SMALL_PT)) + _BEHIND


def _flow(keys: Sequence[Key], width: int) -> list[tuple[list[Key], int]]:
    """Return the rows of one group of keys, each with the width of its columns; 0: as wide as each is."""
    widths = [_measure_key(key) for key in keys]
    if sum(widths) <= width:
        return [(list(keys), 0)]
    columns = max(1, width // max(widths))
    return [(list(keys[start : start + columns]), width // columns) for start in range(0, len(keys), columns)]


def _build_row(keys: Sequence[Key], column: int, width: int) -> str:
    cells, taken = [], 0
    for key in keys:
        whole = min(column or _measure_key(key), width)
        words = whole if key.shape == "none" else whole - _SAMPLE
        if key.shape != "none":
            size = f'FIXEDSIZE="TRUE" WIDTH="{_SAMPLES[key.shape]}" HEIGHT="{_KEY_HEIGHT - 2}"'
            inner = f"<TABLE {_NO_SPACE} {size}><TR>{build_sample(key)}</TR></TABLE>"
            cells.append(f'<TD FIXEDSIZE="TRUE" WIDTH="{_SAMPLE}" HEIGHT="{_KEY_HEIGHT}" ALIGN="LEFT">{inner}</TD>')
        cells.append(
            f'<TD FIXEDSIZE="TRUE" WIDTH="{words}" HEIGHT="{_KEY_HEIGHT}" ALIGN="LEFT">'
            f'<FONT POINT-SIZE="{style.SMALL_PT}">{to_markup(key.words)}</FONT></TD>'
        )
        taken += whole
    if taken < width:
        cells.append(f'<TD FIXEDSIZE="TRUE" WIDTH="{width - taken}" HEIGHT="1"></TD>')
    return (
        f'<TABLE {_NO_SPACE} FIXEDSIZE="TRUE" WIDTH="{width}" HEIGHT="{_KEY_HEIGHT}"><TR>{"".join(cells)}</TR></TABLE>'
    )
