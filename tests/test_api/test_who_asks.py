"""What is kept for one who asks is never told to another who sees something else; who may not ask gets nothing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from flask.testing import FlaskClient
from rest_company import ON

from api.access import recent
from api.access.access import Access
from api.access.actor import LOCAL_OWNER, Actor, Role
from api.access.sight import Sight
from api.app import create_app
from api.desk.desk import Desk
from api.desk.parameters import parse_asked
from api.desk.question import DRAFT, TEAM, Question, Subject
from api.desk.states import State
from api.http import actors
from api.questions import list_questions, load_question
from api.settings import Settings
from ontology.errors import ForbiddenError, UnknownIdError
from ontology.live.live_graph import LiveGraph

LEAD = Actor(account=1, name="lead", roles=frozenset({Role.LEAD}), leads=frozenset({"works"}))
OTHER_LEAD = replace(LEAD, name="lead of both", leads=frozenset({"works", "office"}))
DEPUTY = replace(LEAD, account=2, name="deputy")
READER = Actor(account=3, name="reader")
WORKS = Subject(TEAM, "works")
ADDRESSES = ("/api/teams/works/coverage", "/teams/works/coverage", "/api/teams/works/coverage/diagram?format=dot")


def count_answers(question: Question) -> tuple[Question, list[Any]]:
    """Return a question that notes how often it is computed."""
    calls: list[Any] = []

    def compute(*asked: Any) -> Any:
        calls.append(asked)
        return question.compute(*asked)

    return replace(question, compute=compute), calls


def see(desk: Desk, actor: Actor) -> State:
    """Return the present state as an actor sees it."""
    state = desk.get_state()
    return state.see(Sight(actor, state.snapshot, state.today))


def ask(desk: Desk, actor: Actor, question: Question) -> bytes:
    """Return the text of an answer, asked as the faces do."""
    asked = parse_asked(question.asks[TEAM], {"on": ON})
    enquiry = desk.receive(actor, see(desk, actor), question, WORKS, asked)
    return desk.write_json(enquiry, desk.get_tag(enquiry, "application/json"))


def test_a_text_is_kept_for_those_alone_who_see_the_same(shared_graph: LiveGraph) -> None:
    desk = Desk(shared_graph, Settings())
    question, calls = count_answers(load_question("coverage"))
    first = ask(desk, LEAD, question)
    assert (ask(desk, LEAD, question), ask(desk, DEPUTY, question), len(calls)) == (first, first, 1)
    ask(desk, OTHER_LEAD, question)
    ask(desk, LOCAL_OWNER, question)
    assert len(calls) == 3
    ask(desk, OTHER_LEAD, question)
    assert len(calls) == 3


def test_who_may_not_ask_gets_nothing_of_what_is_kept(shared_graph: LiveGraph) -> None:
    desk = Desk(shared_graph, Settings())
    question, calls = count_answers(load_question("coverage"))
    ask(desk, LEAD, question)
    with pytest.raises(ForbiddenError):
        ask(desk, replace(READER, person="p3", belongs_to=frozenset({"works"})), question)
    assert len(calls) == 1


@pytest.mark.parametrize("question", list_questions(), ids=lambda question: question.name)
def test_every_question_asks_for_its_right_before_anything_else(question: Question, shared_graph: LiveGraph) -> None:
    desk = Desk(shared_graph, Settings())
    kind, asks = next(iter(question.asks.items()))
    nobody, subject = Actor(), Subject(kind, "no such record" if kind.value else "")
    if kind.value:
        with pytest.raises(UnknownIdError):
            desk.receive(LOCAL_OWNER, desk.get_state(), question, subject, object.__new__(asks))
        known = [one.id for one in shared_graph.drafts.list_all()] if kind is DRAFT else None
        subject = Subject(kind, next(iter(known or getattr(shared_graph.get_snapshot(), kind.value))))
    # what is asked is not even looked at
    with pytest.raises(ForbiddenError):
        desk.receive(nobody, desk.get_state(), question, subject, object.__new__(asks))
    with pytest.raises((ForbiddenError, UnknownIdError)):
        desk.receive(nobody, see(desk, nobody), question, subject, object.__new__(asks))


def become(monkeypatch: pytest.MonkeyPatch, actor: Actor) -> None:
    """Let whoever asks over HTTP be an actor."""
    access = Access(None)
    monkeypatch.setattr(recent, "_NOBODY", actor)
    monkeypatch.setattr(actors, "get_access", lambda: access)


@pytest.mark.parametrize("address", ADDRESSES)
def test_a_tag_of_one_says_nothing_about_what_another_has(
    shared_graph: LiveGraph, monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    client = create_app(shared_graph).test_client()
    become(monkeypatch, LEAD)
    tag = client.get(address).headers["ETag"]

    def ask_again() -> int:
        return client.get(address, headers={"If-None-Match": tag}).status_code

    assert ask_again() == 304
    become(monkeypatch, OTHER_LEAD)
    assert ask_again() == 200
    become(monkeypatch, READER)
    # who sees no team is told that there is none
    assert ask_again() == 404


def test_over_http_a_refusal_is_a_problem_and_holds_nothing_of_the_answer(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "p1" in client.get(ADDRESSES[0]).text
    become(monkeypatch, replace(READER, person="p3", belongs_to=frozenset({"works"})))
    response = client.get(ADDRESSES[0])
    assert (response.status_code, response.mimetype) == (403, "application/problem+json")
    assert "p1" not in response.text


def test_the_picture_of_a_record_has_a_tag_of_its_own_for_each_who_sees_otherwise(
    shared_graph: LiveGraph, monkeypatch: pytest.MonkeyPatch
) -> None:
    client = create_app(shared_graph).test_client()
    tags = []
    for actor in (LEAD, DEPUTY, OTHER_LEAD):
        become(monkeypatch, actor)
        tags.append(client.get("/api/roles/operator/diagram?format=dot").headers["ETag"])
    assert tags[0] == tags[1] != tags[2]
