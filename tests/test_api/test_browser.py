"""The pages in a real browser: they come up, nothing is refused, and nobody else is asked."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from chromium import browse, needs_chromium, require_nothing_refused
from companies import build_company
from loopback import serve

from api.app import create_app
from ontology.live.live_graph import LiveGraph

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    graph = LiveGraph.in_memory()
    graph.load(build_company(5), who="t", why="w")
    with serve(create_app(graph), threads=4) as port:
        yield f"http://127.0.0.1:{port}"
    graph.close()


def test_the_start_page_comes_up_and_nothing_on_it_is_refused(address: str, tmp_path: Path) -> None:
    page, log = browse(f"{address}/", tmp_path, "--dump-dom")
    assert "<h1" in page
    require_nothing_refused(log)


def test_the_start_page_fits_a_phone(address: str, tmp_path: Path) -> None:
    picture = tmp_path / "phone.png"
    browse(f"{address}/", tmp_path, "--window-size=390,844", f"--screenshot={picture}")
    assert picture.read_bytes().startswith(b"\x89PNG")
    assert picture.stat().st_size > 10_000, "the picture of the page is blank"


def test_the_description_of_the_api_can_be_browsed_without_asking_anyone_else(address: str, tmp_path: Path) -> None:
    page, log = browse(f"{address}/api/browse/", tmp_path, "--dump-dom")
    assert page.count('class="opblock-tag"') >= 14, "the viewer has not drawn the groups of paths"
    assert "Refused to" not in log
    assert "net::ERR" not in log
