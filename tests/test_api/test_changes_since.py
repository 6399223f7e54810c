"""What changed since a state, of a team and of a person: each difference with what was changed, or time alone."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from all_accounts import People, build_accounts
from edited_companies import bulk_from
from flask.testing import FlaskClient
from rest_company import build_company, fill_neighbour

from api.app import create_app
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.retiring import Taker, plan_retirement
from ontology.model.tables import TABLES
from ontology.store.engine import Store

THEN, NOW = dt.datetime(2026, 11, 24, 9, 30, tzinfo=dt.UTC), dt.datetime(2026, 11, 29, 8, 0, tzinfo=dt.UTC)
DESK = TABLES["places"].build(id="desk-2", team="works", role="operator", count=1)


class Company:
    """The small company of 24 November, edited on 29 November; today is what is said."""

    def __init__(self) -> None:
        self.at = THEN
        store = Store.in_memory()
        store._clock = lambda: self.at
        self.graph = LiveGraph(store)
        present = build_company().get_snapshot()
        self.graph.load({name: list(present.get_table(name).values()) for name in TABLES}, who="t", why="all")
        self.at = NOW

    def put(self, table: str, record: Any, why: str = "replaced x/y: New rule") -> None:
        self.graph.apply(Change(put=((table, record),)), who="lena", why=why)

    def change(self, table: str, key: tuple[Any, ...], **values: Any) -> None:
        self.put(table, replace(self.graph.get_snapshot().get_record(table, key), **values))


@pytest.fixture
def company() -> Company:
    return Company()


@pytest.fixture
def client(company: Company, monkeypatch: pytest.MonkeyPatch) -> FlaskClient:
    monkeypatch.setattr("api.desk.desk.get_utc_day", lambda: company.at.date())
    return create_app(company.graph).test_client()


def ask(client: FlaskClient, address: str) -> dict[str, Any]:
    response = client.get(f"/api{address}")
    assert response.status_code == 200, response.text
    answer: dict[str, Any] = response.json
    return answer


def test_a_requirement_that_was_raised_changes_the_standing_and_says_so(company: Company, client: FlaskClient) -> None:
    company.change("requirements", ("operator", "pump"), level=4)
    answer = ask(client, "/people/p2/changes?since=1")
    why = ["full level of Pump operation for Operator raised from 3 to 4, by lena, 29 November 2026: New rule"]
    assert answer["standing"] == {
        **{"role_before": "operator", "role_after": "operator", "before": "full", "after": "works-alone"},
        "why": why,
    }
    (gap,) = answer["gaps"]
    assert (gap["competency"], gap["asked_before"], gap["asked_after"]) == ("pump", 3, 4)
    assert (gap["gap_before"], gap["gap_after"], gap["why"]) == (0, 1, why)
    assert (answer["levels"], answer["before_on"], answer["on"]) == ([], "2026-11-24", "2026-11-29")
    page = client.get("/people/p2/changes?since=1").text
    assert (
        "Ben Example works alone as Operator; on revision 1 of 24 November 2026: is at full level as Operator" in page
    )


def test_what_only_lapsed_says_time(company: Company, client: FlaskClient) -> None:
    answer = ask(client, "/people/p2/changes?since=1&on=2028-07-01")
    assert answer["standing"]["after"] == "none"
    assert answer["standing"]["why"] == ["time"]
    (level,) = answer["levels"]
    assert (level["competency"], level["level_before"], level["level_after"]) == ("licence", 1, 0)
    assert level["why"] == ["time"]


def test_a_rename_is_no_reason(company: Company, client: FlaskClient) -> None:
    company.change("competencies", ("licence",), label="Permit", definition="As the code says.")
    assert ask(client, "/people/p2/changes?since=1&on=2028-07-01")["levels"][0]["why"] == ["time"]


def test_who_left_breaks_a_need_and_empties_a_place(company: Company, client: FlaskClient) -> None:
    company.change("people", ("p2",), team="office", shift="")
    answer = ask(client, "/teams/works/changes?since=2026-11-24")
    why = ["Ben Example: team changed from Works to Office; shift no longer Day, by lena, 29 November 2026"]
    pump, valve = answer["needs"]
    assert (pump["competency"], pump["state_before"], pump["state_after"]) == ("pump", "covered", "sole-holder")
    assert (pump["depth_before"], pump["depth_after"]) == (2, 1)
    assert (valve["state_before"], valve["state_after"]) == ("sole-holder", "short")
    assert pump["why"] == valve["why"] == why
    assert answer["single_points"] == {"gained": [{"id": "p1", "why": why}], "lost": [{"id": "p2", "why": why}]}
    assert answer["places_filled"] == {"before": 1, "after": 0, "why": why}
    assert answer["tolerance"] == {"before": 0, "after": None, "why": why}
    page = client.get("/teams/works/changes?since=2026-11-24").text
    assert "In Works since 24 November 2026: 2 needs stand worse" in page


def test_an_absence_counts_on_its_days_alone(company: Company, client: FlaskClient) -> None:
    build = TABLES["absences"].build
    company.put("absences", build(person="p2", from_date=dt.date(2026, 11, 28), to_date=dt.date(2026, 12, 2)))
    company.put("absences", build(person="p2", from_date=dt.date(2027, 1, 1), to_date=dt.date(2027, 1, 3)))
    (why,) = ask(client, "/teams/works/changes?since=1")["needs"][0]["why"]
    assert "28 Nov" in why or "2026-11-28" in why
    assert ask(client, "/teams/works/changes?since=1&on=2026-12-10")["needs"] == []


def test_across_a_bulk_commit_and_back_again_it_says_what_was_done(company: Company, client: FlaskClient) -> None:
    company.change("cover_needs", ("works", "pump", 2, "team"), minimum=2, target=2)
    with bulk_from(0):
        company.change("cover_needs", ("works", "pump", 2, "team"), minimum=3, target=3)
    (need,) = ask(client, "/teams/works/changes?since=1")["needs"]
    told = "present at least of Pump operation in Works raised from"
    assert [one.split(";")[0].split(",")[0] for one in need["why"]] == [f"{told} 2 to 3", f"{told} 1 to 2"]
    assert ask(client, "/teams/works/changes?since=2")["needs"][0]["state_before"] == "no-reserve"
    company.change("cover_needs", ("works", "pump", 2, "team"), minimum=1, target=2)
    assert ask(client, "/teams/works/changes?since=1")["needs"] == []


def test_nothing_changed_since_now(company: Company, client: FlaskClient) -> None:
    answer = ask(client, "/teams/works/changes?since=now")
    assert not answer["needs"]
    assert answer["single_points"] == {"gained": [], "lost": []}
    assert "In Works everything stands as on" in client.get("/teams/works/changes?since=now").text


@pytest.mark.parametrize(
    ("more", "says"), [("", "is missing"), ("since=9", "above the present revision"), ("since=3&as_of=2", "before")]
)
def test_a_state_that_cannot_be_is_refused(company: Company, client: FlaskClient, more: str, says: str) -> None:
    for level in (4, 5):
        company.change("requirements", ("operator", "pump"), level=level)
    response = client.get(f"/api/people/p2/changes?{more}")
    assert response.status_code == 422
    assert "since" in response.text
    assert says in response.text


@pytest.mark.parametrize("since", ["draft:raised", "outside:neighbour"])
@pytest.mark.parametrize("path", ["people/p2", "teams/works"])
def test_what_is_no_past_state_is_refused(company: Company, client: FlaskClient, path: str, since: str) -> None:
    company.graph.drafts.start("raised", "Raised", who="t")
    company.graph.outside.replace("neighbour", fill_neighbour)
    response = client.get(f"/api/{path}/changes?since={since}")
    assert response.status_code == 422
    assert "since" in response.text
    assert "must be a revision, a day or a release" in response.text


def test_who_may_not_read_a_change_is_not_told_what_it_was(company: Company, monkeypatch: pytest.MonkeyPatch) -> None:
    company.change("people", ("p3",), team="office", shift="", role="chief")
    company.change("people", ("p2",), team="office", shift="")
    monkeypatch.setattr("api.desk.desk.get_utc_day", lambda: company.at.date())
    accounts = build_accounts(company.graph, People("p1", "p1", "works", "office", "pump"))
    lead = accounts.sign_in("lead").get("/api/teams/works/changes?since=1")
    assert lead.status_code == 200
    assert lead.json["needs"][0]["why"] == ["a change of a record that you may not see"]
    assert "p3" not in lead.text
    assert "Cleo" not in lead.text
    assert "team changed" not in lead.text
    for other in ("reader", "employee", "other lead", "assessor", "architect", "administrator"):
        assert accounts.sign_in(other).get("/api/teams/works/changes?since=1").status_code in (403, 404)
    assert accounts.sign_in("architect with purpose").get("/api/teams/works/changes?since=1").status_code == 200
    assert accounts.sign_in("employee").get("/api/people/p1/changes?since=1").status_code == 200
    assert accounts.sign_in("other lead").get("/api/people/p1/changes?since=1").status_code == 404


def test_a_level_read_for_what_took_a_place_says_the_replacement(company: Company, client: FlaskClient) -> None:
    graph = company.graph
    company.change("assessors", ("p2",), competencies=("pump",))
    company.put("competencies", TABLES["competencies"].build(id="slide", label="Slide gates", scale="craft"))
    change = plan_retirement(graph.get_snapshot(), "competencies", "valve", [Taker("slide")], "one name", NOW.date())
    graph.apply(change, who="lena", why="one name for both")
    answer = ask(client, "/people/p2/changes?since=3")
    (level,) = [row for row in answer["levels"] if row["competency"] == "slide"]
    assert (level["level_before"], level["level_after"]) == (None, 3)
    assert any("by lena, 29 November 2026: one name for both" in why for why in level["why"])
