"""The demonstration scenario on its day, served to one Chromium."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from chromium import CHROMIUM
from demonstration_pages import ON
from loopback import serve
from scenario import SCENARIO
from visitors import open_browser

from api.app import create_app
from api.desk import desk
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests of a run."""
    pytest.importorskip("playwright", reason="Playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    with open_browser() as running:
        yield running


@pytest.fixture(scope="session")
def demonstration() -> Iterator[LiveGraph]:
    """The scenario in a store of its own, for tests that read and for stories that write what they may."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield graph
    graph.close()


@pytest.fixture(scope="session")
def site(demonstration: LiveGraph) -> Iterator[str]:
    """The scenario served on its day."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desk, "get_utc_day", lambda: dt.date.fromisoformat(ON))
        with serve(create_app(demonstration), threads=8) as port:
            yield f"http://127.0.0.1:{port}"
