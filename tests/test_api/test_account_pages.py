"""One's own account: what it says, the password changed, sessions and tokens ended, purposes, the password again."""

from __future__ import annotations

import re

import pytest
from access_parts import GOOD, OTHER
from rest_company import build_company
from signed_in import FIELD, Browser, House
from werkzeug.test import TestResponse

from api.access.access import Access
from api.access.accounts import Grant
from api.access.actor import Role
from api.access.rights import Kind, Verb
from api.desk.names import Names
from api.pages.account_words import list_rights, tell_page
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES


def find_secret(text: str) -> str:
    found = re.search(r"nwl_[\w-]{43}", text)
    return found[0] if found else ""


def test_it_says_in_plain_words_what_one_may(graph: LiveGraph) -> None:
    access, names = Access(None), Names(graph.get_snapshot())
    grants = [
        Grant(Role.LEAD, "works", with_below=True),
        Grant(Role.ASSESSOR, "works", "pump"),
        Grant(Role.ARCHITECT),
        Grant(Role.ADMINISTRATOR),
    ]
    number = access.accounts.make("All of it", grants).number
    access.accounts.tie(number, "p1")
    told = list_rights(access.accounts.get(number), names)
    assert len(told) == 6
    assert told[0].startswith("You see the framework")
    assert told[1].startswith(f"You are {names.person('p1')}: ")
    assert {sentence.split(".")[0] for sentence in told[2:]} == {
        "You look after accounts and rights",
        "You keep the framework, courses and teams",
        f"You assess {names.competency('pump')} in Works, nothing else there",
        "You lead Works and the teams below it: you see its people and cover, and record levels",
    }


def test_a_page_is_told_by_what_it_shows(graph: LiveGraph) -> None:
    names = Names(graph.get_snapshot())
    assert tell_page("/people/p1/routes?to=chief", names).endswith(f": {names.role('chief')}")
    assert ":" not in tell_page("/people/p1/reach-gains", names)


def test_the_account_shows_its_sessions_and_ends_the_others(house: House) -> None:
    mine, other, third = (house.open("Lead") for _ in range(3))
    told = mine.get("/account")
    assert "You are signed in as Lead, in 3 browsers." in told.text
    assert told.text.count("This browser") == 1
    admin = house.open("Admin")
    foreign = house.access.sessions.list(house.number("Admin"))
    numbers = [session.number for session in house.access.sessions.list(house.number("Lead"))]
    for number in (foreign[0].number, numbers[-1], "x", "", "9" * 40):
        mine.send("/account/sessions/end", {"number": str(number)})
    assert admin.get("/account").request.path == "/account", "nobody ends a session of somebody else"
    assert len(house.access.sessions.list(house.number("Lead"))) == 3, "not this one either: that is what Sign out does"
    mine.send("/account/sessions/end", {"number": str(numbers[1])})
    assert len(house.access.sessions.list(house.number("Lead"))) == 2
    mine.send("/account/sessions/end", {"number": "others"})
    assert len(house.access.sessions.list(house.number("Lead"))) == 1
    assert mine.get("/account").request.path == "/account"
    assert all(one.client.get("/account").status_code in (303, 401) for one in (other, third))


def test_the_password_is_changed_by_who_knows_it_and_every_other_session_ends(house: House) -> None:
    """OWASP ASVS 5.0.0, V6.2.3, V7.4.3."""
    mine, _ = house.open("Lead"), house.open("Lead")
    secret = _get_secret(mine)
    mine.get("/account")
    wrong = mine.send("/account/password", {"old": OTHER, "new": OTHER})
    assert (wrong.status_code, "The password is wrong." in wrong.text) == (422, True)
    for bad, told in (
        ("short", "15 to 256 characters"),
        ("passwordpassword", "easily guessed"),
        ("Lead Lead Lead Lead", ""),
    ):
        refused = mine.send("/account/password", {"old": GOOD, "new": bad})
        assert refused.status_code == 422
        assert told in refused.text
        assert bad not in refused.text, "no page shows a password"
    done = mine.send("/account/password", {"old": GOOD, "new": OTHER})
    assert "The password is changed." in done.text
    assert _get_secret(mine) != secret
    assert len(house.access.sessions.list(house.number("Lead"))) == 1
    assert house.open().sign_in("Lead", GOOD).status_code == 422
    assert house.open().sign_in("Lead", OTHER).status_code == 200


