"""How a table fits a terminal: how wide each column is, and where a table goes on below itself.

A column is never narrower than its longest word. What then does not fit stands below, beside the first columns again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from rich.cells import cell_len

#: Longer words are broken.
_LONGEST_WORD: Final = 28
#: Lines that the heading of a column of numbers may take, so that the column stays narrow.
_HEAD_LINES: Final = 3


@dataclass(frozen=True, slots=True)
class TextColumn:
    """A column as texts; one of numbers has its heading in several lines."""

    head: str
    texts: Sequence[str]
    is_number: bool = False

    @property
    def least(self) -> int:
        """Return the width of the longest word."""
        words = (word for text in (*self.texts, self.head) for word in text.split())
        return min(max(map(cell_len, words), default=1), _LONGEST_WORD)

    @property
    def most(self) -> int:
        """Return the width beyond which nothing is won."""
        longest = max(map(cell_len, self.texts), default=1)
        head = cell_len(self.head)
        return max(self.least, longest, -(-head // _HEAD_LINES) if self.is_number else head)


@dataclass(frozen=True, slots=True)
class Block:
    """Columns that stand beside each other: their numbers, their widths, and the blanks between two of them."""

    columns: tuple[int, ...]
    widths: tuple[int, ...]
    gap: int


def lay_out(columns: Sequence[TextColumn], width: int) -> list[Block]:
    """Return the blocks in which a table is printed, one below the other, each at most `width` wide.

    Where one is not enough, each begins with as few of the first columns as tell the rows apart.

    Examples
    --------
    >>> columns = [TextColumn("who", ["Ann", "Bo"]), TextColumn("learns", ["pumps", "valves"])]
    >>> lay_out(columns, 20)
    [Block(columns=(0, 1), widths=(3, 6), gap=2)]
    >>> [block.columns for block in lay_out([*columns, TextColumn("teaches", ["", ""])], 12)]
    [(0, 1), (0, 2)]
    """
    least = [column.least for column in columns]
    everything = range(len(columns))
    if _add_up([least[n] for n in everything], 1) <= width:
        return [_fit(columns, least, everything, width)]
    n_key = _count_key(columns, least, width)
    blocks: list[list[int]] = [[]]
    for number in everything[n_key:]:
        together = [*everything[:n_key], *blocks[-1], number]
        if blocks[-1] and _add_up([least[n] for n in together], 1) > width:
            blocks.append([])
        blocks[-1].append(number)
    return [_fit(columns, least, [*everything[:n_key], *block], width) for block in blocks]


def _add_up(widths: Sequence[int], gap: int) -> int:
    return sum(widths) + gap * (len(widths) - 1)


def _count_key(columns: Sequence[TextColumn], least: Sequence[int], width: int) -> int:
    """Return how many of the first columns tell the rows apart; one, where that takes more than half the width."""
    for number in range(1, len(columns)):
        if _add_up(least[:number], 1) > width // 2:
            return 1
        rows = list(zip(*(column.texts for column in columns[:number]), strict=True))
        if len(set(rows)) == len(rows):
            return number
    return 1


def _fit(columns: Sequence[TextColumn], least: Sequence[int], numbers: Sequence[int], width: int) -> Block:
    """Return columns as wide as they would like to be, made narrower until all fit where it costs the fewest lines."""
    low = [least[n] for n in numbers]
    most = [columns[n].most for n in numbers]
    widths = list(most)
    gap = 2 if _add_up(low, 2) <= width else 1
    for _ in range(_add_up(widths, gap) - width):
        wide = [n for n in range(len(widths)) if widths[n] > low[n]]
        if not wide:
            break  # a window narrower than a word or two
        # lines of its longest cell, were it narrower by one
        widths[min(wide, key=lambda n: (-(-most[n] // (widths[n] - 1)), -widths[n]))] -= 1
    return Block(tuple(numbers), tuple(widths), gap)
