"""What a test asks of a drawn picture: boxes of cards, texts, links, lines. Needs the program dot for the drawing."""

from __future__ import annotations

import re
import shutil
import xml.etree.ElementTree as ET
from itertools import combinations
from typing import NamedTuple

import pytest

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
NEEDS_DOT = [
    pytest.mark.needs_dot,
    pytest.mark.skipif(shutil.which("dot") is None, reason="the Graphviz program dot is not installed"),
]


#: Labels that markup, DOT or XML could take for something else.
AWKWARD = [
    "<b>bold?</b>",
    "<>",
    "a & b",
    "&lt; stays &amp; stays",
    'He said "stop"',
    "C:\\new\\temp\\",
    "line\\nbreak \\N \\G",
    "تشغيل المضخة",
    "水道施設の管理",
    "{left|right}",
    "a-->b <!-- c -->",
    "]]>",
]


class Box(NamedTuple):
    """A rectangle in the drawing's own points, y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def is_apart(self, other: Box) -> bool:
        """Whether the two do not overlap."""
        return (
            self.right <= other.left or other.right <= self.left or self.bottom <= other.top or other.bottom <= self.top
        )


def get_boxes(root: ET.Element) -> dict[str, Box]:
    """Return the box of every node that has a border or a ground, by the id of its group."""
    boxes = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("class") != "node":
            continue
        points = [
            tuple(map(float, point.split(",")))
            for polygon in group.iter(f"{SVG}polygon")
            for point in (polygon.get("points") or "").split()
        ]
        # a heading is words without a border
        if points:
            xs, ys = zip(*points, strict=True)
            boxes[group.get("id") or ""] = Box(min(xs), min(ys), max(xs), max(ys))
    return boxes


def find_overlaps(root: ET.Element) -> list[tuple[str, str]]:
    """Return the pairs of cards that lie on one another."""
    return [(a, b) for (a, one), (b, two) in combinations(get_boxes(root).items(), 2) if not one.is_apart(two)]


def get_least_text_pt(root: ET.Element) -> float:
    """Return the smallest size of text, in points of the print where the picture has a page, else of the drawing."""
    sizes = [float(element.get("font-size") or 0) for element in root.iter(f"{SVG}text")]
    width = root.get("width") or ""
    if not width.endswith("mm"):
        return min(sizes)
    return min(sizes) * float(width[:-2]) / 25.4 * 72 / float((root.get("viewBox") or "").split()[2])


def find_texts_outside(root: ET.Element) -> list[str]:
    """Return the texts that begin or stand outside the picture."""
    left, top, width, height = map(float, (root.get("viewBox") or "").split())
    group = next(g for g in root.iter(f"{SVG}g") if g.get("class") == "graph")
    moved = re.search(r"translate\(([-0-9.]+)[ ,]([-0-9.]+)\)", group.get("transform") or "")
    across, down = (float(moved[1]), float(moved[2])) if moved else (0.0, 0.0)
    outside = []
    for text in root.iter(f"{SVG}text"):
        x, y = float(text.get("x") or 0) + across, float(text.get("y") or 0) + down
        if not (left <= x <= left + width and top <= y <= top + height):
            outside.append(text.text or "")
    return outside


def get_links(root: ET.Element) -> dict[str, str]:
    """Return address -> words of every link."""
    return {
        a.get(f"{XLINK}href") or "": a.get(f"{XLINK}title") or "" for a in root.iter(f"{SVG}a") if a.get(f"{XLINK}href")
    }


def get_texts(root: ET.Element) -> list[str]:
    """Return all texts in order."""
    return [element.text or "" for element in root.iter(f"{SVG}text")]


def get_curves(dot: str) -> list[list[tuple[float, float]]]:
    """Return the points of every placed line of a DOT text, y downwards, the arrow's tip left out."""
    curves = []
    for pos in re.findall(r'-> .*?pos="([^"]*)"', dot):
        points = [tuple(map(float, part.split(","))) for part in pos.split() if not part.startswith("e,")]
        curves.append([(x, -y) for x, y in points])
    return curves


def sample_curve(points: list[tuple[float, float]], steps: int = 8) -> list[tuple[float, float]]:
    """Return points on a chain of cubic Bezier curves."""
    sampled = []
    for start in range(0, len(points) - 1, 3):
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = points[start : start + 4]
        for step in range(steps + 1):
            t = step / steps
            a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3
            sampled.append((a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3))
    return sampled


def find_lines_through_cards(root: ET.Element, dot: str) -> list[tuple[str, tuple[float, float]]]:
    """Return the points at which a placed line lies inside a card: with the id of the card."""
    boxes = get_boxes(root)
    return [
        (name, (x, y))
        for curve in get_curves(dot)
        for x, y in sample_curve(curve)
        for name, box in boxes.items()
        if box.left + 1 < x < box.right - 1 and box.top + 1 < y < box.bottom - 1
    ]
