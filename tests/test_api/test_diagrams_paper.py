"""Pictures on paper: real page size (ISO 216), in print as large as on a screen or a little smaller."""

from __future__ import annotations

import struct
import xml.etree.ElementTree as ET

import pytest
from drawn import WITHOUT_DOT, check_picture
from flask.testing import FlaskClient
from picture_companies import build_sized_company

from api.pictures import page
from api.pictures.paging import PageError
from api.pictures.pictures import draw_role
from api.pictures.render import render


@WITHOUT_DOT
@pytest.mark.needs_dot
@pytest.mark.parametrize(("size", "sides"), [(5, ("297mm", "210mm")), (30, ("210mm", "297mm"))])
def test_a_page_is_a4_of_the_shape_on_which_the_picture_is_larger(size: int, sides: tuple[str, str]) -> None:
    dot = draw_role(build_sized_company(size), "goal", layout="paper")
    root = ET.fromstring(check_picture(dot))
    # ISO 216: A4 is 210 mm by 297 mm
    assert (root.get("width"), root.get("height")) == sides
    png = render(dot, "png")
    width, height = struct.unpack(">II", png[16:24])
    mark = png.index(b"pHYs")
    across, _, unit = struct.unpack(">IIB", png[mark + 4 : mark + 13])
    assert unit == 1
    expected = [float(side.removesuffix("mm")) for side in sides]
    assert [width / across * 1000, height / across * 1000] == pytest.approx(expected, abs=0.5)


def test_a_drawing_is_made_smaller_only_where_it_is_too_large() -> None:
    assert page.place(400, 500)[:2] == ("A4 portrait", 1)
    # 273 mm between the margins
    assert page.place(2 * 273 * 72 / 25.4, 500)[:2] == ("A4 landscape", pytest.approx(0.5))


def test_a_screen_has_one_page() -> None:
    company = build_sized_company(5)
    assert not page.is_for_paper(draw_role(company, "goal"))
    with pytest.raises(PageError):
        draw_role(company, "goal", page=2)


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
