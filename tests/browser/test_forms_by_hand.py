"""Forms in a browser: where one stands after a refusal, what is offered while one types, what is not left unasked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from visitors import visit

if TYPE_CHECKING:
    from playwright.sync_api import Browser

WATER = "/edit/requirements/sampler~water-chemistry"


def get_focus(page: Any) -> str:
    """Return the id of what has the focus, once something has: a browser gives it a moment after the page is there."""
    focused = ""
    for _ in range(50):
        focused = str(page.evaluate("document.activeElement.id"))
        if focused:
            break
        page.wait_for_timeout(100)
    return focused


def test_a_refusal_is_read_first_and_leads_to_its_field(browser: Browser, site: str) -> None:
    for has_scripts in (True, False):
        with visit(browser, site, has_scripts=has_scripts) as visitor:
            page = visitor.page
            assert visitor.go(WATER) == 200
            page.get_by_label("Weight").fill("7")
            page.get_by_role("button", name="Store the change").click()
            assert page.title().startswith("1 value is wrong: Sampler asks Water chemistry")
            assert get_focus(page) == "wrong"
            page.get_by_role("link", name="Weight: Must be at most 5").press("Enter")
            assert get_focus(page) == "field-weight"
            assert page.get_by_label("Weight").input_value() == "7"
            # what was refused is what the form began with now: nothing is lost by leaving it
            page.get_by_role("link", name="Leave it as it was").click()
            page.wait_for_url("**/requirements/sampler~water-chemistry")


def test_what_was_typed_is_not_left_behind_unasked(browser: Browser, site: str) -> None:
    with visit(browser, site) as visitor:
        page = visitor.page
        asked: list[str] = []

        def stay(dialog: Any) -> None:
            asked.append(dialog.type)
            dialog.dismiss()

        page.on("dialog", stay)
        assert visitor.go(WATER) == 200
        page.get_by_role("link", name="Leave it as it was").click()
        page.wait_for_url("**/requirements/sampler~water-chemistry")
        assert asked == []
        assert visitor.go(WATER) == 200
        before = page.get_by_label("Weight").input_value()
        page.get_by_label("Weight").fill("4")
        page.get_by_role("link", name="Leave it as it was").click(no_wait_after=True)
        page.wait_for_timeout(300)
        assert asked == ["beforeunload"]
        assert page.url.endswith(WATER)
        assert page.get_by_label("Weight").input_value() == "4"
        # a window that would still ask is not closed
        page.get_by_label("Weight").fill(before)


def test_records_are_offered_by_name_beside_their_id(browser: Browser, site: str) -> None:
    with visit(browser, site) as visitor:
        page = visitor.page
        assert visitor.go("/new/requirements") == 200
        offered = page.evaluate(
            "Object.fromEntries([...document.getElementById('field-role').list.options].map((o) => [o.value, o.label]))"
        )
        assert offered["sampler"] == "Sampler"
        # in the filters of a list a script asks for what was begun
        assert visitor.go("/requirements") == 200
        page.get_by_text("Only those with").click()
        with page.expect_response("**/api/find?**"):
            page.get_by_label("Competency", exact=True).press_sequentially("chlor", delay=20)
        page.wait_for_timeout(200)
        names = page.evaluate("[...document.getElementById('field-competency').list.options].map((o) => o.label)")
        assert names
        assert all("hlor" in name for name in names), names


def test_a_page_of_figures_can_be_printed_by_a_button(browser: Browser, site: str) -> None:
    with visit(browser, site) as visitor:
        for address in (
            "/requirements",
            "/teams/treatment/staffing",
            "/people/p008/development-plan?role=treatment-operator",
        ):
            assert visitor.go(address) == 200
            visitor.page.evaluate("window.print = () => { window.isPrinted = true; }")
            visitor.page.get_by_role("button", name="Print", exact=True).click()
            assert visitor.page.evaluate("window.isPrinted")


def test_the_button_says_how_many_levels_are_filled_in(browser: Browser, site: str) -> None:
    sheet = "/teams/treatment/assess?competency=disinfection-control"
    with visit(browser, site) as visitor:
        visitor.go(sheet)
        button = visitor.page.locator("button[data-counts]")
        levels = visitor.page.locator("select[name^='level.']")
        told = [button.inner_text()]
        for at, level in ((0, "2"), (1, "3"), (0, ""), (1, "")):
            levels.nth(at).select_option(level)
            told.append(button.inner_text())
    counted = ["Store 1 assessment", "Store 2 assessments", "Store 1 assessment"]
    assert told == ["Store the assessments", *counted, "Store the assessments"]
    with visit(browser, site, has_scripts=False) as visitor:
        visitor.go(sheet)
        assert visitor.page.locator("button[data-counts]").inner_text() == "Store the assessments"


def test_after_a_form_is_stored_the_page_says_so_once(browser: Browser, site: str) -> None:
    for has_scripts in (True, False):
        with visit(browser, site, has_scripts=has_scripts) as visitor:
            page = visitor.page
            visitor.go("/edit/roles/sampler")
            page.get_by_role("button", name="Store the change").click()
            page.wait_for_url("**/roles/sampler#stored")
            told = page.get_by_text("Stored. What stands here is how it is now.")
            assert told.is_visible()
            page.goto("about:blank")
            assert visitor.go("/roles/sampler") == 200
            assert not told.is_visible()
