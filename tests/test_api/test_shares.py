"""A person shows a page of theirs to their lead until a day, and stops it."""

from __future__ import annotations

import datetime as dt

import pytest
from signed_in import House

from api.access.accounts import Grant
from api.access.actor import Actor, Role, Share
from api.access.shares import MOST, Shares
from api.http.context import EXTENSION
from ontology.errors import InputError

TODAY = dt.date(2026, 11, 24)
PAGE = "/people/p2/routes?to=chief"


def identify(house: House, name: str, on: dt.date = TODAY) -> Actor:
    secret = house.access.sessions.open(house.number(name))
    return house.access.identify(secret, "", house.graph.get_snapshot(), on)


def test_the_lead_of_their_team_is_shown_it_until_its_day_and_nobody_else(house: House) -> None:
    house.access.shares.show("p2", PAGE, dt.date(2026, 12, 1), TODAY)
    share = Share("p2", PAGE, dt.date(2026, 12, 1))
    assert identify(house, "Lead").shown == (share,)
    assert identify(house, "Lead", dt.date(2026, 12, 1)).shown == (share,)
    assert identify(house, "Lead", dt.date(2026, 12, 2)).shown == ()
    house.access.accounts.grant(house.number("Reader"), [Grant(Role.LEAD, "office")])
    for other in ("Employee", "Architect", "Admin", "Reader"):
        assert identify(house, other).shown == ()
    assert identify(house, "Lead").key != identify(house, "Lead", dt.date(2026, 12, 2)).key


@pytest.mark.parametrize(
    "address",
    [
        "/people/p1/routes?to=chief",
        "/people/p2",
        "/people/p22/routes",
        "//example.org/people/p2/routes",
        "/people/p2/routes#x",
        "/people/p2/routes\\x",
        "/people/p2/" + "x" * 2000,
        "/",
        "",
    ],
)
def test_only_a_page_of_ones_own_is_shown(house: House, address: str) -> None:
    with pytest.raises(InputError, match="Only a page of your own"):
        house.access.shares.show("p2", address, TODAY, TODAY)


@pytest.mark.parametrize("days", [-1, 366])
def test_it_is_shown_until_a_day_within_a_year(house: House, days: int) -> None:
    with pytest.raises(InputError, match="at most a year"):
        house.access.shares.show("p2", PAGE, TODAY + dt.timedelta(days=days), TODAY)


def test_the_same_page_is_shown_until_the_day_said_last_and_so_many_at_most(house: House) -> None:
    shares: Shares = house.access.shares
    for day in (5, 9):
        shares.show("p2", PAGE, TODAY + dt.timedelta(days=day), TODAY)
    (shown,) = shares.list("p2", TODAY)
    assert shown.share.until == TODAY + dt.timedelta(days=9)
    for n in range(MOST - 1):
        shares.show("p2", f"{PAGE}&n={n}", TODAY, TODAY)
    with pytest.raises(InputError, match="stop one first"):
        shares.show("p2", f"{PAGE}&n=more", TODAY, TODAY)
    assert not shares.stop("p1", shown.number)
    assert shares.stop("p2", shown.number)
    assert shares.erase("p2") == MOST - 1


def test_a_page_that_one_alone_sees_offers_to_show_it(house: House) -> None:
    today = house.app.extensions[EXTENSION].get_state().today
    browser = house.open("Employee")
    offered = browser.get(PAGE)
    assert "You alone see this page." in offered.text
    until = (today + dt.timedelta(days=7)).isoformat()
    shown = browser.send("/account/shares", {"until": until})
    assert "Your lead sees the page from now on." in shown.text
    assert f'href="{PAGE}"' in shown.text.replace("&amp;", "&")
    assert "Your lead sees this page until" in browser.get(PAGE).text
    browser.get("/account")
    browser.send("/account/shares/stop", {"number": str(house.access.shares.list("p2", today)[0].number)})
    assert house.access.shares.list("p2", today) == ()
    # of the role they hold, and of other people, there is nothing to show
    for address in ("/people/p2/gap", "/people/p2", "/people/p1/routes?to=chief", "/roles/operator", "/teams/works"):
        assert "Show this page to your lead" not in browser.get(address).text
    assert "Show this page to your lead" in browser.get("/people/p2/gap?role=chief").text
