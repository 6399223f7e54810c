"""Pictures on paper: real page size (ISO 216), text of nine points or more in print, nothing overlaps or is lost."""

from __future__ import annotations

import re
import shutil
import struct
import xml.etree.ElementTree as ET
from itertools import combinations

import pytest
from flask.testing import FlaskClient
from small_company import build_competencies, build_scale, build_snapshot

from api.diagrams import page
from api.diagrams.pictures import Layout, PageError, draw_competency, draw_role
from api.diagrams.render import get_text_alternative, render
from ontology.graph.snapshot import Snapshot

SVG = "{http://www.w3.org/2000/svg}"
#: ISO 216: A4 is 210 mm by 297 mm.
A4_MM = {("210mm", "297mm"), ("297mm", "210mm")}
needs_dot = [
    pytest.mark.needs_dot,
    pytest.mark.skipif(shutil.which("dot") is None, reason="the Graphviz program dot is not installed"),
]


def build_model(size: int) -> Snapshot:
    """Return a role that asks for `size` competencies, and as many roles that ask for the first one."""
    ids = [f"c{i}" for i in range(size)]
    roles = [{"id": f"r{i}", "label": f"Role {i}"} for i in range(size)]
    asked = [{"role": "r0", "competency": i, "level": 3} for i in ids]
    asked += [{"role": row["id"], "competency": "c0", "level": 2} for row in roles[1:]]
    return build_snapshot(
        scales=build_scale(), competencies=build_competencies(" ".join(ids)), roles=roles, requirements=asked
    )


def draw_pages(snapshot: Snapshot, layout: Layout = "paper") -> list[str]:
    pages = []
    for draw, record in ((draw_role, "r0"), (draw_competency, "c0")):
        for number in range(1, 50):
            try:
                pages.append(draw(snapshot, record, layout=layout, page=number))
            except PageError:
                break
    return pages


@pytest.fixture(scope="module", params=[5, 15, 40])
def pages(request: pytest.FixtureRequest) -> list[str]:
    return draw_pages(build_model(request.param))


def get_boxes(root: ET.Element) -> list[tuple[float, float, float, float]]:
    boxes = []
    for group in root.iter(f"{SVG}g"):
        if group.get("class") != "node":
            continue
        points = [
            tuple(map(float, point.split(",")))
            for polygon in group.iter(f"{SVG}polygon")
            for point in (polygon.get("points") or "").split()
        ]
        xs, ys = zip(*points, strict=True)
        boxes.append((min(xs), min(ys), max(xs), max(ys)))
    return boxes


class TestDrawn:
    pytestmark = needs_dot

    def test_a_page_has_the_size_of_a4_and_its_text_is_nine_points_in_print(self, pages: list[str]) -> None:
        for text in pages:
            root = ET.fromstring(render(text, "svg"))
            assert (root.get("width"), root.get("height")) in A4_MM
            scale = float((root.get("width") or "")[:-2]) / 25.4 * 72 / float((root.get("viewBox") or "").split()[2])
            sizes = [float(element.get("font-size") or 0) for element in root.iter(f"{SVG}text")]
            assert min(sizes) * scale >= 8.99

    def test_no_card_lies_on_another(self, pages: list[str]) -> None:
        for text in pages:
            boxes = get_boxes(ET.fromstring(render(text, "svg")))
            assert len(boxes) >= 3
            for first, second in combinations(boxes, 2):
                assert first[2] <= second[0] or second[2] <= first[0] or first[3] <= second[1] or second[3] <= first[1]

    def test_a_png_prints_at_the_size_of_its_page(self) -> None:
        for text in draw_pages(build_model(5)):
            png = render(text, "png")
            width, height = struct.unpack(">II", png[16:24])
            mark = png.index(b"pHYs")
            across, _, unit = struct.unpack(">IIB", png[mark + 4 : mark + 13])
            assert unit == 1
            assert sorted((width / across * 1000, height / across * 1000)) == pytest.approx([210, 297], abs=0.5)


def test_every_card_stands_on_one_page(pages: list[str]) -> None:
    linked = [link for text in pages if "Role 0" in text for link in re.findall(r'URL="/api/roles/(r\d+)"', text)]
    assert "r0" in linked
    for text in pages:
        assert get_text_alternative(text).description


def test_nothing_of_forty_is_lost_and_pages_are_told() -> None:
    pages = [text for text in draw_pages(build_model(40)) if "// title: Role 0" in text]
    found = {link for text in pages for link in re.findall(r'URL="/api/competencies/(c\d+)"', text)}
    assert found == {f"c{i}" for i in range(40)}
    for number, text in enumerate(pages, start=1):
        assert f"(page {number} of {len(pages)})" in text
        assert "the others are on page" in text


def test_the_same_question_gives_the_same_bytes() -> None:
    assert draw_pages(build_model(15)) == draw_pages(build_model(15))


def test_a_screen_has_one_page() -> None:
    snapshot = build_model(5)
    assert page.get_page_name(draw_role(snapshot, "r0")) == ""
    with pytest.raises(PageError):
        draw_role(snapshot, "r0", page=2)


DIAGRAMS = [
    "/api/roles/operator/diagram?",
    "/api/competencies/pump/diagram?",
    "/api/people/p1/learning-path/diagram?role=operator&",
    "/api/roles/senior/learning-path/diagram?from=helper&",
    "/api/people/p1/routes/diagram?to=chief&",
    "/api/roles/helper/routes/diagram?to=senior&",
    "/api/teams/works/coverage/diagram?",
]


@pytest.mark.parametrize("address", DIAGRAMS)
def test_layout_and_page_are_checked(client: FlaskClient, address: str) -> None:
    paper = client.get(f"{address}layout=paper&format=dot")
    assert paper.status_code == 200
    assert "// page: A4 " in paper.text
    screen = client.get(f"{address}layout=screen&format=dot")
    assert screen.text == client.get(f"{address}format=dot").text
    for wrong in ("layout=wall", "layout=", "layout=paper&page=0", "layout=paper&page=999", "page=2"):
        answer = client.get(f"{address}{wrong}&format=dot")
        assert answer.status_code == 422, wrong
        assert answer.mimetype == "application/problem+json"
