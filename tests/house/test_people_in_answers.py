"""A field of an answer that holds ids of people says so in its type: what is not said could not be taken out."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, get_type_hints

import pytest
from click.testing import CliRunner
from held_people import iterate_unmarked, strip
from rest_company import ANSWERS, build_company
from scenario import SCENARIO, add_neighbour, begin_draft
from scenario_questions import WORDS

from api.app import create_app
from api.desk.desk import Answer, Desk, Enquiry
from api.http.answer_schemas import find_sentence, iterate_records
from api.questions import list_questions
from api.terminal import dispatch
from api.terminal.program import program
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.model.identity import PersonId

_ABOUT_PEOPLE = re.compile(r"\bIds? of (the |a |every )?(person|people|newcomer|assessor|who\b)")


@pytest.fixture
def unmarked(monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """The fields in which answers held ids of people without saying so."""
    found: set[str] = set()
    compute = Desk.compute

    def watch(self: Desk, enquiry: Enquiry) -> Answer:
        answer = compute(self, enquiry)
        if enquiry.states:
            return answer  # made of what may be seen of the states that are named, and of nothing else
        people = enquiry.state.snapshot.people
        for record in (answer.result, answer.record):
            found.update(f"{enquiry.question.name}: {where}" for where in iterate_unmarked(record, people))
        return answer

    monkeypatch.setattr(Desk, "compute", watch)
    return found


def test_no_answer_of_the_small_company_holds_a_person_unsaid(unmarked: set[str]) -> None:
    client = create_app(build_company()).test_client()
    assert {client.get(address).status_code for address in ANSWERS} == {200}
    assert unmarked == set()


@pytest.mark.long
def test_no_answer_of_the_demonstration_holds_a_person_unsaid(
    unmarked: set[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    add_neighbour(graph)
    begin_draft(graph)

    @contextmanager
    def open_graph(*_: Any, **__: Any) -> Iterator[Any]:
        yield graph

    monkeypatch.setattr(dispatch, "open_graph", open_graph)
    for name, words in WORDS.items():
        result = CliRunner().invoke(program, [name, *words], prog_name="newel")
        assert result.exit_code == 0, (name, result.output)
    assert unmarked == set()


def test_what_is_called_a_person_or_told_to_be_one_has_the_type() -> None:
    wrong = set()
    for question in list_questions():
        for record in iterate_records(question.answers):
            hints = get_type_hints(record, include_extras=True)
            for field in dataclasses.fields(record):
                inner, is_person = strip(hints[field.name])
                is_called = field.name == "person" or _ABOUT_PEOPLE.search(find_sentence(hints[field.name]))
                if inner is str and is_called and not is_person:
                    wrong.add(f"{record.__name__}.{field.name}")
    assert wrong == set()


def test_the_walk_finds_what_is_unsaid_wherever_it_stands() -> None:
    @dataclasses.dataclass
    class Row:
        said: PersonId
        several: tuple[PersonId, ...]
        by_person: dict[PersonId, str]
        unsaid: str | None = None
        listed: tuple[str, ...] = ()

    assert list(iterate_unmarked(Row("p1", ("p2",), {"p1": "x"}), {"p1", "p2"})) == []
    found = list(iterate_unmarked([Row("p1", (), {"p1": "p2"}, "p1", ("a", "p2"))], {"p1", "p2"}))
    assert found == ["Row.by_person", "Row.unsaid", "Row.listed"]
