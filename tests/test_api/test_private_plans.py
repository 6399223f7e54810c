"""A plan that belongs to a person stays in no cache: not in one on the way, not in a browser, not in the desk's own."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient
from rest_company import ANSWERS, ON

from api.app import create_app
from api.desk.question import Question
from api.http.context import EXTENSION
from api.questions import list_questions
from ontology.live.live_graph import LiveGraph

PLAN = f"/api/people/p1/development-plan?role=operator&on={ON}"
FORMS = [PLAN, f"{PLAN}&format=ics", f"{PLAN}&format=xlsx", f"{PLAN}&format=html", PLAN.removeprefix("/api")]


@pytest.mark.parametrize("address", FORMS)
def test_a_plan_goes_out_private_in_every_form_also_when_it_has_not_changed(client: FlaskClient, address: str) -> None:
    first = client.get(address)
    assert first.status_code == 200
    again = client.get(address, headers={"If-None-Match": first.headers["ETag"]})
    assert again.status_code == 304
    for response in (first, again, client.head(address)):
        assert response.headers.getlist("Cache-Control") == ["private, no-store"]


def test_a_plan_is_worked_out_anew_each_time_and_never_kept(graph: LiveGraph, monkeypatch: pytest.MonkeyPatch) -> None:
    app = create_app(graph)
    kept: dict[str, Any] = {}
    monkeypatch.setattr(app.extensions[EXTENSION]._cache, "put", kept.__setitem__)
    client = app.test_client()
    answers = [client.get(address).data for address in (PLAN, PLAN, *FORMS)]
    assert kept == {}
    assert answers[0] == answers[1]
    # the schedule it is made of is an answer like others
    assert client.get(f"/api/people/p1/schedule?role=operator&on={ON}").status_code == 200
    assert len(kept) == 1


def get_question(segment: str) -> Question:
    """Return a question by the last part of its address."""
    return next(one for one in list_questions() if one.segment.rpartition("/")[2] == segment)


def test_pages_and_files_about_people_are_private_and_those_of_the_framework_are_not(client: FlaskClient) -> None:
    for address in ANSWERS:
        name = address.partition("?")[0].rsplit("/", 1)[1]
        private = "private, no-store"
        is_framework = name in ("compare", "missing", "proposals", "similar")
        joined = f"{address}{'&' if '?' in address else '?'}"
        for form in ("html", "xlsx", *get_question(name).files):
            rule = client.get(f"{joined}format={form}").headers["Cache-Control"]
            assert rule == ("no-cache" if is_framework else private), (address, form)
        told = client.get(address).headers["Cache-Control"]
        assert told == (private if name in ("agreed-plan", "development-plan") else "no-cache"), address
