"""The search in a browser: suggestions while one types, by keyboard and without scripts, on a desk and on a phone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from visitors import DESK, PHONE, visit

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

FIELD = "#search-words"
LINKS = ".suggested a"


def get_focus(page: Page) -> str:
    """Return the text of what has the focus, or its id where it has none."""
    return str(page.evaluate("document.activeElement.textContent || document.activeElement.id"))


def test_suggestions_come_after_two_letters_and_are_reached_by_the_arrow(browser: Browser, site: str) -> None:
    for size in (DESK, PHONE):
        with visit(browser, site, size) as visitor:
            page = visitor.page
            assert visitor.go("/words") == 200
            page.locator(FIELD).press_sequentially("t")
            page.wait_for_timeout(400)
            assert page.locator(LINKS).count() == 0
            page.locator(FIELD).press_sequentially("reatment op")
            page.locator(LINKS).first.wait_for()
            assert 1 <= page.locator(LINKS).count() <= 8
            page.keyboard.press("ArrowDown")
            assert get_focus(page) == page.locator(LINKS).first.text_content()
            page.keyboard.press("Escape")
            assert page.locator(LINKS).count() == 0
            assert get_focus(page) == "search-words"
            assert page.locator(FIELD).input_value() == "treatment op"
            assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
            assert visitor.heard == []


def test_a_suggestion_leads_to_its_page_by_keyboard_alone(browser: Browser, site: str) -> None:
    with visit(browser, site) as visitor:
        page = visitor.page
        assert visitor.go("/words") == 200
        page.locator(FIELD).press_sequentially("treatment superv")
        page.locator(LINKS).first.wait_for()
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        page.wait_for_url("**/roles/treatment-supervisor")
        assert page.locator("h1").text_content() == "Treatment supervisor"


def test_the_search_works_without_scripts(browser: Browser, site: str) -> None:
    with visit(browser, site, has_scripts=False) as visitor:
        page = visitor.page
        assert visitor.go("/words") == 200
        page.locator(FIELD).fill("leak loc")
        page.keyboard.press("Enter")
        page.wait_for_url("**/search?q=leak+loc")
        page.get_by_role("link", name="Leak location").first.click()
        page.wait_for_url("**/competencies/**")
        assert page.locator("h1").text_content() == "Leak location"


def test_the_framework_is_browsed_down_its_tree(browser: Browser, site: str) -> None:
    for has_scripts in (True, False):
        with visit(browser, site, PHONE, has_scripts=has_scripts) as visitor:
            page = visitor.page
            assert visitor.go("/competencies?show=tree") == 200
            leaf = page.get_by_role("link", name="Leak location")
            assert not leaf.is_visible()
            branch = page.locator(".tree > li", has=page.get_by_role("link", name="Pipes and connections"))
            branch.locator("summary").first.click()
            leaf.click()
            page.wait_for_url("**/competencies/**")
            assert page.locator("h1").text_content() == "Leak location"
            assert visitor.heard == []
