"""One plan of a team: answer, chart and pictures take the same question and show the same plan."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient
from rest_company import ON

from api.desk.parameters import Parameter, list_parameters
from api.desk.question import TEAM
from api.http.index import list_answer_templates, list_picture_templates
from api.questions import load_question

PARTS = ("cross-training", "cross-training/diagram", "training-timetable", "training-timetable/diagram")
WRONG = ("exclude_people=nobody", "exclude_courses=none", "lending_teams=none", "by=2001-01-01")


def list_asked(name: str) -> dict[str, Parameter]:
    return {parameter.name: parameter for parameter in list_parameters(load_question(name).asks[TEAM])}


def test_all_forms_of_a_plan_take_the_parameters_of_the_plan() -> None:
    plan, chart = list_asked("cross-training"), list_asked("training-timetable")
    assert len(plan) > 10
    assert {name: chart[name] for name in plan} == plan
    assert set(chart) - set(plan) == {"show", "due"}
    answers, pictures = list_answer_templates(), list_picture_templates()
    for name, more in (("cross_training", set()), ("training_timetable", {"show", "due"})):
        for template in (answers[name], pictures[name]):
            asked = set(template.partition("{?")[2].rstrip("}").split(","))
            assert (
                asked - {"format", "layout", "page", "as_of", "people_as_of", "draft", "language"} == set(plan) | more
            )


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("wrong", WRONG)
def test_all_forms_refuse_the_same(client: FlaskClient, part: str, wrong: str) -> None:
    form = "&format=dot" if part.endswith("diagram") else ""
    response = client.get(f"/api/teams/works/{part}?on={ON}&{wrong}{form}")
    assert response.status_code == 422
    assert [error["parameter"] for error in response.get_json()["errors"]] == [wrong.partition("=")[0]]


def test_picture_shows_the_plan_without_those_who_do_not_learn(client: FlaskClient) -> None:
    def draw(more: str = "") -> str:
        return client.get(f"/api/teams/works/cross-training/diagram?on={ON}&format=dot{more}").get_data(as_text=True)

    learners = {row["person"] for row in client.get(f"/api/teams/works/cross-training?on={ON}").get_json()["learners"]}
    assert learners
    everyone = ",".join(sorted(learners))
    answer = client.get(f"/api/teams/works/cross-training?on={ON}&exclude_people={everyone}").get_json()
    assert not learners & {row["person"] for row in answer["learners"]}
    assert draw(f"&exclude_people={everyone}") != draw()


def test_first_day_too_far_ahead_names_from(client: FlaskClient) -> None:
    response = client.get(f"/api/teams/works/coverage-timeline?on={ON}&from=9999-12-31")
    assert response.status_code == 422
    assert [error["parameter"] for error in response.get_json()["errors"]] == ["from"]
