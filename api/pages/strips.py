"""Strips of states over days as HTML: a row for each thing, a cell for each piece, as wide as its days.

Without styles of its own: a cell spans as many columns as it has days. A piece too narrow for its word has it for
readers alone; all of them stand in the table below.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from markupsafe import Markup

from api.desk.sheet import Piece, Strips
from api.pages.cells import say_month

__all__ = ["write_strips"]

#: Letters that fit beside each other into a strip as wide as a page.
_LETTERS: Final = 110
#: A cell spans 1000 columns at the most (HTML Standard, 4.9.11).
_MOST_COLUMNS: Final = 900
_DAY: Final = dt.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class _Scale:
    """Days as columns: of a long stretch several days are one."""

    first: dt.date
    n_days: int

    @property
    def _unit(self) -> int:
        return -(-self.n_days // _MOST_COLUMNS)

    @property
    def columns(self) -> int:
        """How many there are."""
        return -(-self.n_days // self._unit)

    def count(self, first: dt.date, last: dt.date) -> int:
        """Return how many columns the days from one to another take; they begin where those before them end."""
        begin, end = (first - self.first).days, (last - self.first).days + 1
        return -(-end // self._unit) - -(-begin // self._unit)

    def fits(self, columns: int, word: str) -> bool:
        """Whether a word fits into so many columns."""
        return columns * _LETTERS >= (len(word) + 2) * self.columns


def write_strips(strips: Strips) -> Markup:
    """Return the strips; nothing where there are none."""
    if not strips.rows:
        return Markup("")
    pieces = strips.rows[0][1]
    first = pieces[0].days.first
    scale = _Scale(first, ((pieces[-1].days.last or first) - first).days + 1)
    head = Markup("").join(_iterate_months(scale))
    body = Markup("").join(_write_row(name, of_it, scale) for name, of_it in strips.rows)
    return Markup(
        '<div class="grid" tabindex="0" role="region" aria-label="{}"><table class="strips"><caption class="unseen">{}'
        '</caption><colgroup><col class="name"><col span="{}" width="5"></colgroup><thead><tr><th scope="col">{}</th>{}'
        "</tr></thead><tbody>{}</tbody></table></div>"
    ).format(strips.title, strips.title, scale.columns, strips.what, head, body)


def _iterate_months(scale: _Scale) -> Iterator[Markup]:
    days = (scale.first + n * _DAY for n in range(scale.n_days))
    for _, group in groupby(days, key=lambda day: (day.year, day.month)):
        of_month = list(group)
        columns = scale.count(of_month[0], of_month[-1])
        words = say_month(of_month[0]).partition(" ")[2]
        if columns:
            yield Markup('<th scope="col" colspan="{}">{}</th>').format(
                columns, words if scale.fits(columns, words) else Markup('<span class="unseen">{}</span>').format(words)
            )


def _write_row(name: str, pieces: tuple[Piece, ...], scale: _Scale) -> Markup:
    cells = Markup("").join(_write_piece(piece, scale) for piece in pieces)
    return Markup('<tr><th scope="row">{}</th>{}</tr>').format(name, cells)


def _write_piece(piece: Piece, scale: _Scale) -> Markup:
    last, word = piece.days.last or piece.days.first, piece.state.word
    columns = scale.count(piece.days.first, last)
    if not columns:
        return Markup("")
    about = f"{say_month(piece.days.first)} to {say_month(last)}: {word}"
    unseen = Markup("") if scale.fits(columns, word) else Markup(' class="unseen"')
    return Markup('<td colspan="{}" class="{}" title="{}"><span{}>{}</span></td>').format(
        columns, piece.state.code, about, unseen, word
    )
