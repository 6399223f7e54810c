"""A day of the architect and of the lead in a browser, from the first page to what is stored: on a desk's screen, on a
phone, with the keyboard alone, and without scripts. The employee's day is told in test_employee_story.py."""

from __future__ import annotations

import json
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

import pytest
from demonstration_pages import ON
from hands import Hand, Keyboard
from visitors import DESK, PHONE, visit

if TYPE_CHECKING:
    from playwright.sync_api import Browser

#: How one works -> the window, whether there are scripts, and with what one works.
WAYS: Final[dict[str, tuple[tuple[int, int], bool, type[Hand]]]] = {
    "desk": (DESK, True, Hand),
    "phone": (PHONE, True, Hand),
    "keyboard": (DESK, True, Keyboard),
    "no-scripts": (PHONE, False, Hand),
}
Begin = Callable[[str, str], Hand]


@pytest.fixture(params=WAYS)
def way(request: pytest.FixtureRequest) -> str:
    """How one works."""
    return str(request.param)


@contextmanager
def begin(browser: Browser, site: str, way: str, story: str, person: str) -> Iterator[Hand]:
    """Open a window as a person, or as nobody."""
    size, has_scripts, hand = WAYS[way]
    with visit(browser, site, size, has_scripts=has_scripts, person=person) as visitor:
        yield hand(visitor, f"{story}-{way}")


def read(site: str, address: str) -> Any:
    """Return what a program reads at an address."""
    with urllib.request.urlopen(site + address, timeout=60) as response:
        return json.load(response)


def test_an_architect_changes_what_a_role_asks(browser: Browser, site: str, way: str) -> None:
    level, words = {"desk": (3, "3 Explaining"), "phone": (4, "4 Guiding"), "keyboard": (1, "1 Aware")}.get(
        way, (2, "2 Applying")
    )
    with begin(browser, site, way, "architect", "") as hand:
        hand.open("/")
        hand.see()
        hand.link("Framework")
        assert "24 roles" in hand.lead()
        hand.see()
        hand.fill("Search", "sampler")
        hand.button("Search")
        hand.press(hand.page.get_by_role("main").get_by_role("link", name="Sampler", exact=True))
        hand.see()
        hand.link("Edit what it asks")
        hand.choose("Full level, Contact with customers", words)
        hand.see()
        hand.button("Store the change")
        assert hand.page.url.endswith("/roles/sampler#stored")
        assert words.partition(" ")[2] in hand.page.get_by_role("row", name="Contact with customers").inner_text()
        hand.see()
    assert read(site, "/api/requirements/sampler~customer-contact")["level"] == level


def test_a_lead_sees_what_breaks_and_records_a_level(browser: Browser, site: str, way: str) -> None:
    name, person = {
        "desk": ("Emeka Lindqvist", "p004"),
        "phone": ("Mirela Tanaka", "p008"),
        "keyboard": ("Yara Pettersen", "p012"),
    }.get(way, ("Lucia Brandvold", "p003"))
    with begin(browser, site, way, "lead", "p001") as hand:
        hand.open("/")
        assert "is short" in hand.lead()
        hand.see()
        hand.link("Cover at a glance")
        hand.tick("Leila Sorensen")
        if not WAYS[way][1]:
            hand.button("Show what holds")
        hand.page.get_by_text("was sole holder").first.wait_for()
        assert "Leila Sorensen" in hand.lead()
        hand.see()
        hand.open("/")
        hand.link("Record an assessment")
        hand.choose("Everyone, in a competency", "Water chemistry")
        hand.button("Show the sheet")
        hand.choose(f"New level of {name}", "1 Aware")
        hand.see()
        hand.press(hand.page.get_by_role("button", name="Store "))
        hand.see()
    stored = read(site, f"/api/assessments?person={person}&competency=water-chemistry")
    assert [(one["level"], one["assessor"]) for one in stored if one["date"] == ON] == [(1, "p001")]
