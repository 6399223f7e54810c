"""An employee's day: choose as whom to look, see where one stands, compare the ways, plan the first move, keep it."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from html import unescape

import pytest
from flask import Flask
from flask.testing import FlaskClient
from served_scenario import open_scenario
from werkzeug.test import TestResponse

WAYS = "/people/p008/routes?to=senior-treatment-operator"
MIRELA = "p008"


@pytest.fixture(scope="module")
def app() -> Iterator[Flask]:
    with open_scenario() as app:
        yield app


@pytest.fixture
def mirela(app: Flask) -> FlaskClient:
    """A browser that looks as Mirela Tanaka."""
    client = app.test_client()
    assert client.post("/me", data={"person": MIRELA}).location == "/people/p008"
    return client


def read(client: FlaskClient, address: str) -> str:
    """Return a page; one that computes is waited for, as a browser does."""
    for _ in range(240):
        reply = client.get(address, follow_redirects=True)
        if reply.status_code != 202:
            break
        time.sleep(0.25)
    assert reply.status_code == 200, address
    assert reply.headers["Cache-Control"] == "private, no-store"
    return reply.text


def strip(page: str) -> str:
    """Return the text of a page."""
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page))).replace(" ,", ",").replace(" .", ".")


def find_link(page: str, words: str) -> str:
    found = re.search(rf'href="([^"]+)"[^>]*>{re.escape(words)}</a>', page)
    assert found is not None, words
    return unescape(found[1])


def test_who_looks_as_nobody_chooses_first(app: Flask) -> None:
    client = app.test_client()
    page = read(client, "/me")
    assert "You look as nobody yet: choose a person." in page
    assert '<button name="person" value="p008">Mirela Tanaka</button>' in page
    found = read(client, "/me?q=mirela")
    assert re.findall(r'name="person" value="(p\d+)"', found) == ["p008"]
    assert "Nobody has the words “zzz”" in read(client, "/me?q=zzz")
    assert client.get("/me/kept").location == "/me"


def test_a_person_who_is_not_there_cannot_be_looked_as(app: Flask) -> None:
    client = app.test_client()
    reply = client.post("/me", data={"person": "nobody"})
    assert reply.status_code == 422
    assert "There is no such person." in reply.text
    assert "Set-Cookie" not in reply.headers


def test_me_leads_to_ones_own_page_until_one_stops(mirela: FlaskClient) -> None:
    assert mirela.get("/me").location == "/people/p008"
    assert mirela.get("/me?on=2026-12-01").location == "/people/p008?on=2026-12-01"
    assert "You look as Mirela Tanaka." in read(mirela, "/me?show=all")
    assert mirela.post("/me", data={"person": ""}).location == "/me"
    assert mirela.get("/me").status_code == 200


def test_where_one_stands(mirela: FlaskClient) -> None:
    page = read(mirela, "/people/p008")
    assert re.search(r"<title>You meet everything your role asks at full level ·", page)
    text = strip(page)
    assert (
        "You meet everything your role asks at full level: 1 of 1 that blocks, 7 of 7 essential. One desirable "
        "competency has never been assessed, so nobody knows your level in it yet." in text
    )
    assert "12 September 2027 in 292 days Drinking-water hygiene certificate ends. It blocks your role" in text
    order = ["Next, with dates", "What your role asks", "What else you hold", "What you have said yourself"]
    places = [page.index(f"<h2>{heading}</h2>") for heading in order]
    assert places == sorted(places)
    assert "15 roles are one step away for you: at most 200 hours of study" in text
    assert "26 h, about 1.0 months Meter technician" in text
    assert "not assessed, 1 asked nothing yet the first step is to ask for an assessment" in text
    assert "manager, Henrike Osei 9 Mar 2026, 9 months ago no end" in text
    assert "Shown, never counted: Coagulation control at level 1, 1 September 2026" in text
    said = find_link(page, "Change this")
    assert said.startswith("/edit/assessments/p008~coagulation-control~2026-09-01~self~")
    assert mirela.get(said).status_code == 200
    assert find_link(page, "Change what I say").startswith("/new/assessments?person=p008")


def test_one_says_otherwise_of_oneself_and_it_never_counts(mirela: FlaskClient) -> None:
    form = read(mirela, find_link(read(mirela, "/people/p008"), "Change what I say"))
    assert "it is shown beside what was assessed, and never counts." in form
    sent = {name: unescape(text) for name, text in re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', form)}
    assert sent["person"] == MIRELA
    assert sent["source"] == "self"
    sent |= {"competency": "Water chemistry", "level": "3", "date": "2026-11-24"}
    assert mirela.post("/new/assessments", data=sent).location == "/me#stored"
    page = strip(read(mirela, "/people/p008"))
    assert "Water chemistry at level 3, 24 November 2026" in page
    assert "One desirable competency has never been assessed" in page
    assert "not assessed, 1 asked" in page
    # an assessment of oneself is another thing
    assert mirela.post("/new/assessments", data=sent | {"source": "manager"}).status_code == 422


def test_somebody_else_sees_no_roles_that_a_person_looks_at(app: Flask) -> None:
    lead = app.test_client()
    lead.post("/me", data={"person": "p001"})
    page = read(lead, "/people/p008")
    assert "Mirela Tanaka meets everything the role asks at full level" in strip(page)
    assert "Where to from here?" not in page
    assert "Change this" not in page
    assert find_link(page, "Record an assessment") == "/new/assessments?person=p008"
    assert "Keep this way" not in read(lead, WAYS)


def test_ways_side_by_side_then_the_plan_of_the_very_move_then_kept(mirela: FlaskClient) -> None:
    ways = read(mirela, WAYS)
    assert "Through Treatment operator it takes 232 hours of study and at least 26.9 months." in strip(ways)
    titles = re.findall(r'<h3 id="way-\d">([^<]+)</h3>', ways)
    assert titles == ["Through Treatment operator", "Through Meter technician and Sampler", "Directly"]
    assert "Out of reach: 378 h before the move, at most 200; two competencies are 3 levels up, at most 2." in strip(
        ways
    )
    first = re.search(r"154 h before: ", ways)
    assert first is not None
    plan = find_link(ways, "See the first plan with dates")
    assert "levels=entry" in plan
    dated = read(mirela, plan)
    assert "154 h of study lead to the first day as Treatment operator." in dated
    calendar = mirela.get(find_link(dated, "Calendar file"))
    assert calendar.status_code == 200
    assert calendar.text.startswith("BEGIN:VCALENDAR")
    assert mirela.get(find_link(dated, "Workbook")).status_code == 200
    assert "154" in read(mirela, find_link(dated, "Plan to print"))
    keep_both(mirela, ways, dated)


def keep_both(client: FlaskClient, ways: str, dated: str) -> None:
    """Keep the second way and the plan as their forms send them; see them, open the way, remove the plan."""
    chosen = re.findall(r'<option value="([^"]+)">Through', ways)[1]
    address = re.search(r'name="address" value="([^"]+)"', ways)
    assert address is not None
    sent = {"address": unescape(address[1]), "way": unescape(chosen)}
    assert client.post("/me/kept", data=sent).location == "/me/kept"
    hidden = dict(re.findall(r'type="hidden" name="(address|words)" value="([^"]+)"', dated))
    assert client.post("/me/kept", data={name: unescape(text) for name, text in hidden.items()}).status_code == 303
    page = read(client, "/me/kept")
    assert "You have kept 1 way and 1 plan." in page
    assert (
        "Senior treatment operator: through Meter technician and Sampler, 426 h, at least 34.4 months, 3 moves" in page
    )
    way = find_link(
        page, "Senior treatment operator: through Meter technician and Sampler, 426 h, at least 34.4 months, 3 moves"
    )
    first = re.search(r'<h3 id="way-1">([^<]+)</h3>', read(client, way))
    assert first is not None
    assert first[1] == "Through Meter technician and Sampler"
    number = re.findall(r'name="number" value="(\d+)"', page)[0]
    assert client.post("/me/kept/remove", data={"number": number}).location == "/me/kept"
    assert "You have kept 1 way." in read(client, "/me/kept")


def test_nobody_sees_or_removes_what_another_keeps(app: Flask, mirela: FlaskClient) -> None:
    other = app.test_client()
    other.post("/me", data={"person": "p013"})
    mirela.post("/me/kept", data={"address": WAYS, "words": "a way of my own"})
    number = re.findall(r'name="number" value="(\d+)"', read(mirela, "/me/kept"))[0]
    assert "a way of my own" not in read(other, "/me/kept")
    other.post("/me/kept/remove", data={"number": number})
    assert "a way of my own" in read(mirela, "/me/kept")
    refused: TestResponse = other.post("/me/kept", data={"address": WAYS, "words": "not mine"})
    assert refused.status_code == 422


def test_choosing_a_role(mirela: FlaskClient) -> None:
    near = read(mirela, "/people/p008/roles")
    assert "15 roles are one step away, by hours of study." in near
    assert "Senior treatment operator" not in near
    every = strip(read(mirela, "/people/p008/roles?show=all"))
    assert "out of reach: 378 h before the move, at most 200; two competencies are 3 levels up, at most 2" in every
    assert "out of reach: no courses lead to its first day" in every
    like = read(mirela, "/people/p008/roles?show=like")
    assert re.search(r'data-column="Similarity"><span>0\.\d\d</span>', like)
    assert "do not make two roles equal" in like
    assert "No role here has the words “zzz”" in read(mirela, "/people/p008/roles?q=zzz")
    assert re.findall(
        r'scope="row"[^>]*><span><a href="/roles/([^"]+)"', read(mirela, "/people/p008/roles?q=sampler")
    ) == ["sampler"]
    assert mirela.get("/people/p008/roles?show=best").status_code == 422


def test_what_is_missing_and_what_to_assess_first(mirela: FlaskClient) -> None:
    page = read(mirela, "/people/p008/gap?role=treatment-operator")
    assert "For Treatment operator 1 of 2 that block is not met and 1 of 11 essential is met; 7 competencies" in page
    assert find_link(page, "Show the ways there") == "/people/p008/routes?to=treatment-operator"
    assert find_link(page, "Plan with dates") == "/people/p008/schedule?role=treatment-operator"
    assert page.index("Show proof of") < page.index("Ask for an assessment of") < page.index("What the role asks")
    own = read(mirela, "/people/p008/gap?role=treatment-assistant")
    assert "Show the ways there" not in own


def test_a_page_that_has_not_changed_is_not_written_again(mirela: FlaskClient) -> None:
    for address in ("/people/p008", "/people/p008/roles", "/people/p008/gap?role=sampler"):
        reply = mirela.get(address)
        assert mirela.get(address, headers={"If-None-Match": reply.headers["ETag"]}).status_code == 304, address
