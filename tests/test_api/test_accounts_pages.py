"""Accounts for who administers them, and invitations as the person who was invited meets them."""

from __future__ import annotations

import re
import time

import pytest
from access_parts import GOOD, OTHER
from signed_in import House

from api.access.accounts import Grant
from api.access.actor import Role


def find_link(text: str) -> str:
    """Return the path of the invitation that a page shows; "" where it shows none."""
    found = re.search(r"http://localhost(/invitations/[\w-]{43})", text)
    return found[1] if found else ""


def test_an_invitation_is_shown_once_and_used_once(house: House) -> None:
    admin = house.open("Admin")
    admin.get("/accounts")
    made = admin.send("/accounts", {"name": "Leila  Sorensen "})
    link, page = find_link(made.text), made.request.path
    assert page == f"/accounts/{house.number('Leila Sorensen')}"
    assert find_link(admin.get(page).text) == ""
    invited = house.open()
    opened = invited.get(link)
    assert opened.request.path == "/invitations", "the secret stays in no history"
    assert link.rsplit("/", 1)[1] not in opened.text
    assert "This invitation is for Leila Sorensen." in opened.text
    for bad in ("short", "passwordpassword", "leila sorensen leila"):
        refused = invited.send("/invitations", {"password": bad})
        assert refused.status_code == 422
        assert "This password cannot be used" in refused.text
    led = invited.send("/invitations", {"password": OTHER})
    assert led.status_code == 200
    assert '<a href="/account">Leila Sorensen</a>' in invited.get("/account").text
    again = house.open()
    assert again.get(link).status_code == 404
    assert "This invitation has ended" in again.page.text  # type: ignore[union-attr]
    assert "Leila" not in again.page.text  # type: ignore[union-attr]
    assert house.open().sign_in("Leila Sorensen", OTHER).status_code == 200


def test_an_invitation_ends_by_itself_and_with_a_newer_one(house: House) -> None:
    number = house.number("Reader")
    first, second = (f"/invitations/{house.access.invitations.make(number)}" for _ in range(2))
    assert house.open().get(first).status_code == 404
    assert house.open().get(second).status_code == 200
    house.clock.now += 72 * 3600
    assert house.open().get(second).status_code == 404
    for made_up in ("x", "%00", "a" * 4000, "..%2f..%2faccounts", "<script>"):
        assert house.open().get(f"/invitations/{made_up}").status_code == 404


def test_the_old_password_holds_until_the_new_one_is_set(house: House) -> None:
    secret = house.access.invitations.make(house.number("Lead"))
    signed_in = house.open("Lead")
    invited = house.open()
    invited.get(f"/invitations/{secret}")
    invited.send("/invitations", {"password": OTHER})
    assert house.access.sessions.list(house.number("Lead"))[0].about.startswith("Werkzeug")
    assert len(house.access.sessions.list(house.number("Lead"))) == 1, "what was open before has ended"
    assert signed_in.sign_in("Lead", GOOD).status_code == 422


def test_rights_are_given_as_the_form_says_and_hold_at_once(house: House) -> None:
    admin, number = house.open("Admin"), house.number("Reader")
    reader = house.open("Reader")
    page = f"/accounts/{number}"
    admin.get(page)
    typed = {
        "team-0": "works",
        "below-0": "1",
        "team-1": "works",
        "competency-0": "pump",
        "in-0": "works",
        "architect": "1",
    }
    assert "The rights hold from now on." in admin.send(f"{page}/rights", typed).text
    account = house.access.accounts.get(number)
    assert set(account.grants) == {
        Grant(Role.LEAD, "works", with_below=True),
        Grant(Role.ASSESSOR, "works", "pump"),
        Grant(Role.ARCHITECT),
    }
    assert house.access.sessions.list(number) == (), "the session is a new one when rights change (ASVS V7.2.4)"
    assert reader.client.get("/account").status_code in (303, 401)
    refused = admin.send(f"{page}/rights", {"team-0": "nowhere", "competency-0": "nothing"})
    assert refused.status_code == 422
    assert "there is no competency “nothing”, no team “nowhere”." in refused.text
    assert 'value="nowhere"' in refused.text, "nothing typed is lost"
    assert set(house.access.accounts.get(number).grants) == set(account.grants)


def test_an_account_is_tied_freed_signed_out_and_ended(house: House) -> None:
    admin, number = house.open("Admin"), house.number("Reader")
    page = f"/accounts/{number}"
    admin.get(page)
    assert "There is no such person." in admin.send(f"{page}/tie", {"person": "p77"}).text
    admin.send(f"{page}/tie", {"person": "p3"})
    assert house.access.accounts.get(number).person == "p3"
    house.open("Reader")
    admin.get(page)
    admin.send(f"{page}/sign-out")
    assert house.access.sessions.list(number) == ()
    for _ in range(100):
        house.clock.now += 1000
        house.access.accounts.check_password("Reader", OTHER)
    admin.sign_in("Admin")
    assert "is stopped after too many wrong passwords" in admin.get(page).text
    admin.send(f"{page}/free")
    assert house.open().sign_in("Reader").status_code == 200
    admin.get(page)
    admin.send(f"{page}/end")
    assert house.access.accounts.get(number).is_ended
    assert "has ended" in admin.get(page).text
    assert f'action="{page}/' not in admin.page.text  # type: ignore[union-attr]
    assert house.open().sign_in("Reader").status_code == 422


