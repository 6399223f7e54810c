"""Signing in, and who asks by what a request brings along."""

from __future__ import annotations

import datetime as dt

import pytest
from access_parts import GOOD, OTHER, Clock, quicken
from rest_company import build_company

from api.access.access import Access, read_bearer
from api.access.accounts import Grant
from api.access.actor import Actor, Role, Scope
from api.access.rights import Kind, Verb
from api.errors import ThrottledError, UnauthenticatedError, build_problem, get_kind
from ontology.snapshot.snapshot import Snapshot

ON = dt.date(2026, 11, 24)
HERE = "192.0.2.1"
SCOPE = Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE}))


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    return build_company().get_snapshot()


@pytest.fixture
def access() -> Access:
    access = Access(None, Clock())
    quicken(access.passwords)
    number = access.accounts.make("Lead", [Grant(Role.LEAD, "works")]).number
    access.accounts.set_password(number, GOOD)
    return access


def test_a_name_and_its_password_open_a_session(access: Access, snapshot: Snapshot) -> None:
    secret = access.sign_in("lead", GOOD, address=HERE, about="Chromium")
    actor = access.identify(secret, "", snapshot, ON)
    assert (actor.account, actor.name, actor.leads) == (1, "Lead", {"works"})
    assert access.sessions.list(1)[0].about == "Chromium"


def test_every_way_to_be_wrong_is_told_alike(access: Access) -> None:
    ended = access.accounts.make("Ended").number
    access.accounts.set_password(ended, GOOD)
    access.accounts.end(ended)
    access.accounts.make("Invited")
    told = set()
    for name, password in (
        ("Lead", OTHER),
        ("Nobody", GOOD),
        ("Ended", GOOD),
        ("Invited", GOOD),
        ("", ""),
        ("Lead", ""),
    ):
        with pytest.raises(UnauthenticatedError) as caught:
            access.sign_in(name, password, address=HERE)
        told.add(repr(build_problem(caught.value)))
    assert len(told) == 1
    assert "Name or password is wrong." in told.pop()
    assert get_kind(UnauthenticatedError("x")).status == 401


def test_the_session_of_before_is_never_the_one_of_after(access: Access, snapshot: Snapshot) -> None:
    first = access.sign_in("Lead", GOOD, address=HERE)
    second = access.sign_in("Lead", GOOD, address=HERE, old=first)
    assert first != second
    assert not access.identify(first, "", snapshot, ON).is_signed_in
    # what somebody else laid into the browser opens nothing and becomes nothing
    third = access.sign_in("Lead", GOOD, address=HERE, old="laid there")
    assert third != "laid there"
    assert not access.identify("laid there", "", snapshot, ON).is_signed_in


def test_too_many_tries_from_an_address_are_told_how_long_to_wait(access: Access) -> None:
    for _ in range(20):
        with pytest.raises(UnauthenticatedError):
            access.sign_in("Nobody", OTHER, address=HERE)
    with pytest.raises(ThrottledError) as caught:
        access.sign_in("Lead", GOOD, address=HERE)
    assert (caught.value.retry_after_s, get_kind(caught.value).status) == (300, 429)
    assert access.sign_in("Lead", GOOD, address="192.0.2.2")


def test_a_token_wins_over_a_cookie_and_a_wrong_one_is_nobodys(access: Access, snapshot: Snapshot) -> None:
    session = access.sign_in("Lead", GOOD, address=HERE)
    token = access.tokens.make(1, "export", SCOPE)
    assert access.identify(session, token, snapshot, ON).scope == SCOPE
    assert access.identify("", token, snapshot, ON).account == 1
    for wrong in ("nwl_wrong", token[4:], session):
        assert access.identify(session, wrong, snapshot, ON) == Actor()
    assert access.identify(token, "", snapshot, ON) == Actor(), "a token is no session"
    access.accounts.end(1)
    assert access.identify(session, "", snapshot, ON) == access.identify("", token, snapshot, ON) == Actor()


def test_what_is_no_bearer_holds_no_token() -> None:
    for header in ("", "nwl_x", "Bearer", "Basic nwl_x", "Bearernwl_x"):
        assert read_bearer(header) == ""
    assert read_bearer("BEARER nwl_x ") == "nwl_x"
