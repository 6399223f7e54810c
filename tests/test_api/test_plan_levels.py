"""Plans to full levels or to those of the first day, asked over REST; and the courses of a way that a plan holds."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from asking import answer
from flask.testing import FlaskClient
from rest_company import ON

from api.desk.names import Names
from api.desk.question import PERSON
from api.errors import ParameterError
from api.questions import load_question
from ontology.live.live_graph import LiveGraph

DAY = dt.date.fromisoformat(ON)
ASKED = ("learning-path", "schedule", "development-plan")


def ask(client: FlaskClient, name: str, **asked: str) -> Any:
    return client.get(f"/api/people/p1/{name}", query_string={"role": "operator", "on": ON} | asked)


@pytest.mark.parametrize("name", ASKED)
def test_full_levels_are_what_is_asked_where_nothing_is_said(client: FlaskClient, name: str) -> None:
    assert ask(client, name).data == ask(client, name, levels="full").data
    entry = ask(client, name, levels="entry")
    assert entry.status_code == 200
    assert entry.get_json().keys() == ask(client, name).get_json().keys()


@pytest.mark.parametrize("name", ASKED)
@pytest.mark.parametrize(
    ("wrong", "asked"),
    [
        ("levels", {"levels": "half"}),
        ("include", {"include": "nowhere"}),
        ("include", {"include": "valve-2", "exclude": "valve-2"}),
        ("include", {"include": "valve-2", "max_hours": "9"}),
        ("include", {"include": "valve-2", "max_cost": "9"}),
    ],
)
def test_what_is_wrong_is_named(client: FlaskClient, name: str, wrong: str, asked: dict[str, str]) -> None:
    reply = ask(client, name, **asked)
    assert reply.status_code == 422
    assert [error["parameter"] for error in reply.get_json()["errors"]] == [wrong]


def test_the_sheet_says_to_what_the_courses_lead_and_what_is_asked_next_says_it_too(graph: LiveGraph) -> None:
    snapshot = graph.get_snapshot()
    for levels, said in (("full", "lead to Operator."), ("entry", "lead to the first day as Operator.")):
        found = answer(snapshot, "learning-path", PERSON, "p1", role="operator", on=DAY, levels=levels)
        sheet = found.build_sheet()
        assert said in sheet.lead or "has to be learned for" in sheet.lead
        assert sheet.next[0].asked.get("levels", "full") == levels


def test_the_first_plan_of_a_way_is_asked_next(graph: LiveGraph) -> None:
    snapshot = graph.get_snapshot()
    found = answer(snapshot, "routes", PERSON, "p1", to="chief", on=DAY)
    best = found.result.best.study_hours
    assert best is not None
    first = found.build_sheet().next[0]
    assert (first.question, first.asked["role"], first.asked["levels"]) == ("schedule", best.moves[0].role, "entry")
    assert ("include" in first.asked) == (len(best.moves) > 1 and bool(best.moves[0].courses))
    assert Names(snapshot).has_role("p1", first.asked["role"], found.enquiry.asked.on) is False


def test_a_plan_to_the_first_day_is_not_agreed_since_it_is_followed_up_to_full_levels(graph: LiveGraph) -> None:
    found = answer(graph.get_snapshot(), "schedule", PERSON, "p1", role="operator", on=DAY, levels="entry")
    with pytest.raises(ParameterError) as caught:
        load_question("schedule").acts["agree"].build(found, {})
    assert [wrong.parameter for wrong in caught.value.wrong] == ["levels"]
