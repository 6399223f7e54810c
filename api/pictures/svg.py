"""What dot draws as SVG, made fit for every reader and every font.

Every text gets the width that dot measured for it (SVG 1.1, 10.5: textLength, lengthAdjust), so that a browser with
other fonts sets the words exactly as wide as their box expects. The root gets a text alternative (W3C "SVG
Accessibility API Mappings", "WAI-ARIA Graphics Module": role, title, desc) from the comment lines that every picture
begins with; it is a document, not an image, so that readers find the links inside.
"""

from __future__ import annotations

import hashlib
import re
import xml.etree.ElementTree as ET
from typing import Final, NamedTuple

from api.pictures.text import get_comments
from ontology.errors import NewelError
from ontology.rdf import namespaces as ns

_SVG: Final = ns.SVG
_XLINK: Final = ns.XLINK
_HEADER: Final = re.compile(r"(title|description): (.*)$")
#: A drawing attribute of xdot, as a quoted string; an operation there that draws text: place, alignment, width, bytes.
#: dot writes a quote of a text behind a backslash, and a backslash as it is; a blank stands before the last quote.
_DRAWN: Final = re.compile(rb'_\w*draw_="((?:[^"]|(?<=\\)")*)"')
_TEXT: Final = re.compile(rb"(?:^| )T ([-\d.e+]+) ([-\d.e+]+) -?\d ([-\d.e+]+) (\d+) -")


class TextAlternative(NamedTuple):
    """What a picture says, for readers who do not see it."""

    title: str
    description: str


def get_text_alternative(dot_text: str) -> TextAlternative:
    """Return title and description of a picture from its first comment lines.

    Examples
    --------
    >>> get_text_alternative("// title: A\\n// description: B\\ndigraph { a }")
    TextAlternative(title='A', description='B')
    >>> get_text_alternative("digraph { a }").title
    'Diagram'
    """
    found: dict[str, list[str]] = {}
    for comment in get_comments(dot_text):
        header = _HEADER.match(comment)
        if header:
            found.setdefault(header[1], []).append(header[2])
    return TextAlternative(" ".join(found.get("title", ["Diagram"])), " ".join(found.get("description", [])))


def read_widths(xdot: bytes) -> dict[tuple[float, float], float]:
    """Return the width in points of every text of a drawing in xdot, by its place (y downwards, to a tenth).

    Examples
    --------
    >>> read_widths(b'graph { a [_ldraw_="F 10 5 -Arial T 5 27.31 -1 33.5 7 -T 1 2 3 T 5 9 -1 7 1 -x "] }')
    {(5.0, -27.3): 33.5, (5.0, -9.0): 7.0}
    """
    widths: dict[tuple[float, float], float] = {}
    for drawn in _DRAWN.finditer(xdot.replace(b"\\\r\n", b"").replace(b"\\\n", b"")):
        operations = drawn[1].replace(b'\\"', b'"')
        start = 0
        while found := _TEXT.search(operations, start):
            # what the text says may look like an operation: go on behind it
            start = found.end() + int(found[4])
            widths[_get_place(float(found[1]), -float(found[2]))] = float(found[3])
    return widths


def _get_place(x: float, y: float) -> tuple[float, float]:
    return round(x, 1) + 0.0, round(y, 1) + 0.0


def finish_svg(svg: bytes, xdot: bytes, dot_text: str) -> bytes:
    """Return the SVG with the widths of its texts and with its text alternative.

    Raises
    ------
    NewelError
        A text has no width in the xdot of the same run: a fault here, not of the picture.
    """
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", _XLINK)
    root = ET.fromstring(svg)
    _set_widths(root, read_widths(xdot))
    for group in root.iter(f"{{{_SVG}}}g"):
        _set_group_title(group)
    for anchor in root.iter(f"{{{_SVG}}}a"):
        if anchor.get(f"{{{_XLINK}}}href"):
            # in a page the picture is a document of its own: a link leads on in the window, not in the frame
            anchor.set("target", "_top")
    _describe(root, dot_text)
    finished: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return finished


def _set_widths(root: ET.Element, widths: dict[tuple[float, float], float]) -> None:
    for text in root.iter(f"{{{_SVG}}}text"):
        x, y = float(text.get("x", "nan")), float(text.get("y", "nan"))
        # the two forms round to hundredths each in its own way
        near = ((x + dx, y + dy) for dx in (0, 0.05, -0.05) for dy in (0, 0.05, -0.05))
        width = next((widths[place] for place in (_get_place(*at) for at in near) if place in widths), None)
        if width is None:
            raise NewelError("A text of the picture has no width.", text=text.text or "")
        text.set("textLength", f"{width:.2f}")
        text.set("lengthAdjust", "spacingAndGlyphs")


def _describe(root: ET.Element, dot_text: str) -> None:
    alternative = get_text_alternative(dot_text)
    # several pictures may stand in one page: ids must differ
    mark = hashlib.sha256(dot_text.encode()).hexdigest()[:10]
    labels = []
    for position, (tag, told) in enumerate((("title", alternative.title), ("desc", alternative.description))):
        if not told:
            continue
        element = ET.Element(f"{{{_SVG}}}{tag}", {"id": f"{tag}-{mark}"})
        element.text = told
        element.tail = "\n"
        root.insert(position, element)
        labels.append(f"{tag}-{mark}")
    root.set("role", "graphics-document")
    root.set("aria-labelledby", " ".join(labels))


def _set_group_title(group: ET.Element) -> None:
    """Put the tooltip where browsers look for it: dot writes a technical name there."""
    title = group.find(f"{{{_SVG}}}title")
    if title is None:
        return
    anchor = group.find(f".//{{{_SVG}}}a")
    told = anchor.get(f"{{{_XLINK}}}title", "") if anchor is not None else ""
    if told:
        title.text = told
    else:
        group.remove(title)
