"""A program's token opens what its scope and its account leave, from the header alone, until it ends."""

from __future__ import annotations

import logging

import pytest
from access_parts import GOOD
from signed_in import House

from api.access.actor import Scope
from api.access.rights import Kind, Verb

SEE_FRAMEWORK = Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE}))
EVERYTHING = Scope(frozenset(Kind), frozenset(Verb))


def bear(secret: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {secret}"}


def test_a_scope_leaves_no_more_than_it_says(house: House) -> None:
    client = house.app.test_client()
    own = bear(house.access.tokens.make(house.number("Lead"), "all", EVERYTHING))
    narrow = bear(house.access.tokens.make(house.number("Lead"), "narrow", SEE_FRAMEWORK))
    statuses = {
        address: (client.get(address, headers=own).status_code, client.get(address, headers=narrow).status_code)
        for address in ("/api/roles", "/api/teams/works/coverage", "/api/people/p1/levels")
    }
    assert statuses["/api/roles"] == (200, 200)
    assert all(told[0] == 200 and told[1] in (403, 404) for told in list(statuses.values())[1:])
    assert client.delete("/api/roles/operator", headers=narrow).status_code in (403, 404)


def test_a_scope_never_widens_what_the_account_may(house: House) -> None:
    """The rights are those of the account now: OWASP ASVS 5.0.0, V8.3.2."""
    client, number = house.app.test_client(), house.number("Lead")
    headers = bear(house.access.tokens.make(number, "all", EVERYTHING))
    reader = bear(house.access.tokens.make(house.number("Reader"), "all", EVERYTHING))
    assert client.get("/api/teams/works/coverage", headers=headers).status_code == 200
    assert client.get("/api/teams/works/coverage", headers=reader).status_code in (403, 404)
    house.access.accounts.grant(number, [])
    assert client.get("/api/teams/works/coverage", headers=headers).status_code in (403, 404)
    house.access.accounts.end(number)
    assert client.get("/api/roles", headers=headers).status_code == 401


def test_a_token_ends_and_is_told_as_one_that_never_was(house: House) -> None:
    client = house.app.test_client()
    secret = house.access.tokens.make(house.number("Lead"), "short", SEE_FRAMEWORK, days=1)
    assert client.get("/api/roles", headers=bear(secret)).status_code == 200
    house.clock.now += 86_401
    ended, unknown = (client.get("/api/roles", headers=bear(one)) for one in (secret, "nwl_" + "x" * 43))
    assert ended.status_code == unknown.status_code == 401
    assert ended.headers["WWW-Authenticate"] == 'Bearer realm="Newel", error="invalid_token"'
    assert client.get("/api/roles").headers["WWW-Authenticate"] == 'Bearer realm="Newel"'
    assert ended.json == unknown.json


@pytest.mark.parametrize("name", ["token", "access_token", "Authorization", "bearer"])
def test_a_token_in_an_address_opens_nothing(house: House, name: str) -> None:
    """OWASP ASVS 5.0.0, V14.2.1."""
    secret = house.access.tokens.make(house.number("Lead"), "export", SEE_FRAMEWORK)
    assert house.app.test_client().get(f"/api/roles?{name}={secret}").status_code == 401
    assert house.app.test_client().post("/sign-in", data={name: secret}).status_code == 422


def test_with_a_token_the_cookie_says_nothing(house: House) -> None:
    browser = house.open("Lead")
    narrow = bear(house.access.tokens.make(house.number("Reader"), "narrow", SEE_FRAMEWORK))
    assert browser.client.get("/api/teams/works/coverage").status_code == 200
    assert browser.client.get("/api/teams/works/coverage", headers=narrow).status_code in (403, 404)
    assert browser.client.get("/api/roles", headers=bear("nwl_made-up")).status_code == 401


def test_what_concerns_an_account_is_done_with_a_browser(house: House) -> None:
    """A token that was stolen makes no other, changes no password and gives no rights."""
    client = house.open("Admin").client  # its cookie says nothing then
    headers = bear(house.access.tokens.make(house.number("Admin"), "all", EVERYTHING))
    for address in ("/account", "/account/tokens/new", "/sign-out"):
        assert client.get(address, headers=headers).status_code == 401, address
    typed = {"name": "another", "days": "1", "kinds": "FRAMEWORK", "verbs": "see", "old": GOOD, "architect": "1"}
    for address in (
        "/account/tokens/new",
        "/account/password",
        "/accounts",
        f"/accounts/{house.number('Lead')}/rights",
    ):
        assert client.post(address, data=typed, headers=headers).status_code == 401, address
    assert len(house.access.tokens.list(house.number("Admin"))) == 1


def test_other_credentials_in_the_header_do_not_excuse_a_form_from_its_token(house: House) -> None:
    """What a proxy in front asks for (RFC 7617) is sent along by browsers too, as cookies are."""
    browser = house.open("Lead")
    basic = {"Authorization": "Basic bmV3ZWw6bmV3ZWw="}
    assert browser.client.get("/api/roles", headers=basic).status_code == 200
    assert browser.client.post("/account/sessions/end", headers=basic).status_code == 403


def test_no_log_holds_a_token(house: House, caplog: pytest.LogCaptureFixture) -> None:
    secret = house.access.tokens.make(house.number("Lead"), "export", SEE_FRAMEWORK)
    with caplog.at_level(logging.DEBUG):
        for address in ("/api/roles", "/api/nowhere", f"/api/roles?token={secret}", "/api/teams/works/coverage"):
            house.app.test_client().get(address, headers=bear(secret))
    assert secret not in caplog.text
    assert secret[4:] not in "".join(str(vars(record)) for record in caplog.records)
