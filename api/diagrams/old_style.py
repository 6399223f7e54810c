"""One visual language for all pictures: colours, fonts, sizes, line styles. Imports nothing.

Colours: the set of Okabe and Ito (2008), "Color Universal Design", safe for colour-blind readers. A colour never
stands alone: the word is written beside it, and lines differ in weight or dashes too. No state is told by a
row of red, amber and green.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

BLACK: Final = "#000000"
ORANGE: Final = "#E69F00"
SKY_BLUE: Final = "#56B4E9"
BLUISH_GREEN: Final = "#009E73"
YELLOW: Final = "#F0E442"
BLUE: Final = "#0072B2"
VERMILLION: Final = "#D55E00"
REDDISH_PURPLE: Final = "#CC79A7"
WHITE: Final = "#FFFFFF"

#: Okabe and Ito's set has one black; these are its tints, for lines and lesser words (contrast 7:1 and 4.6:1 on white).
INK: Final = "#1F1F1F"
QUIET: Final = "#595959"
LINE: Final = "#767676"
HAIR: Final = "#BDBDBD"
PAPER: Final = "#F6F6F4"

#: Metric twins are on nearly every machine (Liberation Sans has the widths of both), so text fits its card anywhere.
FONT: Final = "Helvetica,Arial,sans-serif"
TITLE_PT: Final = 17
NAME_PT: Final = 11
TEXT_PT: Final = 10
SMALL_PT: Final = 9

PNG_DPI: Final = 120

POINTS_PER_MM: Final = 72 / 25.4
#: Width and height of a page (ISO 216), in millimetres and in points; the margin is free on every side.
PAGES_MM: Final = {"A4 portrait": (210, 297), "A4 landscape": (297, 210)}
PAGES_PT: Final = {name: (w * POINTS_PER_MM, h * POINTS_PER_MM) for name, (w, h) in PAGES_MM.items()}
#: Inches around the drawing inside the margin.
PAGE_PAD: Final = 0.02
PAGE_MARGIN_PT: Final = 12 * POINTS_PER_MM


def mix(colour: str, share: float) -> str:
    """Return a tint: `share` of the colour on white.

    Examples
    --------
    >>> mix("#000000", 0.2)
    '#CCCCCC'
    """
    parts = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 - (255 - part) * share):02X}" for part in parts)


@dataclass(frozen=True, slots=True)
class Mark:
    """How one word of the pictures looks: its colour, and for lines the pen and width."""

    word: str
    colour: str
    pen: str = "solid"
    width: float = 1.2

    @property
    def tint(self) -> str:
        """The pale ground for black text."""
        return mix(self.colour, 0.16)


ROLE: Final = Mark("role", BLUE)
COMPETENCY: Final = Mark("competency", BLUISH_GREEN)
COURSE: Final = Mark("course", ORANGE)
PERSON: Final = Mark("person", REDDISH_PURPLE)

NECESSITIES: Final = {
    "blocking": Mark("blocking", VERMILLION, width=2.4),
    "essential": Mark("essential", BLUE, width=1.3),
    "desirable": Mark("desirable", SKY_BLUE, pen="dashed", width=1.3),
}

#: Ranks of a level ruler: needed on the first day, without supervision, fully; and not asked for.
RULER_ENTRY: Final = "#00517F"
RULER_UNSUPERVISED: Final = mix(BLUE, 0.62)
RULER_FULL: Final = mix(BLUE, 0.22)
RULER_NONE: Final = WHITE

COVER_STATES: Final = {
    "short": Mark("short", VERMILLION, width=2),
    "sole-holder": Mark("sole holder", ORANGE, width=1.5),
    "no-reserve": Mark("no reserve", YELLOW, width=1),
    "below-target": Mark("below target", SKY_BLUE, width=1),
    "covered": Mark("covered", BLUE, width=1),
}

#: Lines from people to needs: falls without them, one of several, away.
CRITICAL: Final = Mark("would be short without them", INK, width=2.4)
HOLDS: Final = Mark("able and present", LINE, width=0.8)
AWAY: Final = Mark("away", LINE, pen="dashed", width=1)
NOT_REACHED: Final = Mark("cannot be reached", VERMILLION, pen="dashed", width=1.4)

GRAPH_ATTRIBUTES: Final = {
    "bgcolor": "white",
    "fontname": FONT,
    "fontsize": str(TEXT_PT),
    "fontcolor": INK,
    "labelloc": "t",
    "labeljust": "l",
    "pad": "0.25",
    "charset": "UTF-8",
}
NODE_ATTRIBUTES: Final = {
    "shape": "plain",
    "fontname": FONT,
    "fontsize": str(TEXT_PT),
    "fontcolor": INK,
}
EDGE_ATTRIBUTES: Final = {
    "fontname": FONT,
    "fontsize": str(SMALL_PT),
    "fontcolor": INK,
    "color": LINE,
    "penwidth": "1.2",
    "arrowsize": "0.7",
}
CLUSTER_ATTRIBUTES: Final = {
    "fontname": FONT,
    "fontsize": str(TEXT_PT),
    "style": "rounded,filled",
    "fillcolor": PAPER,
    "color": HAIR,
    "penwidth": "1",
    "margin": "8",
    "labeljust": "l",
}
