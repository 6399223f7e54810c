"""What stands on a page is of use to who looks: no act that would be refused, no id where there is a name."""

from __future__ import annotations

import pytest
from canary_company import EMPLOYEE, OTHER_TEAM, TEAM, open_canaries


def read(actor: str, address: str) -> str:
    response = open_canaries().accounts.sign_in(actor).get(address)
    assert response.status_code == 200, address
    return response.get_data(as_text=True)


def test_who_signed_in_is_not_offered_to_look_as_someone_else() -> None:
    page = read("employee", f"/people/{EMPLOYEE}")
    assert "Where I stand" in page
    assert "ook as" not in page
    assert "Stop looking" not in page


@pytest.mark.parametrize(("actor", "status"), [("employee", 404), ("lead", 404), ("architect with purpose", 200)])
def test_a_person_is_added_by_who_may_make_the_whole_record(actor: str, status: int) -> None:
    client = open_canaries().accounts.sign_in(actor)
    assert client.get("/new/people").status_code == status
    assert ("Add a person" in client.get("/people").get_data(as_text=True)) == (status == 200)


def test_who_assessed_is_told_by_name_to_the_person() -> None:
    canaries = open_canaries()
    assessors = {row.assessor for row in canaries.snapshot.get_assessments(EMPLOYEE)} & canaries.names.keys()
    page = read("employee", "/my-data")
    assert assessors
    assert [one for one in assessors if canaries.names[one] not in page or f">{one}<" in page] == []


def test_an_account_of_nobody_is_told_where_its_own_data_are() -> None:
    page = read("administrator", "/my-data")
    assert "Your account is tied to nobody" in page
    assert '<a class="act first" href="/account">' in page


@pytest.mark.parametrize(("actor", "words"), [("reader", None), ("employee", "Teams"), ("lead", "Team cover")])
def test_the_way_to_the_teams_is_called_what_is_seen_there(actor: str, words: str | None) -> None:
    page = read(actor, "/courses")
    found = [one for one in ("Teams", "Team cover") if f'<a href="/teams">{one}</a>' in page]
    assert found == ([words] if words else [])


def test_an_architect_is_led_from_a_team_to_its_figures_and_to_a_purpose() -> None:
    page = read("architect", f"/teams/{TEAM}")
    assert f'href="/teams/{TEAM}/coverage"' in page
    assert f'href="/account/purpose?team={TEAM}"' in page
    refused = open_canaries().accounts.sign_in("architect").get(f"/teams/{TEAM}/changes?since=0")
    assert f'href="/account/purpose?team={TEAM}"' in refused.get_data(as_text=True)


@pytest.mark.parametrize(("team", "offers"), [(TEAM, True), (OTHER_TEAM, False)])
def test_what_is_made_for_a_team_is_offered_to_its_lead(team: str, offers: bool) -> None:
    page = read("lead", f"/teams/{team}")
    assert [f"/new/{table}?team={team}" in page for table in ("cover-needs", "places")] == [offers, offers]
    assert (f"/new/shifts?team={team}" in page) <= offers
