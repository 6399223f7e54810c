"""Signing in and out with a browser: the pages, the cookie, where one is led, what is never told."""

from __future__ import annotations

import html
import re

import pytest
from access_parts import GOOD, OTHER
from signed_in import FIELD, Browser, House
from werkzeug.test import TestResponse

from api.http.own_paths import find_own_path
from api.settings import Settings
from ontology.live.live_graph import LiveGraph


def get_session_cookie(browser: Browser, name: str = "newel") -> str:
    """Return the secret that the browser brings along."""
    cookie = browser.client.get_cookie(name)
    return cookie.value if cookie is not None else ""


def post_sign_in(house: House, name: str, password: str) -> TestResponse:
    browser = house.open()
    browser.get("/sign-in")
    return browser.send("/sign-in", {"name": name, "password": password})


def test_a_name_and_its_password_lead_to_where_one_wanted_to_go(house: House) -> None:
    browser = house.open()
    told = browser.get("/sign-in?to=/framework?on=2026-11-24")
    assert "Sign out" not in told.text, "nobody has signed in"
    assert "/teams" not in told.text, "there is nowhere to go but in"
    led = browser.sign_in("Lead", to="/framework?on=2026-11-24")
    assert (led.status_code, led.request.path, led.request.args["on"]) == (200, "/framework", "2026-11-24")
    assert '<a href="/account">Lead</a> <a href="/sign-out">Sign out</a>' in led.text
    assert browser.get("/sign-in?to=/account").request.path == "/account", "who has signed in is led on"


@pytest.mark.parametrize(("name", "password"), [("Lead", OTHER), ("Nobody", GOOD), ("Lead", ""), ("", "")])
def test_what_is_wrong_is_told_in_one_sentence_and_the_name_stays(house: House, name: str, password: str) -> None:
    refused = post_sign_in(house, name, password)
    assert refused.status_code == 422
    assert "<title>Name or password is wrong." in refused.text
    assert f'value="{name}"' in refused.text
    assert password not in refused.text or not password
    known, unknown = (post_sign_in(house, one, OTHER).text for one in ("Admin", "Ndmia"))
    assert known.replace("Admin", "") == unknown.replace("Ndmia", ""), "the same bytes, whether there is an account"


def test_too_many_tries_are_told_how_long_to_wait(house: House) -> None:
    for _ in range(20):
        assert post_sign_in(house, "Nobody", OTHER).status_code == 422
    stopped = post_sign_in(house, "Lead", GOOD)
    assert (stopped.status_code, stopped.headers["Retry-After"]) == (429, "300")
    assert 'value="Lead"' in stopped.text
    house.clock.now += 301
    assert post_sign_in(house, "Lead", GOOD).status_code == 200


def test_an_account_waits_longer_each_time_while_its_open_session_goes_on(house: House) -> None:
    """The waits of access.py's throttle: 1, 2, 4 s after the fifth wrong password; a right one meanwhile is refused."""
    owner = house.open("Lead")
    for wait in (0, 0, 0, 0, 0, 1, 2, 4):
        house.clock.now += max(wait, 16)  # the tries of one address do not get in the way
        assert post_sign_in(house, "Lead", OTHER).status_code == 422
    assert post_sign_in(house, "Lead", GOOD).status_code == 422, "a right password during a wait"
    assert owner.get("/account").status_code == 200, "who has signed in is not shut out by others"
    house.clock.now += 9
    assert post_sign_in(house, "Lead", GOOD).status_code == 200


def test_the_cookie_is_kept_from_scripts_and_other_sites(graph: LiveGraph) -> None:
    """OWASP ASVS 5.0.0, V3.3.1 to 3.3.4."""
    settings = Settings(public_url="https://skills.example.org")
    client = House(graph, settings).app.test_client()
    told = client.post(
        "/sign-in",
        data={"name": "Lead", "password": GOOD},
        base_url="https://skills.example.org",
        headers={"Origin": "https://skills.example.org", "Sec-Fetch-Site": "same-origin"},
    )
    assert told.status_code == 303
    (cookie,) = told.headers.getlist("Set-Cookie")
    assert cookie.startswith("__Host-newel=")
    assert {part.strip() for part in cookie.split(";")[1:]} == {"Secure", "HttpOnly", "Path=/", "SameSite=Lax"}
    assert told.headers["Strict-Transport-Security"] == "max-age=31536000; includeSubDomains"
    plain = House(graph).app.test_client().post("/sign-in", data={"name": "Lead", "password": GOOD})
    (cookie,) = plain.headers.getlist("Set-Cookie")
    assert cookie.startswith("newel=")
    assert {part.strip() for part in cookie.split(";")[1:]} == {"HttpOnly", "Path=/", "SameSite=Lax"}
    assert "Strict-Transport-Security" not in plain.headers


def test_what_lay_in_the_browser_before_never_becomes_a_session(house: House) -> None:
    """Session fixation: OWASP ASVS 5.0.0, V7.2.4."""
    browser = house.open()
    browser.client.set_cookie("newel", "laid-there-by-somebody")
    browser.sign_in("Lead")
    first = get_session_cookie(browser)
    assert first not in ("", "laid-there-by-somebody")
    browser.client.post("/sign-in", data={"name": "Lead", "password": GOOD, FIELD: _read_token(browser)})
    second = get_session_cookie(browser)
    assert second not in ("", first)
    assert house.access.sessions.find(first) is None, "the session of before has ended"


