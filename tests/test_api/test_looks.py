"""Who is told of whom is written before it is told: by answers, lists and records, kept ones too, and once an hour."""

from __future__ import annotations

import re
from typing import Any

import pytest
from all_accounts import Accounts, People, build_accounts
from sqlalchemy.exc import OperationalError

from api.access.looks import Looks
from api.access.purposes import REASONS
from api.questions import load_question
from ontology.live.live_graph import LiveGraph

DEPTH = load_question("coverage").title
COVER = "/api/teams/works/coverage"


@pytest.fixture
def accounts(shared_graph: LiveGraph) -> Accounts:
    return build_accounts(shared_graph, People("p1", "p2", "works", "office", "pump"))


def list_looks(accounts: Accounts, person: str) -> list[tuple[str, str]]:
    return [(look.by, look.kind) for look in accounts.access.looks.list(person)]


@pytest.mark.parametrize(
    ("address", "kind"),
    [
        (COVER, DEPTH),
        ("/teams/works/coverage", DEPTH),
        (f"{COVER}/diagram?format=dot", DEPTH),
        (f"{COVER}?format=xlsx", DEPTH),
        ("/api/people", "people"),
        ("/api/people/p3", "people"),
        ("/api/people/p3/assessments", "assessments"),
        ("/assessments", "assessments"),
        ("/edit/people/p3", "people"),
        ("/teams/works/assess?competency=pump", "assessments"),
        ("/history/people/p3", "history of people"),
        ("/api/history/people/p3", "history of people"),
    ],
)
def test_what_tells_of_somebody_is_a_look_at_them(accounts: Accounts, address: str, kind: str) -> None:
    assert accounts.sign_in("lead").get(address).status_code == 200
    assert ("lead", kind) in list_looks(accounts, "p1" if kind == DEPTH else "p3")
    assert list_looks(accounts, "p2") == [], "of oneself one is told without a look"


def test_a_kept_answer_is_a_look_as_well_and_within_the_hour_one(accounts: Accounts) -> None:
    lead, architect = accounts.sign_in("lead"), accounts.sign_in("architect with purpose")
    for _ in range(3):
        lead.get(COVER)
        architect.get(COVER)
    assert sorted(by for by, _ in list_looks(accounts, "p1")) == ["architect with purpose", "lead"]
    (look,) = [look for look in accounts.access.looks.list("p1") if look.by == "architect with purpose"]
    assert look.reason, "with the purpose that was stated"


def test_a_look_is_for_the_purpose_that_opened_it(accounts: Accounts) -> None:
    number = accounts.numbers["architect"]
    accounts.access.purposes.state(number, REASONS[1], "another team", team="elsewhere")
    accounts.access.purposes.state(number, REASONS[2], "her records", person="p1")
    assert accounts.sign_in("architect").get("/api/people/p1/levels").status_code == 200
    assert [look.reason for look in accounts.access.looks.list("p1") if look.by == "architect"] == [REASONS[2]]


def test_what_tells_of_nobody_is_no_look(accounts: Accounts) -> None:
    employee = accounts.sign_in("employee")
    for address in ("/api/people/p1/gap", "/people/p1", "/api/people", "/roles/operator", COVER):
        employee.get(address)
    assert [list_looks(accounts, person) for person in ("p1", "p3")] == [[], []]


@pytest.mark.parametrize("address", [COVER, "/teams/works/coverage", "/api/people/p3", "/api/people"])
def test_where_it_cannot_be_written_nothing_is_told(
    accounts: Accounts, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: Any, **__: Any) -> int:
        raise OperationalError("insert", {}, Exception("disk I/O error"))

    monkeypatch.setattr(Looks, "write", fail)
    lead = accounts.sign_in("lead")
    refused = lead.get(address)
    assert refused.status_code == 503
    assert not {"p1", "p3"} & set(re.findall(r"\w+", refused.text.replace(address, "")))
    assert lead.get("/api/roles").status_code == 200
