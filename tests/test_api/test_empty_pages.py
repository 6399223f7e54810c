"""Pages of a company of which little is known say so in a sentence, and lead to what comes first."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from flask.testing import FlaskClient
from html_forms import list_links

from api.app import create_app
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

FEW = (
    ("scales", TABLES["scales"].build(scale="s", rank=1, label="able")),
    ("competencies", TABLES["competencies"].build(id="pump", label="Pumps", scale="s")),
    ("roles", TABLES["roles"].build(id="bare", label="Bare role")),
    ("teams", TABLES["teams"].build(id="works", label="Works")),
    ("people", TABLES["people"].build(id="p1", name="Ann Lee", role="bare", team="works")),
)


@pytest.fixture
def empty() -> Iterator[FlaskClient]:
    """A store in which nothing is."""
    graph = LiveGraph.in_memory()
    yield create_app(graph).test_client()
    graph.close()


@pytest.fixture
def few() -> Iterator[FlaskClient]:
    """One record of each kind that cannot be missing, and nothing that hangs on them."""
    graph = LiveGraph.in_memory()
    graph.apply(Change(FEW), who="test", why="few")
    yield create_app(graph).test_client()
    graph.close()


def test_the_first_page_says_how_to_begin_and_warns_of_nothing(empty: FlaskClient) -> None:
    read = empty.get("/").text
    assert "Nothing is loaded yet" in read
    assert 'class="care"' not in read


def test_an_empty_framework_has_nothing_to_mend(empty: FlaskClient) -> None:
    read = empty.get("/framework").text
    assert "Nothing is in the framework yet: load tables, or add the first competency." in read
    assert "To mend" not in read
    assert {"/loads/new", "/new/competencies"} <= set(list_links(read))


def test_an_empty_list_offers_to_add_and_not_to_narrow(empty: FlaskClient, few: FlaskClient) -> None:
    read = empty.get("/courses").text
    assert "There are no courses yet." in read
    assert "/new/courses" in list_links(read)
    assert "Nothing fits" not in read
    assert "Only those with" not in read
    assert "Only those with" in few.get("/roles").text
    assert "Nothing fits" in few.get("/roles?q=zz").text


def test_nobody_to_look_as_leads_to_how_people_come(empty: FlaskClient) -> None:
    assert {"/loads/new", "/new/people"} <= set(list_links(empty.get("/me").text))


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("/company-cover", "No team has cover needs yet, so nothing can be short."),
        ("/people/p1/roles", "No role is one step away."),
        ("/teams/works/staffing", "This team has no places."),
        ("/teams/works/filled-places", "This team has no places."),
    ],
)
def test_nothing_is_said_in_a_sentence_and_not_as_a_figure(few: FlaskClient, address: str, told: str) -> None:
    lead = few.get(address).text.partition('class="lead">')[2].partition("</p>")[0]
    assert lead.startswith(told)


def test_what_is_found_of_a_record_itself_names_no_column(few: FlaskClient) -> None:
    read = few.get("/roles/bare").text
    assert "<b>remark</b>: Has no requirements" in read
