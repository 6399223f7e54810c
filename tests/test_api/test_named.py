"""Forms are filled in with names: they ask the same as the ids do, and what tells nobody alone is refused."""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient
from small_company import build_snapshot

from api.desk.naming import say_ids, take_id, take_ids
from api.desk.parameters import list_parameters
from api.errors import ParameterError
from api.pages.ask_form import list_fields
from api.pages.named import MOST_CHOICES, list_choices
from api.questions.person.routes import AskRoutes
from api.questions.team.cross_training import QUESTION as CROSS_TRAINING
from ontology.snapshot.snapshot import Snapshot

PEOPLE = [
    {"id": "p1", "name": "Ada Example"},
    {"id": "p2", "name": "Ben, Example"},
    {"id": "p3", "name": "Same Name"},
    {"id": "p4", "name": "same name"},
]
ROLES = [{"id": f"r{n}", "label": f"Role {n}"} for n in range(3)]


@pytest.fixture(scope="module")
def snapshot() -> Snapshot:
    return build_snapshot(people=PEOPLE, roles=ROLES)


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("p1", "p1"),
        ("Ada Example", "p1"),
        ("ada example; Ben, Example", "p1,p2"),
        ("p2, Ada Example", "p2,p1"),
        ("Ada", "p1"),
    ],
)
def test_names_are_taken_for_ids_where_they_tell_one_person(snapshot: Snapshot, text: str, taken: str) -> None:
    (asks,) = CROSS_TRAINING.asks.values()
    assert take_ids(snapshot, asks, {"exclude_people": text})["exclude_people"] == taken


@pytest.mark.parametrize(("text", "told"), [("Same Name", "could mean several"), ("Nobody", "Nobody"), ("p1,x", "x")])
def test_names_that_tell_none_or_several_are_told_at_their_field(snapshot: Snapshot, text: str, told: str) -> None:
    (asks,) = CROSS_TRAINING.asks.values()
    with pytest.raises(ParameterError, match=told) as refused:
        take_ids(snapshot, asks, {"exclude_people": text})
    assert refused.value.wrong[0].parameter == "exclude_people"
    # in the form of a record it is left as it was typed, and refused there
    assert take_id(snapshot, "people", text) == text


def test_ids_are_shown_by_names_and_read_back(snapshot: Snapshot) -> None:
    (asks,) = CROSS_TRAINING.asks.values()
    (parameter,) = [p for p in list_parameters(asks) if p.name == "exclude_people"]
    said = say_ids(snapshot, parameter, "p1,p2,p3")
    assert said == "Ada Example; Ben, Example; p3"
    assert take_ids(snapshot, asks, {"exclude_people": said})["exclude_people"] == "p1,p2,p3"


def test_one_record_is_chosen_from_a_list_by_name_while_the_list_is_short(snapshot: Snapshot) -> None:
    fields = {field.name: field for field in list_fields(AskRoutes, {"to": "r1"}, snapshot)}
    assert fields["to"].choices == (("r0", "Role 0"), ("r1", "Role 1"), ("r2", "Role 2"))
    assert fields["via"].choices[0] == ("", "–")
    many = build_snapshot(roles=[{"id": f"r{n}", "label": f"Role {n}"} for n in range(MOST_CHOICES + 1)])
    assert list_choices(many, "roles") == ()


def test_a_page_asked_by_names_answers_as_the_one_asked_by_ids(client: FlaskClient) -> None:
    by_ids = client.get("/teams/works/coverage?on=2026-11-24&away=p1")
    by_names = client.get("/teams/works/coverage", query_string={"on": "2026-11-24", "away": "Ada Example"})
    assert by_names.status_code == 200
    # its address in another language has what was typed
    assert by_names.text.replace("Ada+Example", "p1") == by_ids.text
    assert client.get("/teams/works/coverage?away=Nobody").status_code == 422
    # boxes that are ticked send a name each
    assert client.get("/teams/works/coverage?on=2026-11-24&away=p1&away=p2").status_code == 200
    assert client.get("/teams/works/coverage?on=2026-11-24&on=2026-11-25").status_code == 422
