"""How someone works a page: with a pointer, or with the keyboard alone. A story is told once, for either."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from visitors import Visitor

if TYPE_CHECKING:
    from playwright.sync_api import Locator

__all__ = ["Hand", "Keyboard"]

#: Where the pictures of stories are kept, to be looked at; no part of the project.
SEEN: Final = Path(__file__).resolve().parents[2] / "build" / "seen"
_MOST_TABS: Final = 400


class Hand:
    """Works a page with a pointer, or a finger."""

    def __init__(self, visitor: Visitor, story: str) -> None:
        self.visitor = visitor
        self.page = visitor.page
        self._story = story
        self._steps = 0

    def open(self, address: str) -> None:
        """Begin at an address."""
        assert self.visitor.go(address) == 200

    def press(self, target: Locator) -> None:
        """Press a link or a button, and wait until what it leads to has been computed."""
        with self.page.expect_navigation():
            self._press(target)
        for _ in range(120):
            address = self.page.url
            if "/computing/" not in address:
                return
            self.page.goto("about:blank")  # its script would go on by itself meanwhile
            self.page.wait_for_timeout(500)
            self.page.goto(address)
        raise AssertionError("it computes on and on")

    def link(self, name: str) -> None:
        """Press the first link of this name."""
        self.press(self.page.get_by_role("link", name=name).first)

    def button(self, name: str) -> None:
        """Press the button of this name."""
        self.press(self.page.get_by_role("button", name=name).first)

    def fill(self, label: str, text: str) -> None:
        """Type a text into the field of this label."""
        self._fill(self.page.get_by_label(label).first, text)

    def choose(self, label: str, words: str) -> None:
        """Choose one of a list by its words."""
        self._choose(self.page.get_by_label(label).first, words)

    def tick(self, label: str) -> None:
        """Tick a box."""
        self._tick(self.page.get_by_label(label).first)

    def lead(self) -> str:
        """Return the first sentence of the page."""
        return self.page.locator(".lead").first.inner_text()

    def see(self) -> None:
        """Keep a picture of the page, and hold that it fits and that nothing was heard."""
        self._steps += 1
        SEEN.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(path=SEEN / f"{self._story}-{self._steps}.png", full_page=True)
        widths = self.page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert widths[0] <= widths[1], f"wider than the window at {self.page.url}"
        assert self.visitor.take_heard() == []

    def _press(self, target: Locator) -> None:
        target.click()

    def _fill(self, target: Locator, text: str) -> None:
        target.fill(text)

    def _choose(self, target: Locator, words: str) -> None:
        target.select_option(label=words)

    def _tick(self, target: Locator) -> None:
        target.check()


class Keyboard(Hand):
    """Works a page with nothing but keys: what Tab does not reach cannot be used."""

    def _reach(self, target: Locator) -> None:
        target.wait_for()
        for _ in range(_MOST_TABS):
            if target.evaluate("one => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"Tab does not lead to {target}")

    def _press(self, target: Locator) -> None:
        self._reach(target)
        self.page.keyboard.press("Enter")

    def _fill(self, target: Locator, text: str) -> None:
        self._reach(target)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)

    def _choose(self, target: Locator, words: str) -> None:
        self._reach(target)
        # not by the words: where a machine is slow, a blank among them opens the list
        self.page.keyboard.press("Home")
        for _ in range(target.locator("option").all_text_contents().index(words)):
            self.page.keyboard.press("ArrowDown")
        assert target.locator("option:checked").text_content() == words

    def _tick(self, target: Locator) -> None:
        self._reach(target)
        self.page.keyboard.press("Space")
