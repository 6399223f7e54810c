"""A language view changes no number: other texts, and the same ids, order and figures in every answer."""

from __future__ import annotations

import datetime as dt
import random
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import parse_qsl, urlsplit

import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from rest_company import ANSWERS, ON, build_company
from working_companies import build_working_company

from api.access.actor import LOCAL_OWNER
from api.desk.desk import Desk
from api.desk.parameters import Asks, list_parameters, parse_asked
from api.desk.question import COMPANY, DRAFT, Question, Subject, SubjectKind
from api.desk.states import State, StateAsked
from api.json_text import dump_json
from api.questions import list_questions
from api.settings import Settings
from ontology.errors import InputError
from ontology.live.live_graph import LiveGraph
from ontology.model.keeping_records import Translation
from ontology.model.tables import TABLES
from ontology.model.translated import TRANSLATED, get_key_text
from ontology.snapshot.language_view import view_in
from ontology.snapshot.languages import list_languages
from ontology.snapshot.snapshot import Snapshot

TODAY = dt.date.fromisoformat(ON)
#: A text of the main language, and one of another.
OWN, OTHER = "«{}»", "‹{}›"


def say_by_number(snapshot: Snapshot, rng: random.Random) -> tuple[Snapshot, dict[int, int]]:
    """Return a state whose texts are numbers, most of them translated into others, and which number is said for which.

    The numbers of the two languages run in different orders, so that whoever sorts by texts is found out.
    """
    numbers: dict[int, int] = {}
    put: list[tuple[str, Any]] = []
    at = 1000
    for name, columns in TRANSLATED.items():
        for record in snapshot.get_all(name).values():
            own: dict[str, Any] = {}
            for column in columns:
                value = getattr(record, column.attribute)
                texts = (value,) if isinstance(value, str) else value
                if not any(texts):
                    continue
                mine = list(range(at, at + len(texts)))
                at += len(texts)
                said = [OWN.format(n) for n in mine]
                own[column.attribute] = said[0] if isinstance(value, str) else tuple(said)
                if rng.random() < 0.8:
                    numbers |= {n: 9999 - n for n in mine}
                    # the order of several names is that of their texts
                    other = sorted(OTHER.format(9999 - n) for n in mine)
                    key = get_key_text(TABLES[name].get_key(record))
                    put.append(("translations", Translation(name, key, column.name, "de", "|".join(other))))
            put.append((name, replace(record, **own)))
    return snapshot.with_changes(put=put), numbers


def translate(text: str, numbers: Mapping[int, int]) -> str:
    """Return a text with every number said in the other language that is translated."""

    def say(found: re.Match[str]) -> str:
        number = int(found[1])
        return OTHER.format(numbers[number]) if number in numbers else found[0]

    return re.sub(OWN.format(r"(\d+)"), say, text)


@settings(max_examples=draws(15), deadline=None)
@given(st.integers(0, 10_000))
def test_a_view_differs_in_texts_alone(seed: int) -> None:
    """Row for row, of all tables; what no text stands in is shared, and the state itself stays as it is."""
    main, numbers = say_by_number(Snapshot(build_working_company(seed)), random.Random(seed))
    before, requirements = [*main.iterate_records()], main.get_requirements
    view = view_in(main, "de")
    assert list_languages(main) == list_languages(view) == ("de",)
    assert view_in(main, "de") is view
    assert view_in(main, "fr") is main
    pairs = [*zip(main.iterate_records(), view.iterate_records(), strict=True)]
    for (name, own), (other_name, other) in pairs:
        assert name == other_name
        columns = {column.attribute for column in TRANSLATED.get(name, ())}
        for column in TABLES[name].columns:
            value, said = getattr(own, column.attribute), getattr(other, column.attribute)
            if column.attribute not in columns:
                assert said == value
            elif isinstance(value, str):
                assert said == translate(value, numbers)
            else:
                assert sorted(said) == sorted(translate(text, numbers) for text in value)
    assert view.get_requirements is requirements
    assert [*main.iterate_records()] == before


@pytest.fixture(scope="module")
def company() -> Iterator[LiveGraph]:
    """The small company, open."""
    graph = build_company()
    yield graph
    graph.close()


def find_asked(address: str) -> tuple[Question, Subject, Asks]:
    """Return the question, of what it is asked, and how, by the address of its answer."""
    path, query = urlsplit(address).path.removeprefix("/api"), dict(parse_qsl(urlsplit(address).query))
    for question in list_questions():
        for kind, asks in question.asks.items():
            subject = Subject(kind, "" if kind is COMPANY else path.split("/")[2:][0] if path.count("/") > 1 else "-")
            if question.get_path(kind, subject.id) == path:
                return question, subject, parse_asked(asks, query)
    raise AssertionError(address)


def require_same(desk: Desk, state: State, numbers: Mapping[int, int], *asked: Any) -> bool:
    """Check that an answer of the view is that of the main language in other texts; return whether these differ."""
    german = state.read_in(StateAsked(language="de-at"))
    assert german.reading is not None
    assert german.reading.language == "de"
    own, other = (dump_json(desk.ask(LOCAL_OWNER, one, *asked).members).decode() for one in (state, german))
    # what judges texts, or compares them, speaks of those of the main language
    assert other == (own if asked[0].is_in_main else translate(own, numbers)), asked
    return own != other


def test_every_answer_is_the_same_in_every_language(company: LiveGraph) -> None:
    """Whatever is asked: the answer of the view is that of the main language with other texts."""
    texts, numbers = say_by_number(company.get_snapshot(), random.Random(16))
    desk, state = Desk(company, Settings()), State(texts, TODAY)
    differ = [require_same(desk, state, numbers, *find_asked(address)) for address in ANSWERS]
    assert sum(differ) > 15


@settings(max_examples=4, deadline=None)
@given(st.integers(0, 10_000))
def test_answers_about_random_companies_are_the_same(company: LiveGraph, seed: int) -> None:
    """Of quick questions that need no more than a subject; what cannot be answered in one cannot in the other."""
    rng = random.Random(seed)
    texts, numbers = say_by_number(Snapshot(build_working_company(seed)), rng)
    desk, state = Desk(company, Settings()), State(texts, TODAY)
    for question, kind in rng.sample(list_quick(), 8):
        subject = Subject(kind, "" if kind is COMPANY else rng.choice([*getattr(texts, kind.value)]))
        asked = (question, subject, question.asks[kind]())
        try:
            require_same(desk, state, numbers, *asked)
        except InputError as error:
            with pytest.raises(type(error)):
                desk.ask(LOCAL_OWNER, state.read_in(StateAsked(language="de")), *asked)


def list_quick() -> list[tuple[Question, SubjectKind]]:
    """Return the questions that are quick and need nothing but a subject, by the kinds of these."""
    return [
        (question, kind)
        for question in list_questions()
        for kind, asks in question.asks.items()
        if not question.is_slow and kind is not DRAFT and not any(one.is_required for one in list_parameters(asks))
    ]