@pytest.mark.parametrize("act", ["rights", "tie", "end", "free", "invite", "sign-out"])
def test_nobody_does_any_of_it_to_their_own_account(house: House, act: str) -> None:
    admin, number = house.open("Admin"), house.number("Admin")
    assert f'action="/accounts/{number}/' not in admin.get(f"/accounts/{number}").text
    from signed_in import FIELD

    token = re.search(f'name="{FIELD}" value="([^"]+)"', admin.get("/sign-out").text)
    assert token is not None
    told = admin.client.post(f"/accounts/{number}/{act}", data={FIELD: token[1], "person": "p1", "architect": "1"})
    assert told.status_code == 403
    account = house.access.accounts.get(number)
    assert (account.person, account.grants, account.is_ended) == ("", (Grant(Role.ADMINISTRATOR),), False)


def test_rights_ask_for_the_password_again_and_keep_what_was_typed(house: House) -> None:
    admin, number = house.open("Admin"), house.number("Reader")
    admin.get(f"/accounts/{number}")
    house.clock.now += 601
    asked = admin.send(f"/accounts/{number}/rights", {"team-0": "works"})
    assert asked.status_code == 403
    assert house.access.accounts.get(number).grants == ()
    admin.send(f"/accounts/{number}/rights", {"password-again": GOOD})
    assert house.access.accounts.get(number).grants == (Grant(Role.LEAD, "works"),)


def test_what_happens_is_written_down_with_who_did_it(house: House) -> None:
    """OWASP ASVS 5.0.0, V16.3.1, V16.3.2."""
    admin = house.open("Admin")
    admin.get("/accounts")
    admin.send("/accounts", {"name": "New"})
    page = f"/accounts/{house.number('New')}"
    admin.send(f"{page}/rights", {"architect": "1"})
    house.open().sign_in("Lead", OTHER)
    reader = house.open("Reader")
    assert [reader.get(address).status_code for address in (page, "/accounts")] == [404, 404]
    refused = [event.account for event in house.access.events.list() if event.what == "refused: not allowed"]
    assert refused == ["Reader"], "once within the hour"
    told = {(event.account, event.what, event.by) for event in house.access.events.list()}
    assert {
        ("Admin", "signed in", ""),
        ("New", "account made", "Admin"),
        ("New", "invited", "Admin"),
        ("New", "rights changed", "Admin"),
        ("Lead", "wrong password", ""),
    } <= told
    shown = admin.get("/accounts/events").text
    assert "rights changed" in shown
    assert house.access.events.list(2) == house.access.events.list()[:2]


def test_a_name_that_is_markup_is_shown_as_it_is_written(house: House) -> None:
    """Stored XSS: OWASP ASVS 5.0.0, V1.2.1."""
    name = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"
    admin = house.open("Admin")
    admin.get("/accounts")
    made = admin.send("/accounts", {"name": name})
    link = find_link(made.text)
    invited = house.open()
    texts = [made.text, admin.get("/accounts").text, admin.get("/accounts/events").text, invited.get(link).text]
    invited.send("/invitations", {"password": GOOD})
    texts += [invited.get(path).text for path in ("/account", "/sign-out", "/framework")]
    invited.get("/account/tokens/new")
    texts.append(invited.send("/account/tokens/new", {"name": name, "kinds": "FRAMEWORK"}).text)
    texts.append(house.open().sign_in(name, OTHER).text)
    for text in texts:
        assert not re.search(r"&[#\w]*<wbr>", text), "a long word is broken between letters, not within one"
        assert "&lt;script&gt;alert(1)" in text.replace("<wbr>", "")
        assert "<script>alert" not in text
        assert "<img src=x" not in text


def test_the_first_page_tells_who_administers_what_waits(house: House) -> None:
    admin = house.open("Admin")
    house.clock.now = time.time()  # the day of the page is today's
    admin.sign_in("Admin")
    assert "4 accounts tied to nobody" not in admin.get("/").text
    assert "3 accounts tied to nobody." in admin.get("/").text
    made = house.access.accounts.make("Ann Arbor").number
    house.access.invitations.make(made)
    late = house.access.accounts.make("Bo Derek").number
    for _ in range(100):
        house.clock.now += 1000
        house.access.accounts.check_password("Reader", OTHER)
    house.clock.now = time.time() + 1
    told = admin.get("/")
    lead = "2 invitations not used yet, 1 account stopped after wrong passwords, 5 accounts tied to nobody."
    assert lead in told.text
    assert f'href="/accounts/{made}"' in told.text
    assert f'href="/accounts/{late}"' in told.text
    assert "in 3 days" in told.text
    assert "The invitation has ended: make a new one." in told.text
    assert "ETag" not in told.headers, "accounts change without the data"
    for other in ("Lead", "Architect", "Employee"):
        assert "tied to nobody" not in house.open(other).get("/").text
