"""The page of a slow answer: it tells how far it is, leads back when it is done, and can be cancelled."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient
from rest_company import build_company
from werkzeug.test import TestResponse

from api.app import create_app
from api.desk.desk import Answer, Desk, Enquiry
from api.http.context import EXTENSION
from api.settings import Settings
from ontology.analysis.engine.deadline import Deadline

SLOW = "/teams/works/cross-training?hours_limit=500"


class HeldDesk(Desk):
    """A desk whose slow answers come when they are let."""

    may_end: threading.Event

    def compute(self, enquiry: Enquiry) -> Answer:
        """Answer once it is let, or once it is stopped."""
        deadline = Deadline(60)
        while enquiry.question.is_slow and not (self.may_end.is_set() or deadline.is_over()):
            time.sleep(0.005)
        return super().compute(enquiry)


@pytest.fixture
def app(monkeypatch: pytest.MonkeyPatch) -> Iterator[Flask]:
    monkeypatch.setattr("api.desk.computations.Computations.__init__.__kwdefaults__", {"patience_s": 0.1, "kept_s": 60})
    graph = build_company()
    app = create_app(graph)
    desk = app.extensions[EXTENSION] = HeldDesk(graph, Settings())
    desk.may_end = threading.Event()
    yield app
    desk.may_end.set()
    graph.close()


@pytest.fixture
def reader(app: Flask) -> FlaskClient:
    return app.test_client()


def let(app: Flask) -> None:
    """Let slow answers come."""
    app.extensions[EXTENSION].may_end.set()


def begin(reader: FlaskClient) -> str:
    """Ask what takes long; return the address of its computation."""
    response = reader.get(SLOW)
    assert response.status_code == 303
    assert response.headers["Cache-Control"] == "no-store"
    return response.headers["Location"]


def look_until(reader: FlaskClient, address: str, status: int) -> TestResponse:
    """Look again until the page has a status."""
    for _ in range(500):
        response = reader.get(address)
        if response.status_code == status:
            return response
        time.sleep(0.01)
    pytest.fail(f"still {response.status_code}")


def test_what_takes_long_leads_to_how_far_it_is_and_back(app: Flask, reader: FlaskClient) -> None:
    address = begin(reader)
    assert re.fullmatch(r"/computing/\d+", address)
    page = reader.get(address)
    assert page.status_code == 202
    assert "Computing for 0 s, at most 10 s." in page.text
    assert re.search(r"<progress max=\"10\" value=\"0\"", page.text)
    for words in ("Look again", "Cancel", "Go on elsewhere", "15 minutes"):
        assert words in page.text
    assert "http-equiv" not in page.text, "a page that reloads by itself takes the reader's place away"
    let(app)
    assert look_until(reader, address, 303).headers["Location"] == SLOW
    assert reader.get(SLOW).status_code == 200, "what was kept is there at once"


def test_a_script_asks_for_the_progress_alone(reader: FlaskClient) -> None:
    part = reader.get(begin(reader), headers={"Newel-Part": "progress"})
    assert part.status_code == 202
    assert part.text.strip().startswith('<p class="lead">Computing')
    assert "<html" not in part.text


def test_cancelled_it_shows_the_best_and_can_be_computed_again(app: Flask, reader: FlaskClient) -> None:
    address = begin(reader)
    assert reader.post(address, data={"act": "cancel"}).headers["Location"] == address
    page = look_until(reader, address, 200)
    assert "Cancelled after 0 seconds. This is the best found so far." in page.text
    assert "See the best so far" in page.text
    assert "time_limit=60" in page.text, "the same with more time"
    assert reader.get(SLOW).status_code == 200
    let(app)
    assert reader.post(address, data={"act": "again"}).headers["Location"] == SLOW
    assert reader.get(SLOW).status_code == 200
    assert reader.get(address).status_code == 404


def test_no_such_computation_is_told_like_any_page_that_is_not_there(reader: FlaskClient) -> None:
    pages = [reader.get(address) for address in ("/computing/999", "/people/nobody/gap?role=operator")]
    told = [re.sub(r"<code>\w+</code>|Search for “[^”]*”|q=\w*", "", page.text) for page in pages]
    assert [page.status_code for page in pages] == [404, 404]
    assert told[0].partition("<main")[2] == told[1].partition("<main")[2]


def test_a_form_of_someone_else_changes_nothing(reader: FlaskClient) -> None:
    address = begin(reader)
    assert reader.post(address, data={"act": "cancel"}, headers={"Origin": "http://elsewhere.test"}).status_code == 403
    assert reader.post(address, data={"act": "dance"}).status_code == 400
    assert reader.get(address).status_code == 202


def test_two_wait_while_two_of_ones_own_compute(app: Flask, reader: FlaskClient) -> None:
    numbers = [
        reader.get(f"/teams/works/cross-training?hours_limit={hours}").headers["Location"] for hours in (1, 2, 3)
    ]
    page = reader.get(numbers[2])
    assert "Your turn comes when one of your 2 other computations ends." in page.text
    assert f'href="{numbers[0]}"' in page.text
    let(app)
    look_until(reader, numbers[2], 303)
