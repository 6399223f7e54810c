"""What has an id and is no record (drafts, releases, frameworks of others, what is retired): by every kind of actor.

The cases are made of the addresses of the application; an address of a new kind of thing needs one of its ids here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from canary_company import ACTORS, open_canaries
from matrix_cases import is_allowed, iterate_rules

from api.http.route_rights import RouteRight, find_right

#: Beginning of an address -> the id of one that is there.
KNOWN = {
    "/drafts/": "spring",
    "/api/drafts/": "spring",
    "/api/outside/": "neighbour",
    "/outside/": "neighbour",
    "/api/releases/": "autumn-2026",
    "/retire/competencies/": "water-chemistry",
    "/retire/courses/": "mask-fit-test",
    "/retire/roles/": "sampler",
    "/api/history/": "1",
    "/history/": "1",
}
UNKNOWN = "zqnobody"
#: Stories of their own: accounts, loads, computations, the life of a record, a viewer that may be installed.
ELSEWHERE = re.compile(r"/(browse|accounts|computing|invitations|loads|static)/|/history/<table>")


def iterate_cases() -> Iterator[tuple[str, str, RouteRight]]:
    """Yield the addresses that hold the id of something that is in no table."""
    for rule, method in iterate_rules(open_canaries().accounts.app):
        right = find_right(rule, method)
        if right is not None and "<" in rule and not right.table and not ELSEWHERE.search(rule):
            yield rule, method, right


def build_address(rule: str, thing: str) -> str:
    return re.sub(r"<[^>]+>", thing, rule)


def test_every_kind_of_thing_has_an_id_here() -> None:
    begun = {rule.partition("<")[0] for rule, _, _ in iterate_cases()}
    assert begun == set(KNOWN)
    assert sum(right.is_draft for _, _, right in iterate_cases()) > 15


@pytest.mark.parametrize("actor", ACTORS)
def test_each_answers_as_the_table_says(actor: str) -> None:
    client, wrong = open_canaries().accounts.sign_in(actor), []
    for rule, method, right in iterate_cases():
        assert right.kind is not None
        may = is_allowed(actor, right.kind, right.verb, None)
        if may and method != "GET":
            continue  # it would be done
        address = build_address(rule, KNOWN[rule.partition("<")[0]])
        response = client.open(address, method=method, headers={"Sec-Fetch-Site": "same-origin"})
        is_page = not rule.startswith("/api/")
        if actor == "nobody":
            expected = {303} if is_page and method == "GET" else {401, 303, 403}
        elif may:
            expected = {200, 202, 303}
        else:
            # a draft is told like none, to whoever may not change the framework
            expected = {404, 403} if is_page or method != "GET" else {404} if right.is_draft else {403}
        if response.status_code not in expected:
            wrong.append(f"{method} {address}: {response.status_code}, not {sorted(expected)}")
    assert wrong == []


@pytest.mark.parametrize("actor", ["reader", "employee", "lead", "assessor", "administrator"])
def test_a_draft_is_told_like_one_that_nobody_began(actor: str) -> None:
    client = open_canaries().accounts.sign_in(actor)
    told = []
    for thing in ("spring", UNKNOWN):
        texts = []
        for rule, method, right in iterate_cases():
            if right.is_draft and method == "GET":
                response = client.get(build_address(rule, thing))
                # what to look for instead is made of the id
                text = re.sub(r"<code>\w+</code>|<a [^>]*href=\"/search[^>]*>[^<]*</a>", "", response.text)
                texts.append((rule, response.status_code, text.replace(thing, "ID")))
        for asked in ("/api/roles?draft={}", "/api/teams/treatment/coverage?draft={}", "/roles?draft={}"):
            response = client.get(asked.format(thing))
            text = re.sub(r"<code>\w+</code>", "", response.text).replace(thing, "ID")
            texts.append((asked, response.status_code, text))
        told.append(texts)
    for one, other in zip(*told, strict=True):
        assert one == other