def _get_secret(browser: Browser) -> str:
    cookie = browser.client.get_cookie("newel")
    return cookie.value if cookie is not None else ""


def test_a_token_is_shown_once_and_holds_what_was_ticked(house: House) -> None:
    browser = house.open("Lead")
    browser.get("/account/tokens/new")
    typed = {"name": "export", "days": "30", "kinds": "FRAMEWORK", "verbs": "change", "teams": "works"}
    made = browser.send("/account/tokens/new", typed)
    secret = find_secret(made.text)
    token = house.access.tokens.find(secret)
    assert token is not None
    assert (token.scope.kinds, token.scope.verbs) == ({Kind.FRAMEWORK}, {Verb.SEE, Verb.CHANGE})
    assert (token.name, token.scope.teams, token.account) == ("export", {"works"}, house.number("Lead"))
    again = browser.get("/account")
    assert find_secret(again.text) == ""
    assert "export" in again.text
    assert again.headers["Cache-Control"] == "private, no-store"
    foreign = house.open("Admin")
    foreign.get("/account")
    foreign.client.post("/account/tokens/end", data={"number": str(token.number), FIELD: _read_token(foreign)})
    assert house.access.tokens.find(secret) is not None, "nobody ends a token of somebody else"
    browser.send("/account/tokens/end", {"number": str(token.number)})
    assert house.access.tokens.find(secret) is None


def _read_token(browser: Browser) -> str:
    found = re.search(f'name="{FIELD}" value="([^"]+)"', browser.get("/sign-out").text)
    assert found is not None
    return found[1]


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"name": ""}, "Say what the token is for"),
        ({"days": "366"}, "1 to 365 days"),
        ({"days": "many"}, "1 to 365 days"),
        ({"kinds": ""}, "Tick at least one thing"),
        ({"kinds": "ADMINISTRATION"}, "Tick at least one thing"),
        ({"kinds": "OWN_ACCOUNT"}, "Tick at least one thing"),
        ({"verbs": "everything"}, "Tick at least one thing"),
        ({"teams": "works nowhere"}, "There is no team nowhere."),
    ],
)
def test_a_token_that_cannot_be_made_says_why_and_loses_nothing(house: House, typed: dict[str, str], told: str) -> None:
    browser = house.open("Lead")
    browser.get("/account/tokens/new")
    good = {"name": "export", "days": "30", "kinds": "FRAMEWORK", "verbs": "change", "teams": "works"}
    refused = browser.send("/account/tokens/new", good | typed)
    assert refused.status_code == 422
    assert told in refused.text
    assert 'value="30"' in refused.text or "days" in typed
    assert 'value="export"' in refused.text or "name" in typed
    assert house.access.tokens.list(house.number("Lead")) == ()


def test_what_weighs_more_asks_for_the_password_again(house: House) -> None:
    """OWASP ASVS 5.0.0, V7.5.1, V7.5.3: not older than ten minutes; the secret of the session is a new one then."""
    browser = house.open("Lead")
    assert browser.get("/account/tokens/new").request.path == "/account/tokens/new"
    house.clock.now += 601
    asked = browser.get("/account/tokens/new?x=1")
    assert (asked.request.path, asked.request.args["to"]) == ("/account/confirm", "/account/tokens/new?x=1")
    before = _get_secret(browser)
    wrong = browser.send("/account/confirm", {"password-again": OTHER})
    assert (wrong.status_code, _get_secret(browser)) == (422, before)
    right = browser.send("/account/confirm", {"password-again": GOOD})
    assert (right.request.path, right.request.args["x"]) == ("/account/tokens/new", "1")
    assert _get_secret(browser) != before
    assert house.access.sessions.find(before) is None
    assert len(house.access.sessions.list(house.number("Lead"))) == 1


def test_a_form_sent_too_late_is_kept_while_the_password_is_asked(house: House) -> None:
    browser = house.open("Lead")
    browser.get("/account/tokens/new")
    house.clock.now += 601
    typed = {"name": "a <b>\r\nline", "days": "30", "kinds": "FRAMEWORK", "teams": "works\r\nworks"}
    asked = browser.send("/account/tokens/new", typed)
    assert (asked.status_code, asked.request.path) == (403, "/account/tokens/new")
    assert house.access.tokens.list(house.number("Lead")) == ()
    assert browser.send("/account/tokens/new", {"password-again": OTHER}).status_code == 422
    made = browser.send("/account/tokens/new", {"password-again": GOOD})
    assert find_secret(made.text)
    assert house.access.tokens.list(house.number("Lead"))[0].scope.teams == {"works"}


