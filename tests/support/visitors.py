"""Who visits the pages with a real browser: one Chromium for a test run, a context for each width or way of looking.

A visit notes what the browser says that nobody should hear: its console, faults of scripts, what the policy refuses,
requests to anyone else.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from chromium import CHROMIUM

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

__all__ = ["DESK", "PHONE", "Visitor", "open_browser", "visit"]

DESK: Final = (1280, 900)
PHONE: Final = (390, 844)
_ARGUMENTS: Final = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
)  # fmt: skip


@contextmanager
def open_browser() -> Iterator[Browser]:
    """Run the system's Chromium while the block runs."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=list(_ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


class Visitor:
    """One window, and what was heard in it."""

    def __init__(self, context: BrowserContext, base: str) -> None:
        self.base = base
        self.context = context
        self.page: Page = context.new_page()
        self.heard: list[str] = []
        self.page.on("console", lambda message: self.heard.append(f"console: {message.text} {message.location['url']}"))
        self.page.on("pageerror", lambda error: self.heard.append(f"script: {error}"))
        self.page.on("request", self._note_request)
        self.page.on("requestfailed", self._note_failed)

    def _note_request(self, request: Any) -> None:
        if not request.url.startswith((self.base, "data:", "blob:")):
            self.heard.append(f"asks someone else: {request.url}")

    def _note_failed(self, request: Any) -> None:
        # what a newer request or the next page overtakes is given up on purpose
        if "ERR_ABORTED" not in str(request.failure):
            self.heard.append(f"failed: {request.url} {request.failure}")

    def go(self, address: str) -> int:
        """Open an address; return its status. What computes in the background is waited for."""
        self.heard.clear()
        response = self.page.goto(self.base + address)
        assert response is not None
        for _ in range(60):
            if response.status != 202:
                break
            self.page.goto("about:blank")  # its script would go on by itself meanwhile
            time.sleep(0.5)
            response = self.page.goto(self.base + address)
            assert response is not None
        return response.status

    def take_heard(self) -> list[str]:
        """Return what was heard since the last time."""
        heard, self.heard = self.heard, []
        return heard


@contextmanager
def visit(
    browser: Browser, base: str, size: tuple[int, int] = DESK, *, has_scripts: bool = True, person: str = ""
) -> Iterator[Visitor]:
    """Open a window of a size; `person` is as whom one looks."""
    width, height = size
    context = browser.new_context(
        viewport={"width": width, "height": height}, java_script_enabled=has_scripts, locale="en-GB"
    )
    context.set_default_timeout(30_000)  # a busy machine is no fault of the page
    if person:
        context.add_cookies([{"name": "newel-looks-as", "value": person, "url": base}])
    try:
        yield Visitor(context, base)
    finally:
        context.close()
