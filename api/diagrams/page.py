"""A drawing put on a page of its real size: SVG in millimetres, PNG with its resolution. Imports style and text.

The drawing stands at the top between the margins, never enlarged, and made smaller only where it is too large. Of a
page upright and one across, the one on which it is larger is taken.
"""

from __future__ import annotations

import struct
import xml.etree.ElementTree as ET
import zlib
from typing import Final, NamedTuple

from api.diagrams import style
from api.diagrams.text import get_comments
from ontology import namespaces as ns

_SVG: Final = ns.SVG
#: Signature and header chunk of a PNG (ISO/IEC 15948, 5.2 and 11.2.2).
_PNG_HEADER: Final = 33


class Placing(NamedTuple):
    """Where a drawing stands on its page: scale, and the part of the drawing's plane the page covers, in points."""

    scale: float
    left: float
    top: float
    width: float
    height: float


def get_page_name(dot_text: str) -> str:
    """Return the page a picture was made for, as its comment says; empty for a screen.

    Examples
    --------
    >>> get_page_name("// title: A\\n// description: B\\n// page: A4\\ndigraph { a }")
    'A4'
    """
    named = (comment.removeprefix("page: ") for comment in get_comments(dot_text) if comment.startswith("page: "))
    return next((name for name in named if name == "A4" or name in style.PAGES_PT), "")


def choose_page(width: float, height: float, name: str) -> str:
    """Return the page a drawing of this size (points) is larger on; if it is whole on both, the one of its shape.

    Examples
    --------
    >>> choose_page(400, 700, "A4"), choose_page(900, 400, "A4"), choose_page(400, 300, "A4")
    ('A4 portrait', 'A4 landscape', 'A4 landscape')
    """
    if name in style.PAGES_PT:
        return name
    across = width > height
    return max(
        style.PAGES_PT, key=lambda page: (place(width, height, page).scale, page.endswith("landscape") == across)
    )


def place(width: float, height: float, name: str) -> Placing:
    """Return where a drawing of this size (points) stands on the page.

    Examples
    --------
    >>> place(400, 500, "A4 portrait").scale
    1
    >>> place(1054.2, 500, "A4 portrait").scale < 0.51
    True
    """
    page_width, page_height = style.PAGES_PT[name]
    margin = style.PAGE_MARGIN_PT
    scale = min(1, (page_width - 2 * margin) / width, (page_height - 2 * margin) / height)
    across, down = page_width / scale, page_height / scale
    return Placing(scale, (width - across) / 2, -margin / scale, across, down)


def _measure(root: ET.Element) -> tuple[float, float]:
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    return width, height


def put_svg_on_page(svg: bytes, name: str) -> bytes:
    """Return the SVG with the page's size in millimetres, and a white ground as large as the page."""
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", ns.XLINK)
    root = ET.fromstring(svg)
    name = choose_page(*_measure(root), name)
    placing = place(*_measure(root), name)
    width_mm, height_mm = style.PAGES_MM[name]
    root.set("width", f"{width_mm}mm")
    root.set("height", f"{height_mm}mm")
    box = [f"{value:.2f}" for value in placing[1:]]
    root.set("viewBox", " ".join(box))
    ground = dict(zip(("x", "y", "width", "height"), box, strict=True)) | {"fill": "white"}
    root.insert(0, ET.Element(f"{{{_SVG}}}rect", ground))
    drawn: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return drawn


def get_viewport(svg: bytes, name: str) -> str:
    """Return dot's viewport for the page: width, height, zoom, and the point at its middle (y upwards)."""
    width, height = _measure(ET.fromstring(svg))
    pad = 72 * (style.PAD if name == "A4" else 0.02)
    name = choose_page(width, height, name)
    placing = place(width, height, name)
    page_width, page_height = style.PAGES_PT[name]
    x = placing.left + placing.width / 2 - pad
    y = height - pad - (placing.top + placing.height / 2)
    return f"{page_width:.2f},{page_height:.2f},{placing.scale:.4f},{x:.2f},{y:.2f}"


def add_png_size(png: bytes, dpi: int) -> bytes:
    """Return the PNG with its resolution (ISO/IEC 15948, chunk pHYs), so that it prints at the page's size."""
    per_metre = round(dpi / 0.0254)
    body = b"pHYs" + struct.pack(">IIB", per_metre, per_metre, 1)
    chunk = struct.pack(">I", 9) + body + struct.pack(">I", zlib.crc32(body))
    return png[:_PNG_HEADER] + chunk + png[_PNG_HEADER:] if b"pHYs" not in png[:200] else png
