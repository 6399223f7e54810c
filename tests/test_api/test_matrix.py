"""Every address x every kind of actor x own, other and unknown record: the answer is the one of the table of rights.

The cases are made of the addresses of the application and of its records; none is written by hand.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import time
from collections.abc import Iterator
from functools import lru_cache
from urllib.parse import quote, unquote

import pytest
from canary_company import ACTORS, EMPLOYEE, open_canaries, rename
from demonstration_pages import QUESTIONS
from flask.testing import FlaskClient
from matrix_cases import NARROW, NARROW_SCOPE, Subject, find_subjects, is_allowed, is_visible, iterate_rules
from werkzeug.test import TestResponse

from api.access.actor import Scope
from api.access.kinds import TABLE_KINDS
from api.access.rights import Kind, Verb
from api.access.tokens import Tokens
from api.http.route_rights import RouteRight, find_right
from api.questions import list_questions
from ontology.analysis.profiles.belonging import get_person_on

#: Where a program is led to once it may go there; to a page of a computation, to a page of its own.
SENT_TO_SIGN_IN = "/sign-in"
#: What has ended is nobody's any more.
ENDED = ("ended session", "ended token", "expired token")
#: So many at the least for each actor: all of them together are about ten thousand.
FEWEST_CASES = 1_000
#: Each of these is a story of its own, told by the tests of accounts, loads and computations.
ELSEWHERE = re.compile(r"/(account|accounts|computing|loads|sign-in|sign-out|invitations|static|history|me)(/|$)")


@lru_cache(maxsize=1)
def get_subjects() -> dict[str, list[Subject]]:
    return find_subjects(open_canaries().snapshot, dt.datetime.now(dt.UTC).date())


@lru_cache(maxsize=1)
def get_queries() -> dict[str, str]:
    """Return question -> what is asked of it, without what people's ids are in."""
    texts = {name: rename(address).partition("?")[2] for name, address in QUESTIONS.items()}
    return {name: "" if "zqp" in text else text for name, text in texts.items()}


def iterate_cases() -> Iterator[tuple[str, str, RouteRight, Subject | None]]:
    """Yield the rule, the method, its right, and the record whose id stands in the address."""
    for rule, method in iterate_rules(open_canaries().accounts.app):
        right = find_right(rule, method)
        assert right is not None, f"{method} {rule} has no right"
        if ELSEWHERE.match(rule) or rule.startswith("/api/history"):
            continue
        if not right.table:
            if "<" not in rule:
                yield rule, method, right, None
            continue
        for subject in get_subjects()[right.table]:
            yield rule, method, right, subject


def make_headers(actor: str) -> dict[str, str]:
    """Return what a program of the account sends: all that the account may, without the token of a form."""
    if actor == "nobody":
        return {}
    accounts = open_canaries().accounts
    whole = Scope(frozenset(Kind), frozenset(Verb))
    return {"Authorization": f"Bearer {accounts.access.tokens.make(accounts.numbers[actor], 'test', whole)}"}


def send(
    client: FlaskClient, headers: dict[str, str], rule: str, method: str, right: RouteRight, subject: Subject | None
) -> TestResponse:
    """Send what is wrong in everything but in who sends it: it is refused for that, or for what is wrong."""
    address = re.sub(r"<[^>]+>", quote(unquote(subject.id), safe="~") if subject else "", rule)
    if method == "GET":
        query = get_queries().get(right.question, "")
        if rule.endswith("/diagram"):
            query = "format=dot" + (f"&{query}" if query else "")
        return client.get(f"{address}?{query}" if query else address)
    if rule.startswith("/api/"):
        return client.open(address, method=method, json={}, headers={"If-Match": '"of another state"', **headers})
    return client.post(address, headers=headers)


def expect(actor: str, rule: str, method: str, right: RouteRight, subject: Subject | None) -> str:
    """Return "open", "sign-in", "unknown" or "refused"."""
    if right.kind is None:
        return "open"
    if actor in ("nobody", *ENDED):
        return "sign-in"
    if subject is not None and not is_visible(actor, subject):
        if not (method == "PUT" and rule.endswith("id>")):
            return "unknown"
        subject = None  # it would be new
    kinds, own = {right.kind}, subject
    if right.hangs_on_role:
        # asked as it stands here: of no role, of the one held or of another
        kinds = {Kind.STANDING if _is_of_standing(right.question, subject) else Kind.EXPLORATION}
    elif subject is not None and subject.kind is not None and TABLE_KINDS[right.table] is right.kind:
        kinds = {subject.kind}
    elif right.kind is Kind.ASSESSMENTS and right.table in ("", "people") and not right.question:
        kinds = {Kind.ASSESSMENTS, Kind.OWN_RATINGS}
    if subject is not None and subject.table not in ("people", "teams", "places") and kinds != {subject.kind}:
        own = None if right.question or subject.kind is Kind.FRAMEWORK else subject
    # a picture would show people
    in_figures = {one.name for one in list_questions() if one.figures is not None and not rule.endswith("/diagram")}
    told = (is_allowed(actor, kind, right.verb, own, right.question in in_figures) for kind in kinds)
    return "open" if any(told) else "refused"


