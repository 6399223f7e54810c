"""Pictures drawn with one set of fonts and measured in Chromium with another: one browser for many pictures."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from html import escape, unescape
from pathlib import Path
from typing import NamedTuple

from chromium import browse
from font_sets import build_environment, use_fonts

from api.pictures.render import render

_SCRIPT = Path(__file__).with_name("measure_pictures.js")
_LENGTH = re.compile(rb' (?:textLength|lengthAdjust)="[^"]*"')


class Measured(NamedTuple):
    """What the browser found: faults in words, how many texts, size in CSS px, share of 16 px squares with ink."""

    faults: list[str]
    texts: int
    width: float
    height: float
    ink: float


def draw_with(fonts: str, pictures: Mapping[str, str], folder: Path) -> dict[str, bytes]:
    """Return the SVG of each DOT text, laid out with a set of fonts."""
    with use_fonts(fonts, folder):
        return {name: render(dot, "svg") for name, dot in pictures.items()}


def take_lengths_out(svg: bytes) -> bytes:
    """Return the SVG as it would be if nobody had said how wide its texts were measured."""
    return _LENGTH.sub(b"", svg)


def measure_with(fonts: str, drawn: Mapping[str, bytes], folder: Path, *, has_ink: bool = False) -> dict[str, Measured]:
    """Return what Chromium, with a set of fonts, finds in each picture; the ink only where it is asked for."""
    figures = "".join(
        f'<figure id="{escape(name)}">{svg.decode().partition("?>")[2]}</figure>' for name, svg in drawn.items()
    )
    page = folder / f"measured-with-{fonts}.html"
    ink = "yes" if has_ink else ""
    script = f"<script>{_SCRIPT.read_text('utf-8')}</script>"
    page.write_text(f'<!DOCTYPE html><meta charset="utf-8"><body data-ink="{ink}">{figures}{script}</body>', "utf-8")
    environment = build_environment(fonts, folder)
    shown, _ = browse(page.as_uri(), folder, "--dump-dom", environment=environment, budget_ms=60_000)
    found = re.search(r"<pre>(.*)</pre>", shown, re.DOTALL)
    assert found, shown[:2000]
    return {name: Measured(**row) for name, row in json.loads(unescape(found[1])).items()}
