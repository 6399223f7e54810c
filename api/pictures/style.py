"""One visual language for all pictures: colours, fonts, sizes.

Colours: the set of Okabe and Ito (2008), "Color Universal Design", safe for colour-blind readers, and tints of it on
white. A colour never stands alone: the word is written beside it, and lines differ in width or dashes too. No state
is told by a row of red, amber and green.
"""

from __future__ import annotations

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
#: The dark end of a ladder of levels: blue with black in it, so that white numbers can be read.
DEEP_BLUE: Final = "#00517F"

#: Tints of black for words, lines and grounds (contrast of the first three on white: 16:1, 7:1, 4.5:1).
INK: Final = "#1F1F1F"
QUIET: Final = "#595959"
LINE: Final = "#767676"
HAIR: Final = "#C8C8C8"
STRIPE: Final = "#F6F6F6"
SET: Final = frozenset(
    (BLACK, ORANGE, SKY_BLUE, BLUISH_GREEN, YELLOW, BLUE, VERMILLION, REDDISH_PURPLE, WHITE, DEEP_BLUE)
)

ROLE: Final = BLUE
COMPETENCY: Final = BLUISH_GREEN
COURSE: Final = ORANGE
PERSON: Final = REDDISH_PURPLE
SHORT: Final = VERMILLION

#: State of a need, as the analyses name it: its colour, and the word that stands beside it; the worst first.
STATES: Final = {
    "short": VERMILLION,
    "sole-holder": ORANGE,
    "no-reserve": YELLOW,
    "below-target": SKY_BLUE,
    "covered": BLUE,
}
STATE_WORDS: Final = {name: name.replace("-", " ") for name in STATES}
#: Necessity of a requirement: colour of its section and width of the line that leads there, in points.
NECESSITIES: Final = {"blocking": (VERMILLION, 2.4), "essential": (BLUE, 1.6), "desirable": (SKY_BLUE, 1.2)}

#: The first that is there is measured by dot; the browser sets words as wide as they were measured. The first two
#: are about equally wide, and nearly every desktop has the second.
FONT: Final = "DejaVu Sans,Verdana,Arial,Helvetica,sans-serif"
TITLE_PT: Final = 15
NUMBER_PT: Final = 13
TEXT_PT: Final = 10
SMALL_PT: Final = 9
#: Least width of title and notes, so that both begin at the same left edge.
LEAST_WIDTH_PT: Final = 560
#: Characters in a line of the title, of the answer below it, and of a note.
TITLE_COLUMNS: Final = 70
ANSWER_COLUMNS: Final = 128
#: The answer on paper: so that a page upright keeps its scale with a wide font too.
PAPER_COLUMNS: Final = 108
NOTE_COLUMNS: Final = 128

PNG_DPI: Final = 120

POINTS_PER_MM: Final = 72 / 25.4
#: Width and height of a page (ISO 216), in millimetres and in points; the margin is free on every side.
PAGES_MM: Final = {"A4 portrait": (210, 297), "A4 landscape": (297, 210)}
PAGES_PT: Final = {name: (w * POINTS_PER_MM, h * POINTS_PER_MM) for name, (w, h) in PAGES_MM.items()}
PAGE_MARGIN_PT: Final = 12 * POINTS_PER_MM
#: Inches around the drawing.
PAD: Final = 0.12


def mix(colour: str, share: float = 0.16) -> str:
    """Return a tint: `share` of the colour on white.

    Examples
    --------
    >>> mix("#000000", 0.2)
    '#CCCCCC'
    """
    parts = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 - (255 - part) * share):02X}" for part in parts)


GRAPH_ATTRIBUTES: Final = {
    "rankdir": "LR",
    "newrank": "true",
    "bgcolor": "white",
    "charset": "UTF-8",
    "fontname": FONT,
    "fontsize": f"{TEXT_PT}",
    "fontcolor": INK,
    "labelloc": "b",
    "labeljust": "l",
    "pad": f"{PAD}",
}
NODE_ATTRIBUTES: Final = {"shape": "plain", "fontname": FONT, "fontsize": f"{TEXT_PT}", "fontcolor": INK}
EDGE_ATTRIBUTES: Final = {
    "fontname": FONT,
    "fontsize": f"{SMALL_PT}",
    "fontcolor": INK,
    "color": LINE,
    "penwidth": "1.2",
    "arrowsize": "0.7",
}
