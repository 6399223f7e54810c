"""Signing in at a provider, against a real one: the way there and back, and what is refused on it."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from urllib.parse import parse_qs, urlencode, urlsplit, urlunsplit

import pytest
from access_parts import GOOD
from oidc import NEEDS, find_missing, sign_in_there, start_provider
from rest_company import build_company
from signed_in import Browser, House
from werkzeug.test import TestResponse

from api.access.provider import Identity, Provider
from ontology.live.live_graph import LiveGraph

pytestmark = pytest.mark.skipif(bool(find_missing()), reason=NEEDS)
BACK = "http://localhost/sign-in/provider/back"


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    graph = build_company()
    yield graph
    graph.close()


@pytest.fixture(scope="module")
def issuer() -> Iterator[str]:
    with start_provider(BACK) as issuer:
        yield issuer


@pytest.fixture
def house(graph: LiveGraph, issuer: str) -> House:
    house = House(graph)
    house.clock.now = _now()
    house.access.provider = Provider(issuer, "newel", "secret of newel", clock=house.clock)
    return house


def _now() -> float:
    import time

    return time.time()


def begin(browser: Browser, path: str = "/sign-in/provider?to=/account") -> str:
    """Return where the browser is sent to."""
    led = browser.client.get(path)
    assert led.status_code == 303, led.text
    return led.headers["Location"]


def come_back(browser: Browser, address: str, **changed: str) -> TestResponse:
    """Follow the provider's way back, with parameters changed where that is asked."""
    parts = urlsplit(address)
    query = {name: values[0] for name, values in parse_qs(parts.query).items()} | changed
    return browser.client.get(f"{parts.path}?{urlencode({k: v for k, v in query.items() if v})}")


def invite(house: House, name: str) -> Browser:
    """Return a browser in which the invitation of an account is open."""
    browser = house.open()
    browser.get(f"/invitations/{house.access.invitations.make(house.number(name))}")
    return browser


def join(house: House, name: str, subject: str) -> Browser:
    """Return a browser that has signed in by an invitation and the provider."""
    browser = invite(house, name)
    back = sign_in_there(begin(browser, "/sign-in/provider?to=/account&invited=1"), subject)
    assert come_back(browser, back).status_code == 303
    return browser


def test_who_was_invited_signs_in_there_and_from_then_on_without_a_password(house: House) -> None:
    invited = invite(house, "Reader")
    assert "Use the company&#39;s account instead" in invited.page.text.replace("'", "&#39;")  # type: ignore[union-attr]
    there = begin(invited, "/sign-in/provider?to=/account&invited=1")
    asked = parse_qs(urlsplit(there).query)
    assert asked["code_challenge_method"] == ["S256"]
    assert {"state", "nonce", "code_challenge"} <= asked.keys()
    assert asked["scope"] == ["openid"]
    led = come_back(invited, sign_in_there(there, "ann"))
    assert (led.status_code, led.headers["Location"]) == (303, "/account")
    assert "You are signed in as Reader" in invited.get("/account").text
    assert "Change your password" not in invited.page.text  # type: ignore[union-attr]
    again = house.open()
    assert "Sign in with the company" in again.get("/sign-in").text
    assert come_back(again, sign_in_there(begin(again), "ann")).status_code == 303
    assert "You are signed in as Reader" in again.get("/account").text
    assert house.open().sign_in("Reader", GOOD).status_code == 422, "the password of before is gone"


def test_who_was_not_invited_has_no_account(house: House) -> None:
    browser = house.open()
    told = come_back(browser, sign_in_there(begin(browser), "stranger"))
    assert told.status_code == 422
    assert "Ask your administrator for an invitation." in told.text
    assert browser.client.get("/account").status_code in (303, 401)


def test_a_name_there_that_is_a_name_here_is_nobody(house: House) -> None:
    """An account is found by issuer and subject only: OWASP ASVS 5.0.0, V6.8.1."""
    browser = house.open()
    assert come_back(browser, sign_in_there(begin(browser), "Admin")).status_code == 422


@pytest.mark.parametrize(
    "changed",
    [
        {"state": "made-up"},
        {"state": ""},
        {"code": "made-up"},
        {"code": ""},
        {"iss": "https://example.org"},
        {"code": "", "error": "access_denied"},
    ],
)
def test_a_way_back_that_was_changed_is_refused(house: House, changed: dict[str, str]) -> None:
    join(house, "Reader", "ann")
    browser = house.open()
    told = come_back(browser, sign_in_there(begin(browser), "ann"), **changed)
    assert told.status_code == 422
    assert browser.client.get("/account").status_code in (303, 401)


def test_the_way_back_of_one_browser_is_no_way_in_for_another(house: House) -> None:
    """Login CSRF: what was begun in one browser ends in no other."""
    join(house, "Reader", "ann")
    attacker, victim = house.open(), house.open()
    back = sign_in_there(begin(attacker), "ann")
    begin(victim)
    assert come_back(victim, back).status_code == 422
    assert victim.client.get("/account").status_code in (303, 401)


def test_a_code_comes_back_once(house: House) -> None:
    join(house, "Reader", "ann")
    browser = house.open()
    start = house.access.starts.take
    back = sign_in_there(begin(browser), "ann")
    cookie = browser.client.get_cookie("newel-start")
    assert cookie is not None
    assert come_back(browser, back).status_code == 303
    browser.client.set_cookie("newel-start", cookie.value)
    assert come_back(browser, back).status_code == 422, "the state was used"
    assert start(parse_qs(urlsplit(back).query)["state"][0]) is None


