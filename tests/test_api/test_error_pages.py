"""What went wrong is told in words, with what to do next; what one may not see is told like what is not there."""

from __future__ import annotations

import logging
import re

import pytest
from flask.testing import FlaskClient

from api.access import recent
from api.access.access import Access
from api.access.actor import Actor
from api.http import actors
from api.pages.error_page import build_view

#: An address of each kind that is not there.
MISSING = (
    "/people/nobody/gap?role=operator",
    "/roles/no-such-role/similar",
    "/no-such-page",
    "/sessions/no/waiting-list",
)


def strip(text: str) -> str:
    """Return the part of a page that is about the error, without its id and without what was looked for."""
    return re.sub(r"<code>\w+</code>|Search for “[^”]*”|q=[\w+]*", "", text.partition("<main")[2])


@pytest.mark.parametrize("address", MISSING)
def test_what_is_not_there_leads_on_to_the_search(client: FlaskClient, address: str) -> None:
    page = client.get(address)
    assert page.status_code == 404
    assert "There is nothing at this address, or nothing that you may see." in page.text
    assert "/search?q=" in page.text
    assert re.search(r"request <code>[0-9a-f]{32}</code>", page.text)


def test_an_unknown_id_and_one_that_may_not_be_seen_give_the_same_page(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    unknown = client.get("/people/nobody/gap?role=operator")
    access = Access(None)
    monkeypatch.setattr(recent, "_NOBODY", Actor(account=1, name="blind"))
    monkeypatch.setattr(actors, "get_access", lambda: access)
    hidden = client.get("/people/p1/gap?role=operator")
    assert (hidden.status_code, strip(hidden.text)) == (unknown.status_code, strip(unknown.text))
    assert "p1" not in strip(hidden.text).replace("gap", "")


def test_the_id_on_a_page_stands_in_the_log(client: FlaskClient, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO):
        page = client.get("/no-such-page")
    found = re.search(r"<code>(\w+)</code>", page.text)
    assert found is not None
    assert found[1] in caplog.text


@pytest.mark.parametrize(
    ("status", "method", "words", "address"),
    [
        (422, "GET", "what you typed still stands there", "/teams/t/rotation"),
        (503, "GET", "Ask again in a few seconds", "/teams/t/rotation?purpose=x"),
        (500, "GET", "Nothing you typed caused it", "/"),
        (403, "POST", "Nothing was stored", "/"),
    ],
)
def test_each_kind_says_what_to_do_next(status: int, method: str, words: str, address: str) -> None:
    problem = {
        "title": "T",
        "detail": "D.",
        "status": status,
        "errors": [{"parameter": "on_day", "value": 1, "reason": "r"}],
    }
    view = build_view(problem, "/teams/t/rotation?purpose=x", method)
    assert (view.title, view.lead, view.status) == ("T", "D.", status)
    assert view.wrong == (("on day", "1", "r"),)
    assert words in view.next_words
    assert view.acts[0].address == address


def test_a_page_that_may_not_be_seen_says_nothing_of_why() -> None:
    view = build_view(
        {"title": "T", "detail": "You may not see Ann.", "status": 403, "errors": [{"reason": "r"}]}, "/people/ann"
    )
    assert (view.status, view.wrong) == (404, ())
    assert "Ann" not in view.lead
    assert view.acts[0].words == "Search for “ann”"
