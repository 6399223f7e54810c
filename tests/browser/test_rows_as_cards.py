"""Tables where there is little room: a card is headed by what its row is about, no word pushes columns out of sight.

Reflow at 320 px: WCAG 2.2, 1.4.10.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from loopback import serve
from page_checks import find_overflow
from rest_company import build_company
from visitors import DESK, PHONE, visit

from api.app import create_app
from ontology.live.live_graph import Change

if TYPE_CHECKING:
    from playwright.sync_api import Browser

WORD = "Abwasserdruckrohrleitungsinstandhaltungskoordinationsaufgaben"
NARROW = (320, 700)
#: Pages whose tables tell the competency with the long name.
TELLING = (
    "/teams/works/coverage",
    "/teams/works/fragile-needs",
    "/people/p2",
    "/people/p2/gap?role=operator",
    "/roles/operator",
    "/competencies",
    "/teams/works/assess?competency=pump",
)
#: How many windows of tables hide a part of what they hold.
HIDDEN = """
() => [...document.querySelectorAll(".rows")].filter((one) => one.scrollWidth > one.clientWidth + 1)
  .map((one) => `${one.querySelector("caption")?.textContent}: ${one.scrollWidth} of ${one.clientWidth} px`)
"""
#: Cards in which something stands above what the row is about.
HEADED = """
() => [...document.querySelectorAll("table.cards tbody tr")].filter((row) => {
  const head = row.querySelector("th")?.getBoundingClientRect();
  return head && [...row.cells].some((cell) => cell.getBoundingClientRect().top < head.top - 1);
}).map((row) => row.textContent.trim().slice(0, 40))
"""


@pytest.fixture(scope="module")
def long_names() -> Iterator[str]:
    """The small company, one of whose competencies has a name of one long word."""
    graph = build_company()
    named = replace(graph.get_snapshot().competencies["pump"], label=WORD)
    graph.apply(Change((("competencies", named),)), who="test", why="renamed")
    with serve(create_app(graph), threads=4) as port:
        yield f"http://127.0.0.1:{port}"
    graph.close()


@pytest.mark.parametrize("size", [DESK, PHONE, NARROW], ids=lambda size: f"{size[0]} px")
def test_a_long_word_breaks_and_every_column_stays_in_sight(
    browser: Browser, long_names: str, size: tuple[int, int]
) -> None:
    assert len(WORD) >= 60
    found = {}
    with visit(browser, long_names, size) as visitor:
        for address in TELLING:
            assert visitor.go(address) == 200, address
            assert WORD in visitor.page.locator("main").text_content(), address
            faults = [*visitor.page.evaluate(HIDDEN), *find_overflow(visitor.page)]
            found |= {address: faults} if faults else {}
    assert not found


@pytest.mark.parametrize(
    "address",
    [
        "/people/p008/schedule?role=treatment-operator&levels=entry",
        "/people/p063/learning-path?role=laboratory-analyst",
        "/sessions/briefing-dec-3/waiting-list",
        "/teams/treatment/coverage",
        "/teams",
        "/framework",
    ],
)
def test_a_card_is_headed_by_what_its_row_is_about(browser: Browser, site: str, address: str) -> None:
    with visit(browser, site, PHONE) as visitor:
        assert visitor.go(address) == 200
        assert visitor.page.locator("table.cards tbody th").count()
        assert visitor.page.evaluate(HEADED) == []
        assert not visitor.page.locator('table.cards tbody th[data-column="No."]').count()