def test_guessing_the_password_again_is_throttled_too(house: House) -> None:
    browser = house.open("Lead")
    house.clock.now += 601
    browser.get("/account/tokens/new")
    for _ in range(20):
        assert browser.send("/account/confirm", {"password-again": OTHER}).status_code == 422
    assert browser.send("/account/confirm", {"password-again": GOOD}).status_code == 429


def test_an_architect_states_a_purpose_and_ends_it(house: House) -> None:
    browser = house.open("Architect")
    assert "You see nobody by name" in browser.get("/account").text or "None, so you see nobody" in browser.page.text  # type: ignore[union-attr]
    browser.get("/account/purpose?team=works")
    typed = {"reason": "audit", "words": "yearly audit of certificates", "team": "works", "person": ""}
    for wrong, told in (
        ({"reason": "curiosity"}, "The reason must be one of"),
        ({"words": ""}, "Say in a line"),
        ({"team": "nowhere"}, "nowhere"),
        ({"person": "p1"}, "one team or for one person"),
        ({"team": "", "person": "p77"}, "There is nobody of this name or id."),
    ):
        refused = browser.send("/account/purpose", typed | wrong)
        assert (refused.status_code, told in refused.text) == (422, True), wrong
    told = browser.send("/account/purpose", typed)
    assert "audit" in told.text
    (purpose,) = house.access.purposes.list(house.number("Architect"))
    assert (purpose.team, purpose.reason) == ("works", "audit")
    browser.send("/account/purpose/end")
    assert house.access.purposes.list(house.number("Architect")) == ()
    assert house.open("Lead").client.get("/account/purpose").status_code in (403, 404)


def test_a_purpose_takes_a_whole_name_and_lets_one_choose_where_several_are_called_so() -> None:
    """An architect who has stated none sees nobody: neither who is called nearly so, nor anybody without a reason."""
    graph = build_company()
    people = [
        {"id": "p8", "name": "Ada Example", "team": "office"},
        {"id": "p9", "name": "Ada Examplesen", "team": "works"},
    ]
    graph.apply(
        Change(put=tuple(("people", TABLES["people"].build(**one)) for one in people)),
        who="test",
        why="people of one name",
        expected_revision=graph.get_snapshot().revision,
    )
    house = House(graph)
    browser, number = house.open("Architect"), house.number("Architect")

    def send(**typed: str) -> TestResponse:
        browser.get("/account/purpose")
        return browser.send("/account/purpose", {"reason": "audit", "words": "yearly audit"} | typed)

    for part in ("Ada", "Examplesen", "Example", "Bem Example", "p"):
        refused = send(person=part)
        assert refused.status_code == 422
        assert "There is nobody of this name or id. Write the whole name." in refused.text
        assert not {"p1", "p2", "p8", "p9", "Ben Example"} & set(re.findall(r"[\w ]+", refused.text)), part
    for wrong in ({"words": ""}, {"reason": "curiosity"}, {"team": "works"}):
        refused = send(**{"person": "ada example"} | wrong)
        assert (refused.status_code, "p8" in refused.text) == (422, False), "who says nothing is told nothing"
    assert house.access.looks.list("p1") == ()
    choice = send(person="ada example")
    assert choice.status_code == 422
    assert "2 people are called ada example. Choose whom you mean." in choice.text
    assert re.findall(r'name="person" value="(\w+)" required>([^<]+)<', choice.text) == [
        ("p1", "p1, Works"),
        ("p8", "p8, Office"),
    ]
    assert house.access.purposes.list(number) == ()
    looks = {person: [one.kind for one in house.access.looks.list(person)] for person in ("p1", "p8", "p9")}
    assert looks == {"p1": ["people"], "p8": ["people"], "p9": []}, "whoever is told of is told who looked"
    assert browser.send("/account/purpose", {"person": "p8"}).status_code == 200
    send(person="BEN example")
    send(team="Works")
    assert [(one.person, one.team) for one in house.access.purposes.list(number)] == [
        ("p8", ""),
        ("p2", ""),
        ("", "works"),
    ]
    graph.close()