def test_a_code_that_was_used_is_refused_by_the_provider_too(house: House) -> None:
    access, browser = house.access, house.open()
    there = begin(browser)
    back = parse_qs(urlsplit(sign_in_there(there, "ann")).query)
    begun = access.starts.take(back["state"][0])
    assert begun is not None
    assert access.provider is not None
    assert access.provider.find_identity(begun, BACK, back["code"][0], "").subject == "ann"
    for wrong in (begun, dataclasses.replace(begun, verifier="x" * 43)):
        with pytest.raises(Exception, match="did not say who you are"):
            access.provider.find_identity(wrong, BACK, back["code"][0], "")


def change_address(address: str, **changed: str) -> str:
    parts = urlsplit(address)
    query = {name: values[0] for name, values in parse_qs(parts.query).items()} | changed
    return urlunsplit(parts._replace(query=urlencode(query)))


def test_a_token_with_another_nonce_is_refused(house: House) -> None:
    """OpenID Connect Core 1.0, section 3.1.3.7, 11."""
    join(house, "Reader", "ann")
    browser = house.open()
    there = change_address(begin(browser), nonce="of-another-start")
    assert come_back(browser, sign_in_there(there, "ann")).status_code == 422
    assert browser.client.get("/account").status_code in (303, 401)


def test_a_code_for_another_program_is_refused(house: House) -> None:
    """A code that somebody was given for another program at the same provider."""
    browser = house.open()
    there = change_address(begin(browser), client_id="other")
    assert come_back(browser, sign_in_there(there, "ann")).status_code == 422


def test_the_same_subject_at_another_provider_is_somebody_else(house: House, graph: LiveGraph) -> None:
    """OWASP ASVS 5.0.0, V10.5.2."""
    join(house, "Reader", "ann")
    with start_provider(BACK) as other:
        house.access.provider = Provider(other, "newel", "secret of newel", clock=house.clock)
        browser = house.open()
        told = come_back(browser, sign_in_there(begin(browser), "ann"))
        assert told.status_code == 422
        assert "You have no account here yet" in told.text


def test_somebody_has_one_account_and_an_invitation_is_not_used_up_in_vain(house: House) -> None:
    join(house, "Reader", "ann")
    browser = invite(house, "Employee")
    told = come_back(browser, sign_in_there(begin(browser, "/sign-in/provider?to=/&invited=1"), "ann"))
    assert (told.status_code, "You have an account already" in told.text) == (422, True)
    assert house.access.accounts.get(house.number("Employee")).has_password


def test_the_means_that_are_demanded_are_demanded(house: House, issuer: str) -> None:
    """OWASP ASVS 5.0.0, V6.8.4: this is how a second factor comes."""
    join(house, "Reader", "ann")
    for acr, amr in (("second-factor", ()), ("", ("pwd", "otp"))):
        provider = Provider(issuer, "newel", "secret of newel", acr=acr, amr=amr, clock=house.clock)
        house.access.provider = provider
        browser = house.open()
        told = come_back(browser, sign_in_there(begin(browser), "ann", "pwd"))
        assert (told.status_code, "a way that is not enough here" in told.text) == (422, True)
        assert come_back(browser, sign_in_there(begin(browser), "ann", "pwd otp")).status_code == 303


def test_to_sign_in_again_there_stands_for_the_password(house: House) -> None:
    browser = join(house, "Reader", "ann")
    house.clock.now += 601
    asked = browser.get("/account/tokens/new")
    assert "Sign in again with the company" in asked.text
    assert 'name="password-again"' not in asked.text
    there = begin(browser, "/account/confirm/provider?to=/account/tokens/new")
    assert parse_qs(urlsplit(there).query)["prompt"] == ["login"]
    house.clock.now = _now()
    before = browser.client.get_cookie("newel")
    led = come_back(browser, sign_in_there(there, "ann"))
    assert (led.status_code, led.headers["Location"]) == (303, "/account/tokens/new")
    after = browser.client.get_cookie("newel")
    assert before is not None
    assert after is not None
    assert before.value != after.value
    join(house, "Employee", "bob")
    other = begin(browser, "/account/confirm/provider?to=/account")
    assert come_back(browser, sign_in_there(other, "bob")).status_code == 422, "somebody else, who has an account too"


def test_an_account_that_has_ended_is_no_way_in(house: House) -> None:
    join(house, "Reader", "ann")
    house.access.accounts.end(house.number("Reader"))
    browser = house.open()
    assert come_back(browser, sign_in_there(begin(browser), "ann")).status_code == 422


def test_owners_shut_out_by_others_guesses_can_still_sign_in_there(house: House) -> None:
    join(house, "Reader", "ann")
    for _ in range(120):
        house.clock.now += 1000
        house.access.accounts.check_password("Reader", "a guess")
    house.clock.now = _now()
    browser = house.open()
    assert come_back(browser, sign_in_there(begin(browser), "ann")).status_code == 303


def test_a_provider_that_does_not_answer_is_told_as_that(house: House) -> None:
    house.access.provider = Provider("http://127.0.0.1:9", "newel", "secret", clock=house.clock)
    told = house.open().client.get("/sign-in/provider")
    assert told.status_code == 503
    assert Identity("a", "b") != Identity("c", "b")
