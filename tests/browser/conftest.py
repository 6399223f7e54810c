"""The demonstration scenario on its day, served to one Chromium."""

from __future__ import annotations

import faulthandler
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from chromium import CHROMIUM
from served_scenario import serve_scenario
from visitors import open_browser

if TYPE_CHECKING:
    from playwright.sync_api import Browser


#: Seconds after which a test that waits for the browser is given up, with its worker: some waits have no end.
_GIVEN_UP_S = 300


@pytest.fixture(autouse=True)
def _end() -> Iterator[None]:
    """End what hangs: where tests run side by side, the others go on."""
    faulthandler.dump_traceback_later(_GIVEN_UP_S, exit=True)
    yield
    faulthandler.cancel_dump_traceback_later()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests of a run."""
    pytest.importorskip("playwright", reason="Playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    with open_browser() as running:
        yield running


@pytest.fixture(scope="session")
def site() -> Iterator[str]:
    """The scenario served on its day, in a store of its own: stories write into it."""
    with serve_scenario() as base:
        yield base
