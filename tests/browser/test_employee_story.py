"""An employee's day in a browser: where I stand, a role, the ways there, the plan of the first move, kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from page_checks import find_axe_faults, find_overflow
from visitors import DESK, PHONE, Visitor, visit

if TYPE_CHECKING:
    from playwright.sync_api import Browser

#: Width and height, and whether scripts run.
LOOKS = {"desk": (DESK, True), "phone": (PHONE, True), "phone without scripts": (PHONE, False)}


def wait_for_answer(visitor: Visitor, address: str) -> None:
    """Go on from the page of a computation, which scripts leave by themselves."""
    for _ in range(60):
        if "/computing/" not in visitor.page.url:
            return
        visitor.page.wait_for_timeout(500)
        visitor.page.goto(visitor.base + address)


@pytest.mark.parametrize("look", LOOKS)
def test_from_where_i_stand_to_a_kept_plan(browser: Browser, site: str, look: str) -> None:
    size, has_scripts = LOOKS[look]
    with visit(browser, site, size, has_scripts=has_scripts) as visitor:
        keep_a_plan(visitor, has_scripts=has_scripts)


def keep_a_plan(visitor: Visitor, *, has_scripts: bool) -> None:
    page = visitor.page
    visitor.go("/me?q=mirela")
    page.get_by_role("button", name="Mirela Tanaka", exact=True).click()
    assert page.locator("h1").inner_text() == "Mirela Tanaka, Treatment assistant"
    assert "1 of 1 that blocks, 7 of 7 essential" in page.locator(".lead").inner_text()
    page.get_by_label("Role I would like to look at").fill("Senior treatment operator")
    page.get_by_role("button", name="Show the ways there").click()
    wait_for_answer(visitor, "/people/p008/routes?to=senior-treatment-operator")
    first = page.locator(".oneway").first
    assert first.get_by_role("heading").inner_text() == "Through Treatment operator"
    assert "154 h before" in first.inner_text()
    first.get_by_role("link", name="See the first plan with dates").click()
    wait_for_answer(visitor, "/people/p008/schedule?role=treatment-operator&levels=entry")
    assert "154 h of study lead to the first day as Treatment operator." in page.locator("main").inner_text()
    page.get_by_role("button", name="Keep this plan").click()
    assert page.locator("h1").inner_text() == "Kept ways and plans"
    kept = page.get_by_role("link", name="The first day as Treatment operator")
    assert kept.count() == 1
    if has_scripts:
        assert find_axe_faults(page) + find_overflow(page) == []
    page.get_by_role("button", name="Remove The first day as Treatment operator").click()
    assert "You have kept nothing yet." in page.locator("main").inner_text()
    assert visitor.take_heard() == []


def test_with_the_keyboard_alone(browser: Browser, site: str) -> None:
    with visit(browser, site, person="p008") as visitor:
        page = visitor.page
        visitor.go("/people/p008")
        reach(visitor, "to")
        page.keyboard.type("Sampler")
        page.keyboard.press("Escape")
        press_enter(visitor)
        wait_for_answer(visitor, "/people/p008/routes?to=sampler")
        reach(visitor, "See the first plan with dates")
        press_enter(visitor)
        wait_for_answer(visitor, "/people/p008/schedule?role=sampler&levels=entry")
        reach(visitor, "Keep this plan")
        press_enter(visitor)
        assert "The first day as Sampler" in page.locator("main").inner_text()


def press_enter(visitor: Visitor) -> None:
    with visitor.page.expect_navigation():
        visitor.page.keyboard.press("Enter")


def reach(visitor: Visitor, wanted: str) -> None:
    """Press Tab until something of this id or these words has the focus."""
    page = visitor.page
    page.wait_for_load_state()
    for _ in range(80):
        page.keyboard.press("Tab")
        focused = page.evaluate("[document.activeElement.id, document.activeElement.textContent.trim()]")
        if wanted in focused:
            return
    raise AssertionError(f"the keyboard does not reach {wanted}")
