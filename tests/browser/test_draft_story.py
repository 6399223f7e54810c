"""Someone who never did it makes a draft, edits a requirement on it, sees the change, publishes, and takes it back."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from loopback import serve
from page_checks import find_axe_faults, find_focus_faults, find_overflow
from rest_company import build_company
from visitors import DESK, PHONE, Visitor, visit

from api.app import create_app
from ontology.live.live_graph import Change, LiveGraph

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture
def graph() -> Iterator[LiveGraph]:
    graph = build_company()
    yield graph
    graph.close()


@pytest.fixture
def own_site(graph: LiveGraph) -> Iterator[str]:
    with serve(create_app(graph), threads=8) as port:
        yield f"http://127.0.0.1:{port}"


def find_faults(visitor: Visitor) -> list[str]:
    page = visitor.page
    return find_axe_faults(page) + find_focus_faults(page) + find_overflow(page) + visitor.take_heard()


def change_elsewhere(graph: LiveGraph) -> None:
    """Publish another weight of what the draft changes, as someone else would."""
    record = graph.get_snapshot().get_record("requirements", ("operator", "pump"))
    other = dataclasses.replace(record, weight=1.5)
    graph.apply(Change(put=(("requirements", other),)), who="ana", why="replaced requirements/operator~pump: Lighter")


def get_weight(graph: LiveGraph) -> float:
    return float(graph.get_snapshot().get_record("requirements", ("operator", "pump")).weight)


def walk(visitor: Visitor, graph: LiveGraph, *, is_looked_at: bool) -> None:
    """Go from the framework's page to a release and back, by what stands on the pages alone."""
    page, before = visitor.page, 1.5

    def look() -> None:
        if is_looked_at:
            # that a form is refused the browser says, too
            assert [fault for fault in find_faults(visitor) if " 422 " not in fault] == [], page.url

    def read() -> str:
        return str(page.locator("main").inner_text())

    assert visitor.go("/framework") == 200
    page.get_by_label("Title of the draft").fill("Heavier pumps")
    page.get_by_role("button", name="Start a draft").click()
    assert "Draft Heavier pumps, not published" in page.locator("body").inner_text()
    look()
    page.get_by_role("link", name="All roles as a list").click()
    page.get_by_role("link", name="Operator", exact=True).click()
    page.get_by_role("link", name="Edit what it asks").click()
    page.get_by_label("Weight, Pump operation").fill("4.5")
    page.get_by_role("button", name="Store the change").click()
    assert "Draft Heavier pumps, not published" in page.locator("body").inner_text()
    assert get_weight(graph) not in (before, 4.5), "nobody's answers differ"
    page.get_by_role("link", name="See what it changes, or publish it").click()
    assert "changes 1 requirement; nobody's answers differ until it is published." in read()
    assert "Weight of Pump operation for Operator raised from " in read()
    look()
    page.get_by_role("link", name="See its effect").click()
    assert page.url.endswith("/effect")
    look()
    page.go_back()
    change_elsewhere(graph)
    page.reload()
    assert "Before it can be published: decide 1 conflict." in read()
    look()
    page.get_by_role("button", name="Take the draft's Operator asks Pump operation: Weight").click()
    assert "Conflicts to decide" not in read()
    page.get_by_label("Name of the release").fill("7")
    page.get_by_label("Why you publish it").fill("Pumps are heavier now")
    page.get_by_role("button", name="Publish", exact=True).click()
    assert "Nothing was done" in read()
    assert page.get_by_label("Why you publish it").input_value() == "Pumps are heavier now", "nothing typed is lost"
    look()
    page.get_by_label("Name of the release").fill("2027.1")
    page.get_by_role("button", name="Publish", exact=True).click()
    assert "1 release; the latest is 2027.1" in read()
    assert get_weight(graph) == 4.5
    look()
    page.get_by_role("link", name="Take it back by a draft").click()
    page.get_by_role("button", name="Start a draft").click()
    page.get_by_label("Name of the release").fill("2027.2")
    page.get_by_label("Why you publish it").fill("Too early")
    page.get_by_role("button", name="Publish", exact=True).click()
    assert "2 releases; the latest is 2027.2" in read()
    assert get_weight(graph) == before


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_a_draft_is_made_seen_published_and_taken_back(
    size: tuple[int, int], browser: Browser, own_site: str, graph: LiveGraph
) -> None:
    with visit(browser, own_site, size) as visitor:
        walk(visitor, graph, is_looked_at=True)


def test_it_goes_without_scripts(browser: Browser, own_site: str, graph: LiveGraph) -> None:
    with visit(browser, own_site, PHONE, has_scripts=False) as visitor:
        walk(visitor, graph, is_looked_at=False)
