"""Every page of the site map in a browser: read by everyone, on every width, with nothing refused and nobody asked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from demonstration_pages import QUESTIONS, list_form_pages, list_read_pages, list_table_pages
from page_checks import (
    find_axe_faults,
    find_focus_faults,
    find_forced_faults,
    find_order_faults,
    find_overflow,
    find_print_faults,
)
from scenario import load_scenario
from visitors import Visitor, visit

from api.questions import list_questions

if TYPE_CHECKING:
    from playwright.sync_api import Browser

#: As whom one looks: a lead with a role and a team of her own.
LOOKS_AS = "p001"
#: The pages of all tables are written by the same few parts; what takes long is looked at where they differ most.
THOROUGH = {"roles", "competencies", "assessments", "requirements", "cover-needs"}


@pytest.fixture(scope="module")
def visitor(browser: Browser, site: str) -> Iterator[Visitor]:
    with visit(browser, site, person=LOOKS_AS) as visitor:
        yield visitor


def test_every_question_has_its_page_here() -> None:
    assert set(QUESTIONS) == {question.name for question in list_questions()}


def test_pale_text_is_found_in_the_one_row_that_differs(visitor: Visitor) -> None:
    pale, row = '<tr class="pale"><td>held until May</td></tr>', "<tr><td>held until May</td></tr>"
    text = (
        "<style>.pale {{ color: #aaa }} td {{ background: white }}</style><h1>Held</h1><table><tbody>{}</tbody></table>"
    )
    page = visitor.page
    page.set_content(text.format(row * 6))
    assert not [told for told in find_axe_faults(page) if "contrast" in told]
    page.set_content(text.format(row * 6 + pale))
    assert [told for told in find_axe_faults(page) if "color-contrast (serious)" in told]


@pytest.mark.parametrize("address", list_read_pages(load_scenario()))
def test_a_page_is_read_by_everyone(visitor: Visitor, address: str) -> None:
    assert visitor.go(address) == 200
    page = visitor.page
    faults = find_order_faults(page) + find_axe_faults(page) + find_focus_faults(page)
    faults += find_print_faults(page) + find_forced_faults(page) + find_overflow(page)
    assert faults + visitor.take_heard() == []


@pytest.mark.parametrize("address", [*list_table_pages(load_scenario()), *list_form_pages(load_scenario())])
def test_a_page_of_a_table_is_read_by_everyone(visitor: Visitor, address: str) -> None:
    assert visitor.go(address) == 200
    page = visitor.page
    faults = find_order_faults(page) + find_overflow(page)
    if not THOROUGH.isdisjoint(address.split("/")):
        faults += find_axe_faults(page) + find_focus_faults(page) + find_forced_faults(page)
    assert faults + visitor.take_heard() == []