def _is_of_standing(question: str, subject: Subject | None) -> bool:
    asked = re.search(r"role=([\w-]+)", get_queries()[question])
    if subject is None or asked is None:
        return True
    snapshot = open_canaries().snapshot
    person = get_person_on(snapshot, subject.person, dt.datetime.now(dt.UTC).date())
    places = (place.role for team in subject.teams for place in snapshot.get_places(team))
    return asked[1] in (person.role, snapshot.people[subject.person].role, *places)


def open_client(actor: str) -> tuple[FlaskClient, dict[str, str]]:
    """Return who asks, and what is sent with each change."""
    accounts = open_canaries().accounts
    client = accounts.sign_in("nobody" if actor in (*ENDED, NARROW) else actor)
    if actor == "ended session":
        secret = accounts.access.sessions.open(accounts.numbers["lead"])
        accounts.access.sessions.end(secret)
        client.set_cookie("newel", secret)
        return client, {}
    if actor not in (*ENDED, NARROW):
        return client, make_headers(actor)
    scope = NARROW_SCOPE if actor == NARROW else Scope(frozenset(Kind), frozenset(Verb))
    number, tokens = accounts.numbers["lead"], accounts.access.tokens
    # one that was made so long ago that its days are over
    then = Tokens(accounts.access.database, lambda: time.time() - 2 * 24 * 3600) if actor == "expired token" else tokens
    secret = then.make(number, actor, scope, days=1)
    if actor == "ended token":
        assert tokens.end(number, tokens.list(number)[0].number)
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
    return client, {}


@pytest.mark.parametrize("actor", [*ACTORS, *ENDED, NARROW])
def test_every_address_answers_as_the_table_says(actor: str) -> None:
    client, headers = open_client(actor)
    wrong, n = [], 0
    for rule, method, right, subject in iterate_cases():
        if is_left_out(right, subject):
            continue
        response = send(client, headers, rule, method, right, subject)
        told, expected = tell(response), expect(actor, rule, method, right, subject)
        n += 1
        # a page that may not be seen is told like one that is not there
        if told != expected and not (expected == "refused" and told == "unknown" and not rule.startswith("/api")):
            wrong.append(f"{method} {rule} {subject and subject.id} {expected} {response.status_code}")
    assert wrong[:20] == [], len(wrong)
    assert n > FEWEST_CASES


@pytest.mark.parametrize("actor", [one for one in ACTORS if one != "nobody"])
def test_what_may_not_be_seen_is_answered_like_what_nobody_has(actor: str) -> None:
    """Status, body and headers, but for the id itself."""
    client, headers = open_canaries().accounts.sign_in(actor), make_headers(actor)
    told: dict[tuple[str, str], str] = {}
    n = 0
    cases = [case for case in iterate_cases() if case[3] is not None and not is_visible(actor, case[3])]
    for rule, method, right, subject in sorted(cases, key=lambda case: case[3].kind is not None):  # type: ignore[union-attr]
        assert subject is not None
        if right.table == "scales" or is_left_out(right, subject):
            continue
        response = send(client, headers, rule, method, right, subject)
        text = tell_whole(response, subject)
        if subject.kind is None:
            told[rule, method] = text
        else:
            n += 1
            assert text == told[rule, method], (method, rule, subject.id)
    assert n > 20 or actor == "administrator"


def is_left_out(right: RouteRight, subject: Subject | None) -> bool:
    """Whether the same right of a slow answer is tried by one subject already."""
    is_slow = bool(right.question) and list_slow()[right.question]
    return is_slow and subject is not None and subject.person != EMPLOYEE and subject.kind is not None


def tell(response: TestResponse) -> str:
    if response.status_code == 401 or SENT_TO_SIGN_IN in response.headers.get("Location", ""):
        return "sign-in"
    return {404: "unknown", 403: "refused"}.get(response.status_code, "open")


def tell_whole(response: TestResponse, subject: Subject) -> str:
    """Return a response as a text, without the id that was asked for and what is another one each time."""
    forms = {subject.id, quote(subject.id, safe="~"), quote(subject.id, safe="")}
    text = response.text
    if response.mimetype.endswith("json") and "sent" in (response.json or ()):
        # what was sent, with the parts of the id, is told back to who sent it
        text = json.dumps({name: value for name, value in response.json.items() if name != "sent"})
    for form in sorted(forms, key=len, reverse=True):
        text = text.replace(form, "ID")
    # what to look for instead is made of the id
    text = re.sub(r"<code>\w+</code>|<a [^>]*href=\"/search[^>]*>[^<]*</a>|/(ID|~)+", "", text)
    told = {name: value for name, value in response.headers if name not in ("Content-Length", "Date", "Location")}
    return f"{response.status_code} {sorted(told)} {text}"


@lru_cache(maxsize=1)
def list_slow() -> dict[str, bool]:
    return {question.name: question.is_slow for question in list_questions()}
