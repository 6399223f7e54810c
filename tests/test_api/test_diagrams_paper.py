"""Pictures on paper: real page size (ISO 216), text of nine points or more in print, nothing overlaps or is lost."""

from __future__ import annotations

import re
import struct
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient
from picture_companies import build_sized_company
from small_company import ON, build_competencies, build_scale, build_snapshot
from svg_parts import NEEDS_DOT, find_overlaps, find_texts_outside, get_boxes, get_least_text_pt, get_links

from api.diagrams import page
from api.diagrams.drawing import PLACED
from api.diagrams.pictures import (
    PageError,
    draw_competency,
    draw_learning_path,
    draw_role,
    draw_routes,
)
from api.diagrams.render import render
from api.diagrams.svg import get_text_alternative
from api.diagrams.text import get_comments
from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.levels import build_profile
from ontology.analysis.routes.routes import find_routes
from ontology.graph.snapshot import Snapshot

#: ISO 216: A4 is 210 mm by 297 mm.
A4_MM = {("210mm", "297mm"), ("297mm", "210mm")}
SIZES = (5, 15, 40)


def build_model(size: int) -> Snapshot:
    """Return a role that asks for `size` competencies, and as many roles that ask for the first one."""
    ids = [f"c{i}" for i in range(size)]
    roles = [{"id": f"r{i}", "label": f"Role {i}"} for i in range(size)]
    asked = [{"role": "r0", "competency": i, "level": 3} for i in ids]
    asked += [{"role": row["id"], "competency": "c0", "level": 2} for row in roles[1:]]
    return build_snapshot(
        scales=build_scale(), competencies=build_competencies(" ".join(ids)), roles=roles, requirements=asked
    )


def draw_all_pages(draw: Callable[[int], str]) -> list[str]:
    pages = []
    for number in range(1, 60):
        try:
            pages.append(draw(number))
        except PageError:
            break
    return pages


def draw_pages(snapshot: Snapshot) -> list[str]:
    return [
        *draw_all_pages(lambda number: draw_role(snapshot, "r0", layout="paper", page=number)),
        *draw_all_pages(lambda number: draw_competency(snapshot, "c0", layout="paper", page=number)),
    ]


def draw_answer_pages(size: int) -> list[str]:
    """Return all pages of a path and of routes."""
    snapshot = build_sized_company(size)
    profile = build_profile(snapshot, "p0", ON)
    path = find_learning_path(snapshot, profile, "goal")
    routes = find_routes(snapshot, profile, "goal", preparation_limit=100.0)
    return [
        *draw_all_pages(lambda n: draw_learning_path(snapshot, profile, path, layout="paper", page=n)),
        *draw_all_pages(lambda n: draw_routes(snapshot, profile, routes, layout="paper", page=n)),
    ]


@pytest.fixture(scope="module", params=SIZES)
def pages(request: pytest.FixtureRequest) -> list[str]:
    return draw_pages(build_model(request.param))


@pytest.fixture(scope="module", params=SIZES)
def all_pages(request: pytest.FixtureRequest) -> list[str]:
    return draw_pages(build_model(request.param)) + draw_answer_pages(request.param)


class TestDrawn:
    pytestmark = NEEDS_DOT

    def test_a_page_is_a4_with_text_of_nine_points_and_no_card_on_another(self, all_pages: list[str]) -> None:
        for text in all_pages:
            root = ET.fromstring(render(text, "svg"))
            assert (root.get("width"), root.get("height")) in A4_MM
            assert get_least_text_pt(root) >= 8.99
            assert find_overlaps(root) == []
            assert find_texts_outside(root) == []
            assert all(get_links(root).values())
            assert get_boxes(root)

    def test_no_text_is_too_large_for_its_card(self, all_pages: list[str]) -> None:
        fonts = subprocess.run(["fc-match", "Helvetica"], capture_output=True, text=True, check=False).stdout
        if not re.search("Liberation|Nimbus|Helvetica|Arial|Arimo", fonts):
            pytest.skip("no font here has the widths of Helvetica")
        for text in all_pages:
            done = subprocess.run(
                ["dot", "-Kneato", "-n2", "-Tsvg"], input=text.encode(), capture_output=True, check=True
            )
            # dot warns of every text that does not fit into its fixed size
            assert done.stderr.decode() == ""

    def test_a_png_prints_at_the_size_of_its_page(self) -> None:
        for text in draw_pages(build_model(5)):
            png = render(text, "png")
            width, height = struct.unpack(">II", png[16:24])
            mark = png.index(b"pHYs")
            across, _, unit = struct.unpack(">IIB", png[mark + 4 : mark + 13])
            assert unit == 1
            assert sorted((width / across * 1000, height / across * 1000)) == pytest.approx([210, 297], abs=0.5)


def test_a_page_tells_where_everything_stands(all_pages: list[str]) -> None:
    for text in all_pages:
        assert PLACED in get_comments(text)


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
    assert draw_answer_pages(15) == draw_answer_pages(15)


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
    "/api/teams/works/staffing/diagram?",
    "/api/teams/works/cross-training/diagram?",
]


@pytest.mark.parametrize("address", DIAGRAMS)
def test_layout_and_page_are_checked(client: FlaskClient, address: str) -> None:
    paper = client.get(f"{address}layout=paper&format=dot")
    assert paper.status_code == 200
    assert "// page: A4" in paper.text
    screen = client.get(f"{address}layout=screen&format=dot")
    assert screen.text == client.get(f"{address}format=dot").text
    for wrong in ("layout=wall", "layout=", "layout=paper&page=0", "layout=paper&page=999", "page=2"):
        answer = client.get(f"{address}{wrong}&format=dot")
        assert answer.status_code == 422, wrong
        assert answer.mimetype == "application/problem+json"
