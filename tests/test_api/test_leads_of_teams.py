"""Who would borrow from another team is told who leads it: by name, at once, and of its people nothing but how many."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator

import pytest
from canary_company import EMPLOYEE, OTHER, OTHER_TEAM, TEAM, Canaries, find_seen, open_canaries

from api.access.accounts import Grant
from api.access.actor import Role
from api.questions import load_question

ADDRESS = f"/teams/{TEAM}/stand-ins?person={EMPLOYEE}"
NEED = f"/api/teams/{TEAM}/stand-ins?competency=cert-first-aid"


@pytest.fixture(scope="module")
def canaries() -> Iterator[Canaries]:
    """The company, in which somebody leads the other team while these tests run."""
    canaries = open_canaries()
    accounts = canaries.accounts.access.accounts
    number = accounts.make("of the networks", [Grant(Role.LEAD, OTHER_TEAM)]).number
    accounts.tie(number, OTHER)
    yield canaries
    accounts.end(number)


def find_led_by(text: str) -> dict[str, set[tuple[str, ...]]]:
    """Return each team that could lend somebody -> who is said to lead it."""
    told: dict[str, set[tuple[str, ...]]] = {}
    for row in [*json.loads(text)["needs"], *json.loads(text)["places"]]:
        for team in row["lending"]:
            told.setdefault(team["team"], set()).add(tuple(team["led_by"]))
    return told


def test_a_lead_is_told_who_leads_the_others_and_no_more_of_them(canaries: Canaries) -> None:
    name, lead = canaries.names[OTHER], canaries.accounts.sign_in("lead")
    text = lead.get(f"/api{ADDRESS}").text
    led_by = find_led_by(text)
    assert led_by[OTHER_TEAM] == {(name, "other lead")}
    assert all(told == {()} for team, told in led_by.items() if team != OTHER_TEAM)
    unseen = canaries.names.keys() - find_seen("lead")
    assert not unseen & set(re.findall(r"zqp\d+x", text))
    page = lead.get(ADDRESS).text
    assert f"led by {name} and other lead" in page
    assert re.search(r"\d people qualify; could be lent at once so that nothing breaks there: \d+ of them\.", page)
    looks = [(look.by, look.kind) for look in canaries.accounts.access.looks.list(OTHER)]
    assert ("lead", load_question("stand-ins").title) in looks, "they are told of, and can read who was"


def test_figures_name_no_lead(canaries: Canaries) -> None:
    text = canaries.accounts.sign_in("architect").get(NEED).text
    assert set().union(*find_led_by(text).values()) == {()}
    assert canaries.names[OTHER] not in text


def test_who_leads_no_longer_is_not_named_in_what_was_kept(canaries: Canaries) -> None:
    lead, accounts = canaries.accounts.sign_in("lead"), canaries.accounts.access.accounts
    first = lead.get(f"/api{ADDRESS}")
    account = accounts.find("of the networks")
    assert account is not None
    accounts.grant(account.number, [])
    again = lead.get(f"/api{ADDRESS}", headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 200
    assert find_led_by(again.text)[OTHER_TEAM] == {("other lead",)}
    accounts.grant(account.number, [Grant(Role.LEAD, OTHER_TEAM)])
