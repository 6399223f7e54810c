"""The effect of a draft: first sentence, figures and names by right, and what it is not asked of."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from all_accounts import Accounts, People, build_accounts
from click.testing import CliRunner
from demonstration_pages import ON
from rest_company import build_company
from scenario import SCENARIO, begin_draft

from api.access.accounts import Grant
from api.access.actor import Role
from api.app import create_app
from api.desk import desk as desk_module
from api.terminal.program import program
from loaders.pipeline import load_paths
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

EFFECT = "/api/drafts/spring/effect"
_ID = re.compile(r"\bp0\d\d\b")


def edit(graph: LiveGraph, draft: str, table: str, key: tuple[Any, ...], **values: Any) -> None:
    record = replace(graph.get_snapshot().get_record(table, key), **values)
    graph.drafts.edit(draft, Change(put=((table, record),)), who="t", why="edited")


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    """The demonstration with a draft that asks more of treatment operators and of a team."""
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    begin_draft(graph)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(desk_module, "get_utc_day", lambda: desk_module.dt.date.fromisoformat(ON))
        yield graph
    graph.close()


@pytest.fixture(scope="module")
def accounts(graph: LiveGraph) -> Accounts:
    accounts = build_accounts(graph, People("p008", "p009", "treatment", "networks", "disinfection-control"))
    number = accounts.access.accounts.make("both", [Grant(Role.ARCHITECT), Grant(Role.LEAD, "treatment")]).number
    accounts.numbers["both"] = number
    return accounts


def test_who_may_see_names_is_told_them_and_first_what_matters(graph: LiveGraph) -> None:
    client = create_app(graph).test_client()
    answer: Any = client.get(EFFECT).json
    (role,) = answer["roles"]
    assert (role["id"], role["requirements_changed"]) == ("treatment-operator", 1)
    stopped = role["holders"]["stopped"]["works-alone"]
    # as data/SOURCE.md tells it
    assert (len(stopped), role["holders"]["people"]) == (5, 7)
    (team,) = answer["teams"]
    assert team["places_filled"] == {"before": 6, "after": 3}
    assert role["holders"]["stopped_people"]["works-alone"] == len(stopped)
    for person in stopped:
        before, after = (
            client.get(f"/api/people/{person}/gap?role=treatment-operator{more}").json["standing"]
            for more in ("", "&draft=spring")
        )
        assert before in ("works-alone", "full")
        assert after in ("none", "may-start")
    paths = {row["from"]: row for row in answer["paths"]}
    alone = client.get("/api/people/p006/learning-path?role=treatment-operator&draft=spring").json
    assert paths["holders"]["hours_after"] >= alone["study_hours"] > 0
    assert (answer["status"], answer["draft"], answer["number"]) == ("complete", "spring", 2)
    assert answer["examined"]["pairs"] < answer["of"]["pairs"]
    page = client.get("/drafts/spring/effect").text
    n = role["everyone"]["stopped_people"]["works-alone"]
    assert f"{n} people would no longer work alone as Treatment operator" in page
    assert "It decides nothing about anyone" in page


def test_an_architect_is_told_figures_and_no_small_one(accounts: Accounts) -> None:
    architect = accounts.sign_in("architect")
    for form in ("json", "html", "xlsx"):
        response = architect.get(f"{EFFECT}?format={form}")
        assert response.status_code == 200
        if form != "xlsx":
            assert not _ID.findall(response.text)
            assert "Nyholm" not in response.text
    answer: Any = architect.get(EFFECT).json
    numbers = answer["roles"][0]["everyone"]
    assert numbers["stopped"] == numbers["started"] == {"may-start": [], "works-alone": [], "full": []}
    told = [*numbers["stopped_people"].values(), *numbers["started_people"].values(), numbers["readiness_up"]]
    assert all(value == "under 5" or value >= 5 for value in told)
    assert numbers["people"] >= 5
    (team,) = answer["teams"]
    assert team["single_points"]["gained"] == []
    assert team["needs"][0]["state_after"] == "no-reserve"
    assert "under 5 people may" not in architect.get("/drafts/spring/effect").text
    # of another day a number would tell who came or went
    other: Any = architect.get(f"{EFFECT}?on=2026-12-01").json
    assert other["roles"][0]["everyone"]["people"] is None
    assert architect.get(f"{EFFECT}?on=2026-12-02").status_code == 422


def test_an_architect_who_leads_a_team_is_told_its_names_for_its_own_roles(accounts: Accounts) -> None:
    answer: Any = accounts.sign_in("both").get(EFFECT).json
    (row,) = answer["roles"]
    named = row["everyone"]["stopped"]["works-alone"]
    assert named
    people = accounts.app.extensions["newel"].graph.get_snapshot().people
    assert {people[one].team for one in named} == {"treatment"}
    assert row["everyone"]["stopped_people"]["works-alone"] == "under 5"  # of others
    assert answer["teams"][0]["single_points"]["gained"]


@pytest.mark.parametrize("actor", ["reader", "employee", "lead", "other lead", "assessor", "administrator"])
def test_to_all_others_the_draft_is_an_unknown_one(accounts: Accounts, actor: str) -> None:
    client = accounts.sign_in(actor)
    assert client.get(EFFECT).status_code == 404
    assert client.get("/drafts/spring/effect").status_code == 404
    known, unknown = (client.get(f"/api/drafts/{one}/effect").json for one in ("spring", "nothing"))
    assert {k: v for k, v in known.items() if k not in ("instance", "detail", "id")} == {
        k: v for k, v in unknown.items() if k not in ("instance", "detail", "id")
    }


def test_it_is_asked_of_the_present_of_what_is_open_and_sound() -> None:
    graph = build_company()
    client = create_app(graph).test_client()
    assert client.get("/api/drafts/raised/effect?as_of=1").status_code == 422
    assert client.get("/api/drafts/autumn/effect").status_code == 404
    tag = client.get("/api/drafts/raised/effect").headers["ETag"]
    edit(graph, "raised", "requirements", ("operator", "pump"), level=5)
    assert client.get("/api/drafts/raised/effect").headers["ETag"] != tag
    graph.drafts.start("faulty", "Faulty", who="t")
    row = TABLES["requirements"].build(role="operator", competency="pump", level=9)
    graph.drafts.edit("faulty", Change(put=(("requirements", row),)), who="t", why="w")
    assert client.get("/api/drafts/faulty/effect").status_code == 409


def test_the_command_tells_the_same(tmp_path: Path) -> None:
    graph = LiveGraph.open(tmp_path / "store", create=True)
    company = build_company().get_snapshot()
    graph.load({name: list(company.get_table(name).values()) for name in TABLES}, who="t", why="all")
    graph.drafts.start("spring", "Spring", who="t")
    edit(graph, "spring", "requirements", ("operator", "pump"), level=4, unsupervised_level=4)
    graph.close()
    words = ["effect", "spring", "--on", ON, "--store", str(tmp_path / "store")]
    result = CliRunner().invoke(program, words, prog_name="newel")
    assert result.exit_code == 0, result.output
    assert "1 person would no longer work alone as Operator" in result.output
    answer = json.loads(CliRunner().invoke(program, [*words, "--json"], prog_name="newel").stdout)
    assert answer["roles"][0]["everyone"]["stopped"]["works-alone"] == ["p2"]
