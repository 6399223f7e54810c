"""An architect loads tables in a browser: what is wrong is read by cell, mended or left out, then stored."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from loopback import serve
from page_checks import find_axe_faults, find_focus_faults, find_overflow
from rest_company import build_company
from visitors import DESK, PHONE, Visitor, visit

from api.app import create_app

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROLES = "id,label,family\nguide,Guide,plant\nlate,Late guide,plant\n"
FAULTY = "role,competency,level\nhelper,valve,9\nhelper,juggling,1\nhelper,pump,2\n"


@pytest.fixture
def own_site() -> Iterator[str]:
    graph = build_company()
    with serve(create_app(graph), threads=8) as port:
        yield f"http://127.0.0.1:{port}"
    graph.close()


def choose(visitor: Visitor, path: Path, text: str) -> None:
    path.write_text(text)
    visitor.page.get_by_label("File", exact=True).set_input_files(path)


def find_faults(visitor: Visitor) -> list[str]:
    page = visitor.page
    return find_axe_faults(page) + find_focus_faults(page) + find_overflow(page) + visitor.take_heard()


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_a_faulty_file_is_read_mended_and_stored(
    size: tuple[int, int], browser: Browser, own_site: str, tmp_path: Path
) -> None:
    with visit(browser, own_site, size) as visitor:
        page = visitor.page
        assert visitor.go("/framework") == 200
        page.get_by_role("link", name="Load tables").click()
        assert find_faults(visitor) == []
        choose(visitor, tmp_path / "requirements.csv", FAULTY)
        page.get_by_role("button", name="Check it").click()
        assert page.get_by_role("heading", level=1).inner_text() == "Nothing is stored: 2 cells are wrong"
        assert find_faults(visitor) == []
        page.get_by_role("link", name="requirements C2").click()
        assert page.locator(":target .boxed").inner_text() == "9"
        page.get_by_role("link", name="Send a mended file").click()
        choose(visitor, tmp_path / "requirements.csv", FAULTY.replace(",9", ",3").replace("juggling", "licence"))
        page.get_by_role("button", name="Check it").click()
        assert page.get_by_role("heading", level=1).inner_text() == "Nothing is stored yet: 3 rows can be stored"
        page.get_by_label("Why you load it").fill("What helpers must know")
        page.get_by_role("button", name="Store it").click()
        assert page.get_by_role("heading", level=1).inner_text() == "Stored: 2 new rows, 1 changed"
        assert find_faults(visitor) == []
        visitor.go("/roles/helper")
        assert "Valve work" in page.locator("main").inner_text()
        assert visitor.take_heard() == []


def test_it_goes_without_scripts_and_what_is_faulty_can_be_left_out(
    browser: Browser, own_site: str, tmp_path: Path
) -> None:
    with visit(browser, own_site, PHONE, has_scripts=False) as visitor:
        page = visitor.page
        visitor.go("/loads/new")
        choose(visitor, tmp_path / "requirements.csv", FAULTY)
        page.get_by_role("button", name="Check it").click()
        page.get_by_role("button", name="Store the rest without these 2 rows").click()
        assert page.get_by_role("heading", level=1).inner_text() == "Stored: 1 changed"
        visitor.go("/loads/new")
        choose(visitor, tmp_path / "roles.csv", ROLES)
        page.get_by_role("button", name="Check it").click()
        page.get_by_role("button", name="Throw it away").click()
        assert page.url.endswith("/loads/new")


def test_it_goes_by_keyboard_alone(browser: Browser, own_site: str, tmp_path: Path) -> None:
    with visit(browser, own_site) as visitor:
        page = visitor.page
        visitor.go("/loads/new")
        choose(visitor, tmp_path / "roles.csv", ROLES)
        page.get_by_label("File", exact=True).focus()
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.textContent") == "Check it"
        page.keyboard.press("Enter")
        page.wait_for_url("**/loads/1")
        for _ in range(20):
            page.keyboard.press("Tab")
            if page.evaluate("document.activeElement.textContent") == "Store it":
                break
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="Stored: 2 new rows").wait_for()
        assert visitor.take_heard() == []
