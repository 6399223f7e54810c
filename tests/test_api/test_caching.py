"""Where people sign in no cache keeps anything about people, and none gives to one what another was told."""

from __future__ import annotations

import pytest
from canary_company import EMPLOYEE, TEAM, open_canaries

ABOUT_PEOPLE = (
    *(f"/api/people/{EMPLOYEE}", "/api/people", f"/api/people/{EMPLOYEE}/levels", "/api/assessments"),
    *("/api/find?text=a", f"/api/people/{EMPLOYEE}/learning-path/diagram?role=meter-technician", "/api/people/nobody"),
    *(f"/people/{EMPLOYEE}", f"/people/{EMPLOYEE}?format=json", "/my-data?format=json", "/account", "/api/nothing"),
    "/api/history",
)
OF_FRAMEWORK = (
    *("/api/competencies", "/api/roles/sampler", "/api/exports/skos"),
    "/api/roles/sampler/gap?from=meter-technician",
)


@pytest.mark.parametrize("address", ABOUT_PEOPLE)
def test_nothing_about_people_is_kept(address: str) -> None:
    headers = open_canaries().accounts.sign_in("employee").get(address).headers
    assert headers.getlist("Cache-Control") == ["private, no-store"]
    assert {"Cookie", "Authorization"} <= set(headers["Vary"].split(", "))


def test_an_answer_of_a_team_is_kept_by_none_nor_that_there_is_none() -> None:
    for actor in ("lead", "architect", "reader"):
        headers = open_canaries().accounts.sign_in(actor).get(f"/api/teams/{TEAM}/coverage").headers
        assert headers["Cache-Control"] == "private, no-store", actor


@pytest.mark.parametrize("address", OF_FRAMEWORK)
def test_the_framework_is_looked_at_again(address: str) -> None:
    response = open_canaries().accounts.sign_in("reader").get(address)
    assert (response.status_code, response.headers["Cache-Control"]) == (200, "private, no-cache")
    assert {"Cookie", "Authorization"} <= set(response.headers["Vary"].split(", "))


def test_what_is_open_to_everyone_is_told_to_everyone_alike() -> None:
    mine = open_canaries().accounts.sign_in("employee").get("/words").headers
    assert mine.get("Vary") == open_canaries().accounts.sign_in("nobody").get("/words").headers.get("Vary")