def _read_token(browser: Browser) -> str:
    return html.unescape(re.findall(f'name="{FIELD}" value="([^"]*)"', browser.get("/sign-out").text)[0])


def test_signing_out_is_a_page_with_a_button_and_ends_the_session(house: House) -> None:
    browser = house.open("Lead")
    secret = get_session_cookie(browser)
    asked = browser.get("/sign-out")
    assert house.access.sessions.find(secret) is not None, "to look at the page ends nothing"
    assert "You are signed in as Lead." in asked.text
    out = browser.client.post("/sign-out", data={FIELD: _read_token(browser)})
    assert out.headers["Clear-Site-Data"] == '"cache", "cookies", "storage"'
    assert get_session_cookie(browser) == ""
    assert house.access.sessions.find(secret) is None
    assert "You have signed out." in browser.get(out.headers["Location"]).text


def test_a_session_ends_after_an_hour_without_use_and_after_twelve_in_all(house: House) -> None:
    """OWASP ASVS 5.0.0, V7.3.1, V7.3.2."""
    idle, used = house.open("Employee"), house.open("Lead")
    for _ in range(12):
        house.clock.now += 3580
        assert "You are signed in as Lead." in used.get("/sign-out").text
    assert house.access.sessions.find(get_session_cookie(idle)) is None
    house.clock.now += 12 * 20 + 1
    assert house.access.sessions.find(get_session_cookie(used)) is None
    assert used.sign_in("Lead", to="/account").status_code == 200, "a cookie that has ended is in nobody's way"


@pytest.mark.parametrize(
    "to",
    [
        "https://example.org",
        "http://example.org/teams",
        "//example.org",
        "///example.org",
        "/\\example.org",
        "\\\\example.org",
        "/\t/example.org",
        "/\n/example.org",
        "javascript:alert(1)",
        "JaVaScRiPt:alert(1)",
        "data:text/html,x",
        "example.org",
        " //example.org",
        "/%0d%0aSet-Cookie:a=b\r\nSet-Cookie: a=b",
        "/teams with blanks",
        "/" + "x" * 3000,
        "",
    ],
)
def test_one_is_led_to_a_path_of_ours_only(house: House, to: str) -> None:
    """Open redirect: OWASP ASVS 5.0.0, V3.7.2."""
    assert find_own_path(to) == "/"
    led = house.app.test_client().post("/sign-in", data={"name": "Lead", "password": GOOD, "to": to})
    assert (led.status_code, led.headers["Location"]) == (303, "/")
    assert "Set-Cookie: a" not in str(led.headers)


def test_the_public_address_is_served_and_no_other_name(graph: LiveGraph) -> None:
    app = House(graph, Settings(public_url="https://skills.example.org")).app
    assert app.test_client().get("/sign-in", headers={"Host": "skills.example.org"}).status_code == 200
    for host in ("example.org", "skills.example.org.example.net", "skills.example.org:8000"):
        assert app.test_client().get("/sign-in", headers={"Host": host}).status_code == 421


def test_without_accounts_nothing_says_sign_in(graph: LiveGraph) -> None:
    from api.app import create_app

    client = create_app(graph).test_client()
    for path in ("/", "/me", "/framework"):
        text = client.get(path).text
        assert "Sign" not in text.replace("Until there is sign-in", "")
        assert FIELD not in text
    assert client.get("/sign-in").status_code == 404
    assert client.get("/account").status_code == 404


@pytest.mark.parametrize(
    ("name", "ways"),
    [
        ("", []),
        ("Reader", ["/framework"]),
        ("Employee", ["/framework", "/me", "/teams"]),
        ("Lead", ["/framework", "/me", "/teams"]),
        ("Architect", ["/framework", "/teams"]),
        ("Admin", ["/framework", "/teams"]),
    ],
)
def test_a_way_in_that_one_may_not_go_is_not_shown(house: House, name: str, ways: list[str]) -> None:
    browser = house.open(name)
    told = browser.get("/framework" if name else "/sign-in").text
    nav = re.search(r'<nav class="ways".*?</nav>', told)
    shown = re.findall(r'href="([^"]+)"', nav[0]) if nav else []
    assert shown == ways
    assert all(browser.client.get(way).status_code in (200, 303) for way in ways)


def test_where_nothing_can_be_written_signing_in_says_so_and_opens_nothing(house: House) -> None:
    """A full disk, as SQLite meets it at a largest number of pages."""
    with house.access.database.begin() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1")
    client, statuses = house.app.test_client(), []
    while not statuses or (statuses[-1] == 303 and len(statuses) < 500):
        from_where = {"REMOTE_ADDR": f"192.0.2.{len(statuses) % 250}"}
        told = client.post("/sign-in", data={"name": "Lead", "password": GOOD}, environ_base=from_where)
        statuses.append(told.status_code)
        client = house.app.test_client()
    assert statuses[-1] == 507
    assert "cannot be read or written at the moment: database or disk is full" in told.text
    assert "Set-Cookie" not in told.headers
    assert len(house.access.sessions.list(house.number("Lead"))) == len(statuses) - 1
