"""What every picture has to hold, whatever it shows: dot draws it without a word, its texts have widths, its colours.

Used by the tests of each picture: `check_picture(dot_text)` first, then what is particular.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest
from font_sets import build_environment, find_fonts

from api.pictures import style
from api.pictures.render import render

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
WITHOUT_DOT = pytest.mark.skipif(shutil.which("dot") is None, reason="the Graphviz program dot is not installed")

#: Labels that break what does not escape: markup, backslashes, quotes, blank, long, other scripts, marks.
AWKWARD = (
    "<b>bold?</b>", "<>", "a & b", "&lt; stays &amp; stays", 'He said "stop"', "C:\\new\\temp\\",
    "two \\\\ backslashes",
    "line\\nbreak \\N \\G \\E \\L", "it's", " ", "x" * 90, "تشغيل المضخة", "水道施設の管理",
    "Pumpe 🚰 läuft",
    "e\u0301a\u0300o\u0302", "{left|right}", "a-->b <!-- c -->", "]]>", "T 1 2 -1 9 9 -x", "tab\tand\nbreak",
)  # fmt: skip

_NAMED = {style.INK, style.QUIET, style.LINE, style.HAIR, style.STRIPE}
COLOURS = _NAMED | {style.mix(colour, share / 100) for colour in style.SET for share in range(101)}


class Size(NamedTuple):
    """Points; a CSS pixel is 0.75 of them."""

    width: float
    height: float

    @property
    def width_px(self) -> float:
        return self.width / 0.75

    @property
    def height_px(self) -> float:
        return self.height / 0.75


def draw_quietly(dot_text: str, fonts: Mapping[str, str] | None = None) -> tuple[str, str]:
    """Return SVG and xdot as dot writes them: it ends well and says nothing. `fonts`: variables that choose a set."""
    command = ["dot", "-Tsvg", "-Txdot"]
    environment = {**os.environ, **(fonts or {})}
    done = subprocess.run(
        command, input=dot_text.encode(), capture_output=True, check=False, timeout=60, env=environment
    )
    assert done.returncode == 0
    assert done.stderr.decode() == ""
    svg, end, xdot = done.stdout.decode().partition("</svg>")
    assert end
    assert "digraph" in xdot
    return svg + end, xdot


_FOLDER = tempfile.TemporaryDirectory(prefix="fonts-")


@cache
def _choose_stated_fonts() -> dict[str, str]:
    if find_fonts("DejaVu") is None:
        pytest.skip("the DejaVu fonts, for which the sizes of pictures are stated, are not installed")
    return build_environment("DejaVu", Path(_FOLDER.name))


def measure(dot_text: str) -> Size:
    """Return the natural size of a picture with the font that it asks for first; skip the test where it is not there.

    With a wider one a picture is wider, and a page shows it smaller.
    """
    return _measure(dot_text, _choose_stated_fonts())


def _measure(dot_text: str, fonts: Mapping[str, str] | None = None) -> Size:
    root = ET.fromstring(draw_quietly(dot_text, fonts)[0])
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    return Size(width, height)


def get_paper_scale(dot_text: str) -> float:
    """Return how large a picture is printed on A4, across or upright, whichever is larger; 1 is natural.

    With the fonts of this machine, whatever they are.
    """
    width, height = _measure(dot_text)
    # inches inside the margins: 297 and 210 mm, 12 mm on each side
    return max(min(1, across * 72 / width, down * 72 / height) for across, down in ((10.74, 7.32), (7.32, 10.74)))


def read_texts(svg: bytes) -> list[str]:
    """Return the texts of a drawing in the order they are drawn."""
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def read_tooltips(svg: bytes) -> list[str]:
    """Return what is shown where the pointer rests."""
    return [anchor.get(f"{XLINK}title") or "" for anchor in ET.fromstring(svg).iter(f"{SVG}a")]


def read_links(svg: bytes) -> list[str]:
    """Return the addresses that parts of a drawing lead to."""
    links = (anchor.get(f"{XLINK}href") for anchor in ET.fromstring(svg).iter(f"{SVG}a"))
    return [link for link in links if link]


def check_picture(dot_text: str) -> bytes:
    """Hold what every picture has to hold, and return its SVG as it is served."""
    draw_quietly(dot_text)
    assert "neato" not in dot_text
    assert 'STYLE="' not in dot_text
    used = set(re.findall(r'"(#[0-9A-Fa-f]{6})"', dot_text))
    assert used <= COLOURS, used - COLOURS
    svg = render(dot_text, "svg")
    root = ET.fromstring(svg)
    assert root.get("role") == "graphics-document"
    assert [child.tag for child in root if child.tag in (f"{SVG}title", f"{SVG}desc")] == [f"{SVG}title", f"{SVG}desc"]
    for text in root.iter(f"{SVG}text"):
        assert float(text.get("textLength", "nan")) >= 0
        assert text.get("lengthAdjust") == "spacingAndGlyphs"
        # 9 points are 12 CSS pixels
        assert float(text.get("font-size", "0")) >= 9
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "node":
            assert group.find(f".//{SVG}a") is not None, "a node without a tooltip"
    for tip in read_tooltips(svg):
        assert tip.strip()
        assert tip != "<TABLE>"
    return svg
