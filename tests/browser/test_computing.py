"""A slow answer in a browser: the page looks by itself how far it is; without scripts there is a link for it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hard_company import build_hard_company
from loopback import serve
from page_checks import find_axe_faults, find_overflow
from visitors import PHONE, visit

from api.app import create_app

if TYPE_CHECKING:
    from playwright.sync_api import Browser

SLOW = "/people/{}/learning-path?role=r0&time_limit={}"


@pytest.fixture(scope="module")
def hard_site() -> Iterator[str]:
    graph = build_hard_company()
    with serve(create_app(graph), threads=8) as port:
        yield f"http://127.0.0.1:{port}"
    graph.close()


def test_the_page_goes_on_to_the_answer_by_itself(browser: Browser, hard_site: str) -> None:
    from playwright.sync_api import expect

    with visit(browser, hard_site) as visitor:
        page = visitor.page
        page.goto(hard_site + SLOW.format("p0", 4))
        assert re.search(r"/computing/\d+$", page.url)
        bar = page.get_by_role("progressbar")
        expect(bar).to_have_attribute("value", re.compile("[23]"))
        assert bar.get_attribute("max") == "4"
        page.wait_for_url("**/people/p0/learning-path?**", timeout=30_000)
        assert "this is the best found" in page.locator(".lead").first.inner_text()
        assert page.get_by_role("heading", name="Or ask something smaller").is_visible()
        assert visitor.take_heard() == []


def test_the_page_is_read_by_everyone_while_it_computes(browser: Browser, hard_site: str) -> None:
    with visit(browser, hard_site) as visitor:
        page = visitor.page
        page.goto(hard_site + SLOW.format("p2", 60))
        assert find_axe_faults(page) + find_overflow(page) + visitor.take_heard() == []
        page.get_by_role("button", name="Cancel").click()


def test_without_scripts_one_looks_again_and_cancels(browser: Browser, hard_site: str) -> None:
    with visit(browser, hard_site, PHONE, has_scripts=False) as visitor:
        page = visitor.page
        page.goto(hard_site + SLOW.format("p1", 60))
        page.get_by_role("link", name="Look again").click()
        assert "at most 60 s" in page.locator(".lead").inner_text()
        page.get_by_role("button", name="Cancel").click()
        while page.get_by_role("link", name="Look again").count():
            assert "Stopping" in page.locator(".lead").inner_text()
            page.get_by_role("link", name="Look again").click()
        assert page.locator(".lead").inner_text().startswith("Cancelled after")
        page.get_by_role("link", name="See the best so far").click()
        assert re.search(r"/people/p1/learning-path\?", page.url)
        assert visitor.take_heard() == []
