"""A drawing put on a page of its real size: SVG in millimetres, PNG with its resolution.

The drawing stands at the top between the margins, never enlarged, and made smaller only where it is too large. Of a
page upright and one across, the one on which it is larger is taken.
"""

from __future__ import annotations

import struct
import xml.etree.ElementTree as ET
import zlib
from typing import Final, NamedTuple

from api.pictures import style
from api.pictures.text import get_comments
from ontology.rdf import namespaces as ns

_SVG: Final = ns.SVG
#: Signature and header chunk of a PNG (ISO/IEC 15948, 5.2 and 11.2.2).
_PNG_HEADER: Final = 33

#: The line of a DOT text that says it was made for paper.
PAPER_COMMENT: Final = "page: A4"


class Placing(NamedTuple):
    """Where a drawing stands: on which page, at which scale, and the part of its plane the page covers, in points."""

    page: str
    scale: float
    left: float
    top: float
    width: float
    height: float


def is_for_paper(dot_text: str) -> bool:
    """Whether a picture was made for paper, as its comment says.

    Examples
    --------
    >>> is_for_paper("// title: A\\n// description: B\\n// page: A4\\ndigraph { a }")
    True
    """
    return PAPER_COMMENT in get_comments(dot_text)


def place(width: float, height: float) -> Placing:
    """Return where a drawing of this size (points) stands: on the page on which it is larger, or that of its shape.

    Examples
    --------
    >>> place(400, 700)[:2], place(700, 400)[:2]
    (('A4 portrait', 1), ('A4 landscape', 1))
    >>> place(1054.2, 2000).scale < 0.51
    True
    """

    def fit(page: str) -> tuple[float, bool]:
        across, down = (side - 2 * style.PAGE_MARGIN_PT for side in style.PAGES_PT[page])
        return min(1, across / width, down / height), (across > down) == (width > height)

    page = max(style.PAGES_PT, key=fit)
    scale = fit(page)[0]
    across, down = (side / scale for side in style.PAGES_PT[page])
    return Placing(page, scale, (width - across) / 2, -style.PAGE_MARGIN_PT / scale, across, down)


def _measure(root: ET.Element) -> tuple[float, float]:
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    return width, height


def put_svg_on_page(svg: bytes) -> bytes:
    """Return the SVG with the page's size in millimetres, and a white ground as large as the page."""
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", ns.XLINK)
    root = ET.fromstring(svg)
    placing = place(*_measure(root))
    for side, length in zip(("width", "height"), style.PAGES_MM[placing.page], strict=True):
        root.set(side, f"{length}mm")
    box = [f"{value:.2f}" for value in placing[2:]]
    root.set("viewBox", " ".join(box))
    ground = dict(zip(("x", "y", "width", "height"), box, strict=True)) | {"fill": "white"}
    root.insert(0, ET.Element(f"{{{_SVG}}}rect", ground))
    drawn: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return drawn


def get_viewport(svg: bytes) -> str:
    """Return dot's viewport for the page: width, height, zoom, and the point at its middle (y upwards)."""
    width, height = _measure(ET.fromstring(svg))
    placing = place(width, height)
    page_width, page_height = style.PAGES_PT[placing.page]
    pad = 72 * style.PAD
    x = placing.left + placing.width / 2 - pad
    y = height - pad - (placing.top + placing.height / 2)
    return f"{page_width:.2f},{page_height:.2f},{placing.scale:.4f},{x:.2f},{y:.2f}"


def add_png_size(png: bytes, dpi: int) -> bytes:
    """Return the PNG with its resolution (ISO/IEC 15948, chunk pHYs), so that it prints at the page's size."""
    per_metre = round(dpi / 0.0254)
    body = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", 9) + body + struct.pack(">I", zlib.crc32(body))
    return png[:_PNG_HEADER] + chunk + png[_PNG_HEADER:] if b"pHYs" not in png[:200] else png
