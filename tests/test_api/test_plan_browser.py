"""The development plan in a real browser: nothing is refused, and it prints on A4 pages."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import browse, needs_chromium, require_nothing_refused
from loopback import serve
from rest_company import ON, build_company

from api.app import create_app

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    graph = build_company()
    with serve(create_app(graph), threads=4) as port:
        yield f"http://127.0.0.1:{port}/people/p1/development-plan?role=operator&on={ON}"
    graph.close()


def test_the_plan_comes_up_and_nothing_on_it_is_refused(address: str, tmp_path: Path) -> None:
    page, log = browse(address, tmp_path, "--dump-dom")
    assert "Development plan: Operator" in page
    require_nothing_refused(log)


def test_a_plan_that_the_budget_cuts_short_says_so_before_the_courses(address: str, tmp_path: Path) -> None:
    page, log = browse(f"{address}&max_hours=20&already_booked=valve-2", tmp_path, "--dump-dom")
    assert page.index("This plan does not reach the target.") < page.index("Courses and days")
    require_nothing_refused(log)


def test_the_plan_prints_on_a4(address: str, tmp_path: Path) -> None:
    path = tmp_path / "plan.pdf"
    browse(address, tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={path}")
    boxes = re.findall(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", path.read_bytes())
    assert boxes
    # ISO 216: 210 mm by 297 mm in points; the calendar at the end lies across
    for box in boxes:
        assert sorted(map(float, box)) == pytest.approx([595.3, 841.9], abs=1)
    assert [float(width) > float(height) for width, height in boxes] == [False] * (len(boxes) - 1) + [True]


def test_a_picture_stands_in_the_page_as_a_document_also_when_the_browser_has_kept_it(
    address: str, tmp_path: Path
) -> None:
    for _ in range(2):
        # the second time the server answers that nothing has changed: 304, which renews the headers that were kept
        page, log = browse(address, tmp_path, "--dump-dom")
        assert '<img src="/api/' in page
        assert "violates the following" not in log
        require_nothing_refused(log)
