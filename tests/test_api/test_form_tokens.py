"""No page of others can have a browser change anything: every form holds a token, and every change asks for one."""

from __future__ import annotations

import re

import pytest
from html_forms import read_page
from rest_company import ASKED, ROWS
from signed_in import FIELD, Browser, House

from api.access.actor import Scope
from api.access.rights import Kind, Verb
from api.http.form_tokens import add_tokens
from api.pages.writing import render


def list_pages(house: House) -> list[str]:
    """Return an address of every page: each rule with a record of its table in it, and each question as it is asked."""
    pages = list(ASKED.values())
    for rule in house.app.url_map.iter_rules():
        if "GET" not in (rule.methods or ()) or rule.rule.startswith(("/api", "/static", "/health")):
            continue
        parts = rule.rule.strip("/").split("/")
        table = parts[1 if parts[0] in ("new", "edit", "remove") and len(parts) > 1 else 0].replace("-", "_")
        known = str(ROWS.get(table, [{}])[0].get("id", "1"))
        pages.append(re.sub(r"<[^>]+>", known, rule.rule))
    return sorted(set(pages))


@pytest.mark.parametrize("name", ["Employee", "Lead", "Architect", "Admin"])
def test_no_form_of_any_page_that_changes_something_is_without_a_token(house: House, name: str) -> None:
    browser, seen = house.open(name), set()
    for address in list_pages(house):
        told = browser.client.get(address)
        for form in read_page(told.text).forms if told.mimetype == "text/html" else ():
            if form.method.lower() == "post":
                assert form.fields.get(FIELD), f"a form to {form.action} in {address}"
                seen.add(form.action)
            else:
                assert FIELD not in form.fields, f"the token would stand in an address, from {address}"
    assert len(seen) > 3


def test_a_page_has_one_way_out_and_that_adds_the_token() -> None:
    """Whoever writes pages past it would send forms without."""
    import inspect
    import pkgutil
    from importlib import import_module

    import api.http
    import api.site

    users = set()
    for room in (api.http, api.site):
        for found in pkgutil.iter_modules(room.__path__):
            module = import_module(f"{room.__name__}.{found.name}")
            if render in vars(module).values():
                users.add(module.__name__)
    assert users == {"api.http.page_text"}
    assert "add_tokens(" in inspect.getsource(import_module("api.http.page_text"))


def test_texts_that_look_like_forms_get_none(house: House) -> None:
    """Every text of a page is escaped, so that the tag of a form is a form."""
    with house.app.test_request_context(headers={"Cookie": _get_cookie(house.open("Lead"))}):
        for text in ('&lt;form method="post"&gt;', '<a title="<form>">', '<form method="get">', 'method="post"'):
            assert add_tokens(text) == text
        told = add_tokens('<form class="a" action="/me" method="post"><form METHOD="POST">')
        assert told.count(f'name="{FIELD}"') == 2


def _get_cookie(browser: Browser) -> str:
    cookie = browser.client.get_cookie("newel")
    assert cookie is not None
    return f"newel={cookie.value}"


CHANGES = [
    ("POST", "/account/sessions/end"),
    ("POST", "/account/password"),
    ("POST", "/account/tokens/new"),
    ("POST", "/account/shares"),
    ("POST", "/accounts"),
    ("POST", "/sign-out"),
    ("POST", "/loads/new"),
    ("POST", "/me/kept"),
    ("POST", "/new/roles"),
    ("POST", "/api/roles"),
    ("PUT", "/api/roles/operator"),
    ("DELETE", "/api/roles/operator"),
]


@pytest.mark.parametrize(("method", "address"), CHANGES)
def test_a_change_with_a_session_and_without_its_token_is_refused(house: House, method: str, address: str) -> None:
    """OWASP ASVS 5.0.0, V3.5.1: also under /api, also with the token of somebody else or of another session."""
    browser = house.open("Admin")
    own, foreign = _read_token(browser), _read_token(house.open("Lead"))
    other_session = _read_token(house.open("Admin"))
    for told in ({}, {FIELD: "made up"}, {FIELD: foreign}, {FIELD: other_session}, {FIELD: own + "x"}):
        refused = browser.client.open(address, method=method, data=told)
        assert refused.status_code == 403, told
        assert "not opened with your present sign-in" in refused.text
    assert "not opened with" not in browser.client.open(address, method=method, data={FIELD: own}).text


@pytest.mark.parametrize("headers", [{"Origin": "https://example.org"}, {"Sec-Fetch-Site": "cross-site"}])
def test_a_page_of_others_is_refused_even_with_the_token(house: House, headers: dict[str, str]) -> None:
    """OWASP ASVS 5.0.0, V3.5.3."""
    browser = house.open("Lead")
    told = {FIELD: _read_token(browser)}
    assert browser.client.post("/account/sessions/end", data=told, headers=headers).status_code == 403
    assert browser.client.post("/account/sessions/end", data=told).status_code == 303


def test_a_program_with_a_token_of_its_own_needs_none(house: House) -> None:
    scope = Scope(frozenset({Kind.FRAMEWORK}), frozenset(Verb))
    secret = house.access.tokens.make(house.number("Architect"), "writes roles", scope)
    headers = {"Authorization": f"Bearer {secret}", "Content-Type": "application/json"}
    browser = house.open("Lead")  # its cookie goes along, and is nobody's
    told = browser.client.post("/api/roles", data="{}", headers=headers)
    assert told.status_code == 422, told.text


def test_a_token_can_go_in_a_header(house: House) -> None:
    browser = house.open("Architect")
    token = _read_token(browser)
    assert browser.client.post("/api/roles", json={}, headers={"X-CSRFToken": token}).status_code == 422
    assert browser.client.post("/api/roles", json={}).status_code == 403


def test_a_form_that_was_open_while_the_password_was_asked_again_can_still_be_sent(house: House) -> None:
    from access_parts import GOOD

    browser = house.open("Lead")
    token = _read_token(browser)
    house.clock.now += 700
    browser.get("/account/tokens/new")
    assert browser.send("/account/confirm", {"password-again": GOOD}).status_code == 200
    assert browser.client.post("/account/sessions/end", data={FIELD: token}).status_code == 303


def test_to_look_changes_nothing(house: House) -> None:
    """Every address answers GET without ending a session, making a token or a share; only a refusal is written down."""
    browser = house.open("Employee")
    before = _count(house)
    for address in list_pages(house):
        browser.client.get(address)
    assert _count(house) == before


def _count(house: House) -> tuple[int, int, int, int]:
    access, number = house.access, house.number("Employee")
    listed = access.sessions.list(number), access.tokens.list(number), access.accounts.list()
    events = [one for one in access.events.list() if not one.what.startswith("refused")]
    return len(listed[0]), len(listed[1]), len(listed[2]), len(events)


def _read_token(browser: Browser) -> str:
    form = next(form for form in read_page(browser.get("/sign-out").text).forms if form.action == "/sign-out")
    return form.fields[FIELD]
