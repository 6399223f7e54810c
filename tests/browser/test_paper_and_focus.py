"""Pages on paper, and what has the focus on them: seen at each stop of Tab."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from page_checks import count_paper_pages
from visitors import DESK, visit

if TYPE_CHECKING:
    from playwright.sync_api import Browser

#: Page -> at most so many sheets of A4.
SHEETS = {
    "/": 4,
    "/roles/treatment-operator": 3,
    "/competencies/disinfection-control": 4,
    "/people/p008": 4,
    "/people/p008/gap?role=treatment-operator": 4,
    "/people/p008/routes?to=treatment-operator": 4,
    "/people/p008/schedule?role=treatment-operator&levels=entry": 4,
    "/teams/treatment/coverage?away=p014": 4,
    "/teams/treatment/staffing": 4,
    "/teams/treatment/training-timetable": 5,
    "/company-cover": 4,
    "/words": 6,
}
#: Pages with every kind of thing that can have the focus, and how many stops are looked at.
STOPS = {"/teams/treatment/coverage": 40, "/edit/roles/sampler": 30}


def test_pages_are_a_few_sheets_of_paper(browser: Browser, site: str) -> None:
    counted = {}
    with visit(browser, site, person="p001") as visitor:
        for address in SHEETS:
            assert visitor.go(address) == 200
            counted[address] = count_paper_pages(visitor.page)
    assert {address: n for address, n in counted.items() if not 1 <= n <= SHEETS[address]} == {}


@pytest.mark.parametrize("address", STOPS)
def test_what_has_the_focus_is_seen_at_each_stop(browser: Browser, site: str, address: str) -> None:
    with visit(browser, site, DESK, person="p001") as visitor:
        assert visitor.go(address) == 200
        page = visitor.page
        seen = 0
        for _ in range(STOPS[address]):
            page.keyboard.press("Tab")
            box = page.evaluate(
                """() => {
                  const one = document.activeElement;
                  if (one === document.body) return null;
                  one.scrollIntoView({block: "center"});
                  const {x, y, width, height} = one.getBoundingClientRect();
                  return {x: Math.max(0, x - 6), y: Math.max(0, y - 6), width: width + 12, height: height + 12};
                }"""
            )
            if box is None:  # all the stops have been seen
                break
            with_focus = page.screenshot(clip=box)
            page.evaluate("document.activeElement.classList.add('was-here'), document.activeElement.blur()")
            without = page.screenshot(clip=box)
            name = page.evaluate("document.querySelector('.was-here').outerHTML.slice(0, 80)")
            assert with_focus != without, f"{name} looks the same with the focus"
            page.evaluate(
                """() => {
                  const one = document.querySelector(".was-here");
                  one.classList.remove("was-here");
                  one.focus({focusVisible: true});
                }"""
            )
            seen += 1
        assert seen >= 20
