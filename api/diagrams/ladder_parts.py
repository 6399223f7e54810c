"""What a ladder is made of: cards and rows, and the space between them. Imports placed_cards and style."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.placed_cards import Card

#: Points: before a card for the words on its step, behind a card for lines that turn off, between rows, lanes, sides.
APPROACH: Final = 44
TURN: Final = 14
ROW_GAP: Final = 12
LANE_SIDE: Final = 4
LANE_GAP: Final = 4
#: Points from a card to the upright beside it.
BESIDE: Final = 7


@dataclass(slots=True, eq=False)
class Rung:
    """One card: a role moved into at a time, `parent` the one before it. None as time: not known, after all others."""

    name: str
    lane: str
    time: float | None
    card: Card
    parent: Rung | None
    mark: style.Mark
    link: str = ""
    tooltip: str = ""
    words: str = ""
    step_tooltip: str = ""
    x: float = 0
    y: float = 0
    row: int = 0
    is_foremost: bool = False

    @property
    def right(self) -> float:
        """The right edge."""
        return self.x + self.card.width

    @property
    def middle(self) -> float:
        """Where lines enter and leave."""
        return self.y + self.card.height / 2


@dataclass(slots=True)
class Row:
    """Cards side by side, and the line that leads to each of them."""

    lane: str
    top: float = 0
    height: float = 0
    rungs: list[Rung] = field(default_factory=list)

    @property
    def bottom(self) -> float:
        """The lower edge."""
        return self.top + self.height

    def is_free(self, new: Rung) -> bool:
        """Whether a card and the level line to it, from its parent on, fit between the others."""
        start, end = get_run_start(new), new.right + TURN
        return all(
            end <= get_run_start(rung) or start >= rung.right + (0 if rung is new.parent else TURN)
            for rung in self.rungs
        )


def get_run_start(rung: Rung) -> float:
    """Return where the level line to a card begins: at its parent."""
    return rung.parent.right if rung.parent else rung.x
