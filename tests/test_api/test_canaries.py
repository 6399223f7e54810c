"""No byte of anyone unseen: every output of every actor is searched for names and ids that stand in no other text.

Who may see whom is worked out of the tables here, with nothing of the program that hides them.
"""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import pytest
from canary_company import ACTORS, EMPLOYEE, LEAD, OTHER, OTHER_TEAM, TEAM, open_canaries, rename
from demonstration_pages import QUESTIONS, list_pages, list_tables
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from api.http.questions import get_forms
from api.questions import load_question
from ontology.analysis.profiles.belonging import get_person_on
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns

_TEAMS = {
    "lead": {TEAM},
    "other lead": {OTHER_TEAM},
    "assessor": {TEAM},
    "architect with purpose": {TEAM},
}
_SELVES = {"employee": EMPLOYEE, "lead": LEAD}
#: What is not of the state of the store, asked with somebody's id or words.
_MORE = (
    *("/api/", "/api/openapi.json", "/api/history", "/api/browse/", "/problems", "/words", "/search?q=zq"),
    *(f"/search?q={EMPLOYEE}", f"/search?q={OTHER}&in=people", "/api/find?text=zqanna", "/api/find?text=zqbird001"),
    *(f"/history/people/{EMPLOYEE}", f"/api/history/people/{OTHER}", f"/people/{OTHER}", f"/api/people/{OTHER}/gap"),
    *(f"/api/teams/{OTHER_TEAM}/members", f"/api/teams/{TEAM}/members", "/api/people?as_of=1", "/api/history/1"),
    *(
        f"/api/teams/{TEAM}/coverage?as_of=1&away={OTHER}",
        f"/api/who-can?q=zqanna&team={TEAM}",
        "/account",
        "/accounts",
    ),
    "/api/sparql?query=SELECT%20*%20%7B%20GRAPH%20%3Fg%20%7B%20%3Fs%20%3Fp%20%3Fo%20%7D%20%7D",
    *("/api/sessions/briefing-dec-3/bookings", "/api/courses/spill-response-day/requests"),
)


def iterate_addresses() -> Iterator[str]:
    """Yield every page, every answer in every form, every list and record, and what is asked on purpose."""
    snapshot = open_canaries().snapshot
    yield from (rename(page) for page in list_pages(snapshot))
    yield from (f"/api/{table}?page_size=1000" for table in list_tables())
    for name, page in QUESTIONS.items():
        address, _, query = rename(page).partition("?")
        forms = [one for one in get_forms(load_question(name)) if one != "html"]  # that is the page
        forms += ["dot"] if load_question(name).draw else []
        for form in forms:
            path = f"/api{address}/diagram" if form == "dot" else f"/api{address}"
            yield f"{path}?format={form}" + (f"&{query}" if query else "")
    yield from _MORE


@lru_cache(maxsize=len(ACTORS))
def find_seen(actor: str) -> frozenset[str]:
    """Return whom an actor may be told of: who is theirs to see, and whom these people's own records name."""
    snapshot, today = open_canaries().snapshot, dt.datetime.now(dt.UTC).date()
    if actor == "administrator":
        return frozenset(snapshot.people)
    teams = _TEAMS.get(actor, set())
    own = {
        one
        for one, person in snapshot.people.items()
        if one == _SELVES.get(actor) or {person.team, get_person_on(snapshot, one, today).team} & teams
    }
    named = set(own)
    for table in TABLES.values():
        if table.graph == ns.GRAPH_PEOPLE:
            for record in snapshot.get_table(table.name).values():
                values = [getattr(record, column.attribute) for column in table.columns]
                if any(isinstance(value, str) and value in own for value in values[:2]):
                    named |= {value for value in values if isinstance(value, str) and value in snapshot.people}
    return frozenset(named)


@lru_cache(maxsize=len(ACTORS))
def build_search(actor: str) -> re.Pattern[str] | None:
    names = open_canaries().names
    unseen = sorted(names.keys() - find_seen(actor))
    words = [word for one in unseen for word in (re.escape(one), *names[one].split())]
    return re.compile("|".join(words), re.IGNORECASE) if words else None


def read_all(response: TestResponse) -> str:
    """Return all that a response says: its headers, and the text in its bytes, of a workbook that of every part."""
    content = response.data
    if content[:2] == b"PK":
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            content = b"\n".join(parts.read(name) for name in parts.namelist())
    headers = "\n".join(f"{name}: {value}" for name, value in response.headers)
    return headers + "\n" + content.decode("utf-8", "replace")


def find_trace(client: FlaskClient, actor: str, address: str, **more: Any) -> str:
    """Return what stands around a trace of somebody unseen; "" where there is none. What was sent is no trace."""
    search = build_search(actor)
    text = read_all(client.get(address, **more))
    for sent in set(re.findall(r"zq\w+", address)):
        text = text.replace(sent, "")
    match = search.search(text) if search else None
    return "" if match is None else f"{address}: {text[max(0, match.start() - 60) : match.end() + 30]!r}"


@pytest.mark.parametrize("actor", ACTORS)
def test_no_output_holds_a_trace_of_anyone_unseen(actor: str) -> None:
    accounts = open_canaries().accounts
    client, knowing = accounts.sign_in(actor), accounts.sign_in("lead")
    traces = []
    for address in dict.fromkeys(iterate_addresses()):
        if "/coverage" in address or "/staffing" in address:
            knowing.get(address)  # what is kept for one is not told to the next
        traces.append(find_trace(client, actor, address))
    assert [trace for trace in traces if trace] == []


def test_the_canaries_sing() -> None:
    """Who may see somebody finds them by the same search: it would find what it looks for."""
    accounts = open_canaries().accounts
    lead = accounts.sign_in("lead")
    for address in (
        f"/people/{EMPLOYEE}",
        f"/api/teams/{TEAM}/coverage",
        f"/teams/{TEAM}/coverage",
        "/search?q=zqanna",
    ):
        assert find_trace(lead, "reader", address), address
    assert find_seen("reader") == frozenset()
    assert EMPLOYEE in find_seen("employee")
    assert OTHER not in find_seen("lead")
    workbook = f"/api/teams/{TEAM}/coverage?format=xlsx"
    assert find_trace(lead, "reader", workbook)


def test_an_answer_says_of_how_many_it_does_not_tell() -> None:
    lead = open_canaries().accounts.sign_in("lead")
    told = lead.get(f"/api/teams/{TEAM}/stand-ins?person={EMPLOYEE}").get_json()
    page = lead.get(f"/teams/{TEAM}/stand-ins?person={EMPLOYEE}").text
    assert told["hidden"]
    assert "you may not see them" in page
