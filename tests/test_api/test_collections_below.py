"""Lists below a record: what belongs to a person, role, course or team. And what is filled in on the way."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient

from ontology.live.live_graph import LiveGraph


@pytest.mark.parametrize(
    ("address", "ids"),
    [
        ("people/p1/assessments", [("competency", ["pump", "valve"])]),
        ("people/p3/absences", [("from", ["2026-12-01"])]),
        ("roles/operator/requirements", [("competency", ["licence", "pump", "valve"])]),
        ("roles/operator/requirements?necessity=blocking", [("competency", ["licence"])]),
        ("courses/combined/outcomes", [("competency", ["pump", "valve"])]),
        ("courses/pump-3/entry-conditions", [("competency", ["pump"])]),
        ("teams/works/members", [("id", ["p1", "p2", "p3"])]),
        ("teams/works/members?shift=night", [("id", ["p3"])]),
        ("teams/works/shifts", [("id", ["day", "night"])]),
        ("teams/works/cover-needs", [("competency", ["pump", "valve"])]),
        ("teams/works/places", [("id", ["desk"])]),
        ("teams/office/places", [("id", [])]),
        ("teams/office/memberships", [("person", ["p3"])]),
        ("places/desk/duties", [("person", ["p2"])]),
        ("courses/licence-course/sessions", [("id", ["licence-may"])]),
        ("courses/pump-3/sessions", [("id", [])]),
        ("sessions/licence-may/bookings?state=attended", [("person", ["p2"])]),
        ("people/p3/memberships", [("team", ["office"])]),
        ("people/p2/duties", [("place", ["desk"])]),
        ("people/p2/appointments", [("competency", ["licence"])]),
        ("people/p2/practices", [("count", [3])]),
        ("people/p1/orientation-done", [("item", ["tour"])]),
        ("people/p3/orientation-done", [("item", [])]),
    ],
)
def test_what_belongs_to_a_record(client: FlaskClient, address: str, ids: list[tuple[str, list[str]]]) -> None:
    response = client.get(f"/api/{address}")
    assert response.status_code == 200
    for name, values in ids:
        assert [record[name] for record in response.json or []] == values
    assert 'rel="first"' in response.headers["Link"]


@pytest.mark.parametrize(
    ("address", "body", "location"),
    [
        (
            "people/p3/assessments",
            {"competency": "pump", "level": 2, "date": "2026-05-01"},
            "assessments/p3~pump~2026-05-01~unstated~~2",
        ),
        ("people/p1/absences", {"from": "2027-01-01", "to": "2027-01-02"}, "absences/p1~2027-01-01"),
        ("roles/helper/requirements", {"competency": "valve", "level": 1}, "requirements/helper~valve"),
        ("courses/valve-2/outcomes", {"competency": "pump", "level": 1}, "outcomes/valve-2~pump"),
        ("courses/combined/entry-conditions", {"competency": "pump", "level": 1}, "entry-conditions/combined~pump"),
        ("teams/office/members", {"id": "p7", "name": "Dee Example"}, "people/p7"),
        ("teams/office/shifts", {"id": "late", "label": "Late"}, "shifts/late"),
        ("teams/office/cover-needs", {"competency": "pump", "level": 1}, "cover-needs/office~pump~1~team"),
        ("teams/office/places", {"id": "door", "role": "helper"}, "places/door"),
        ("teams/office/memberships", {"person": "p1", "from": "2027-03-01"}, "memberships/p1~2027-03-01"),
        ("people/p1/memberships", {"team": "office", "from": "2027-03-01"}, "memberships/p1~2027-03-01"),
        ("places/desk/duties", {"person": "p1", "from": "2027-03-01"}, "duties/p1~desk~2027-03-01"),
        ("courses/pump-3/sessions", {"id": "pump-may", "from": "2027-05-03"}, "sessions/pump-may"),
        ("sessions/licence-may/bookings", {"person": "p1", "state": "missed"}, "bookings/licence-may~p1"),
        ("people/p3/appointments", {"competency": "pump", "from": "2026-02-01"}, "appointments/p3~pump~2026-02-01"),
        ("people/p3/practices", {"competency": "pump", "date": "2026-02-02"}, "practices/p3~pump~2026-02-02"),
        ("people/p3/orientation-done", {"item": "tour", "date": "2026-02-02"}, "orientation-done/p3~tour"),
    ],
)
def test_a_record_is_made_below_another(
    writer: FlaskClient, address: str, body: dict[str, object], location: str
) -> None:
    made = writer.post(f"/api/{address}", json=body)
    assert made.status_code == 201, made.text
    assert made.headers["Location"] == f"http://localhost/api/{location}"
    read = writer.get(made.headers["Location"])
    assert (read.status_code, read.json) == (200, made.json)
    above = address.split("/")[1]
    assert above in (made.json or {}).values()
    wrong = writer.post(f"/api/{address}", json=body | {_get_column(address): "other"})
    assert wrong.status_code == 422
    assert writer.post(f"/api/{address.replace(above, 'nobody')}", json=body).status_code == 404


def _get_column(address: str) -> str:
    above = {"people": "person", "roles": "role", "courses": "course", "teams": "team"}
    return (above | {"places": "place", "sessions": "session"})[address.split("/")[0]]


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ({}, "2028-01-31"),
        ({"valid_until": None}, "2028-01-31"),
        ({"valid_until": "2027-01-01"}, "2027-01-01"),
    ],
)
def test_the_end_of_validity_is_written_when_an_assessment_is_made(
    writer: FlaskClient, given: dict[str, object], expected: str
) -> None:
    """24 months, end of month: done on 15 January 2026, it counts until 31 January 2028 (as 14 CFR 61.56(c) counts)."""
    body = {"competency": "licence", "level": 1, "date": "2026-01-15", "source": "certificate"} | given
    made = writer.post("/api/people/p3/assessments", json=body)
    assert made.status_code == 201
    assert (made.json or {})["valid_until"] == expected
    # a rule that changes later does not change it
    rule = {"label": "Licence", "scale": "held", "kind": "certificate", "validity_months": 1}
    assert writer.put("/api/competencies/licence", json=rule, headers={"If-Match": "*"}).status_code == 200
    assert (writer.get(made.headers["Location"]).json or {})["valid_until"] == expected


def test_a_renewal_in_its_window_counts_from_the_last_day_of_what_it_renews(writer: FlaskClient) -> None:
    rule = {"label": "Licence", "scale": "held", "kind": "certificate", "validity_months": 24}
    window = {"validity_rule": "end-of-month", "renewal_window_months": 1}
    assert writer.put("/api/competencies/licence", json=rule | window, headers={"If-Match": "*"}).status_code == 200
    ends = {}
    for day in ("2028-05-02", "2028-04-30"):  # p2 has it until 30 June 2028
        made = writer.post("/api/assessments", json=SEEN | {"date": day})
        assert made.status_code == 201, made.text
        ends[day] = (made.json or {})["valid_until"]
        assert writer.delete(made.headers["Location"], headers={"If-Match": "*"}).status_code == 204
    assert ends == {"2028-05-02": "2030-06-30", "2028-04-30": "2030-04-30"}


SEEN = {"person": "p2", "competency": "licence", "level": 1, "source": "certificate"}


def test_validity_past_the_end_of_the_calendar_is_refused(writer: FlaskClient) -> None:
    body = {"competency": "licence", "level": 1, "date": "9999-01-15", "source": "certificate"}
    assert writer.post("/api/people/p3/assessments", json=body).status_code == 422


def test_a_scale_in_use_keeps_its_levels(writer: FlaskClient) -> None:
    fewer = {"levels": [{"rank": rank, "label": f"L{rank}"} for rank in (1, 2)]}
    response = writer.put("/api/scales/craft", json=fewer, headers={"If-Match": "*"})
    assert response.status_code == 409
    assert len((writer.get("/api/scales/craft").json or {})["levels"]) == 5


def test_levels_may_come_in_any_order(writer: FlaskClient) -> None:
    levels = [{"rank": 2, "label": "Two", "description": ""}, {"rank": 1, "label": "One", "description": ""}]
    response = writer.post("/api/scales", json={"id": "two", "levels": levels})
    assert response.status_code == 201
    assert (response.json or {})["levels"] == levels[::-1]
    assert writer.get("/api/scales?page_size=5&id=two").json == [response.json]
    for wrong in ([], [{"rank": 1, "label": "a"}, {"rank": 1, "label": "b"}], [{"label": "a"}], "x", [1]):
        assert writer.post("/api/scales", json={"id": "three", "levels": wrong}).status_code == 422


@pytest.mark.parametrize(
    ("address", "body"),
    [
        ("people/p2/duties", {"place": "desk", "from": "2026-11-02"}),
        ("people/p2/appointments", {"competency": "licence", "from": "2026-11-02"}),
        ("people/p2/practices", {"competency": "pump", "date": "2026-08-01"}),
        ("people/p1/assessments", {"competency": "pump", "level": 2, "date": "2026-08-01", "source": "manager"}),
        ("sessions/licence-may/bookings", {"person": "p3"}),
        ("people/p3/orientation-done", {"item": "tour", "date": "2026-03-02"}),
    ],
)
def test_what_is_made_says_that_it_was_written_down_today(
    writer: FlaskClient, graph: LiveGraph, address: str, body: dict[str, object]
) -> None:
    today = graph.store.get_today().isoformat()
    for given, expected in ((None, today), ("2026-11-20", "2026-11-20")):
        made = writer.post(f"/api/{address}", json=body | {"recorded_on": given})
        assert (made.status_code, (made.json or {})["recorded_on"]) == (201, expected)
        # what is replaced stays as it is written
        put = writer.put(made.headers["Location"], json=body, headers={"If-Match": "*"})
        assert (put.status_code, (put.json or {})["recorded_on"]) == (200, None)
        assert writer.delete(made.headers["Location"], headers={"If-Match": "*"}).status_code == 204
    assert writer.post(f"/api/{address}", json=body | {"recorded_on": ""}).status_code == 422
