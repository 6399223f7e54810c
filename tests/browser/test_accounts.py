"""Signing in, with a password and at a real provider, and every page of accounts, in a browser."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from access_parts import GOOD, OTHER, Clock
from loopback import serve
from oidc import NEEDS, find_missing, start_provider
from page_checks import find_axe_faults, find_focus_faults, find_forced_faults, find_order_faults, find_overflow
from rest_company import build_company
from signed_in import House
from visitors import DESK, PHONE, Visitor, visit

from api.access.provider import Provider
from ontology.live.live_graph import Change
from ontology.model.tables import TABLES

if TYPE_CHECKING:
    from playwright.sync_api import Browser

MARKUP = "<script>alert(1)</script><img src=x onerror=alert(2)>\"'"


@pytest.fixture(scope="module")
def house() -> Iterator[House]:
    graph = build_company()
    yield House(graph, clock=Clock(time.time()))
    graph.close()


@pytest.fixture(scope="module")
def base(house: House) -> Iterator[str]:
    with serve(house.app, threads=8) as port:
        yield f"http://127.0.0.1:{port}"


def sign_in(visitor: Visitor, name: str, password: str = GOOD) -> None:
    page = visitor.page
    page.goto(f"{visitor.base}/sign-in?to=/account")
    page.fill("#name", name)
    page.fill("#password", password)
    page.click("button.first")
    assert page.url == f"{visitor.base}/account"


def find_faults(visitor: Visitor) -> list[str]:
    page = visitor.page
    faults = find_order_faults(page) + find_axe_faults(page) + find_focus_faults(page) + find_forced_faults(page)
    return faults + find_overflow(page)


@pytest.mark.parametrize(
    ("name", "addresses"),
    [
        ("", ["/sign-in", "/sign-in?signed-out"]),
        ("Lead", ["/account", "/account/tokens/new", "/account/confirm?to=/account/tokens/new", "/sign-out"]),
        ("Architect", ["/account", "/account/purpose"]),
        ("Employee", ["/account", "/people/p2/routes?to=chief"]),
        ("Admin", ["/accounts", "/accounts/2", "/accounts/1", "/accounts/events"]),
    ],
)
def test_pages_of_accounts_are_read_by_everyone(
    browser: Browser, house: House, base: str, name: str, addresses: list[str]
) -> None:
    with visit(browser, base) as visitor:
        if name:
            sign_in(visitor, name)
        for address in addresses:
            # the password is asked for again only once a while has passed
            house.clock.now += 700 if "confirm" in address else 0
            assert visitor.go(address) == 200, address
            # that a form should name its user is advice to password managers, and no fault
            heard = [told for told in visitor.take_heard() if "[DOM]" not in told]
            assert find_faults(visitor) + heard == [], address


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_somebody_is_invited_sets_a_password_and_signs_out(
    browser: Browser, house: House, base: str, size: tuple[int, int]
) -> None:
    name = f"Invited at {size[0]}"
    with visit(browser, base, size) as admin, visit(browser, base, size, has_scripts=False) as invited:
        sign_in(admin, "Admin")
        admin.go("/accounts")
        admin.page.fill("#name", name)
        admin.page.click("text=Make an invitation")
        link = admin.page.inner_text("pre")
        admin.page.reload()
        assert admin.page.locator("pre").count() == 0, "it is shown once"
        page = invited.page
        page.goto(link)
        assert page.url == f"{base}/invitations"
        page.fill("#password", "short, but not that short")
        page.locator("#password").press("Enter")
        page.goto(f"{base}/account")
        assert name in page.inner_text(".who")
        secret = next(cookie for cookie in invited.context.cookies() if cookie["name"] == "newel")
        assert (secret["httpOnly"], secret["sameSite"]) == (True, "Lax")
        page.click("text=Sign out >> nth=0")
        page.click("button.first")
        assert "You have signed out." in page.inner_text("main")
        assert [cookie for cookie in invited.context.cookies() if cookie["name"] == "newel"] == []


def test_a_purpose_is_stated_by_name_without_scripts(browser: Browser, house: House, base: str) -> None:
    change = Change(put=(("people", TABLES["people"].build(id="p8", name="Ada Example", team="office")),))
    house.graph.apply(change, who="test", why="two of one name")
    with visit(browser, base, PHONE, has_scripts=False) as visitor:
        sign_in(visitor, "Architect")
        visitor.go("/account/purpose")
        page = visitor.page
        page.check("[name=reason][value=audit]")
        page.fill("#words", "yearly audit")
        page.fill("#person", "Ada Example")
        page.click("text=State it")
        assert "2 people are called Ada Example." in page.inner_text("[role=alert]")
        page.check("text=p8, Office")
        page.click("text=State it")
        assert page.url == f"{base}/account?done=purpose"
    assert [one.person for one in house.access.purposes.list(house.number("Architect"))] == ["p8"]


@pytest.mark.skipif(bool(find_missing()), reason=NEEDS)
def test_the_way_to_a_real_provider_and_back(browser: Browser, house: House, base: str) -> None:
    with start_provider(f"{base}/sign-in/provider/back") as issuer:
        house.access.provider = Provider(issuer, "newel", "secret of newel")
        try:
            _sign_in_at_provider(browser, house, base)
        finally:
            house.access.provider = None


def _sign_in_at_provider(browser: Browser, house: House, base: str) -> None:
    secret = house.access.invitations.make(house.number("Reader"))
    for path, link in ((f"/invitations/{secret}", "Use the company's account instead"), ("/sign-in?to=/account", "")):
        with visit(browser, base) as visitor:
            page = visitor.page
            page.goto(base + path)
            assert find_faults(visitor) == []
            page.click(f"text={link or 'Sign in with the company'}")
            page.fill("[name=login]", "ann")
            page.click("button")
            page.goto(f"{base}/account")
            assert "You are signed in as Reader" in page.inner_text("main")
            # another site leads here: the policy of ours stops nothing on the way
            assert not [told for told in visitor.heard if "Content Security" in told or "Refused" in told]


def test_a_name_that_is_markup_runs_nowhere(browser: Browser, house: House, base: str) -> None:
    """Stored XSS: OWASP ASVS 5.0.0, V1.2.1; what the policy would have stopped is heard too."""
    number = house.access.accounts.make(MARKUP).number
    house.access.accounts.set_password(number, OTHER)
    dialogs: list[str] = []
    for name, password, addresses in (
        (MARKUP, OTHER, ["/account", "/sign-out", "/framework"]),
        ("Admin", GOOD, ["/accounts", f"/accounts/{number}", "/accounts/events"]),
    ):
        with visit(browser, base) as visitor:
            visitor.page.on("dialog", lambda dialog: dialogs.append(dialog.message))
            sign_in(visitor, name, password)
            for address in addresses:
                assert visitor.go(address) == 200
                assert "<script>alert(1)" in visitor.page.inner_text("body")
                assert [told for told in visitor.take_heard() if "[DOM]" not in told] == []
    assert dialogs == []
