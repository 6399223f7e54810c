"""The walk over all questions: each is described whole, and every face can show it."""

from __future__ import annotations

import dataclasses
import re
from html import unescape
from pathlib import Path
from typing import get_type_hints

import pytest
from flask.testing import FlaskClient
from rest_company import ASKED

from api.access.rights import Kind
from api.desk.parameters import Parameter, list_parameters
from api.desk.question import Question
from api.http.answer_schemas import find_sentence, iterate_records
from api.questions import find_titles, list_questions
from api.site.registry import list_designed_pages

QUESTIONS = list_questions()
ROOT = Path(__file__).resolve().parents[2]
of_each = pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)


def is_sentence(text: str) -> bool:
    return (len(text) > 3 and text[0] == text[0].upper()) or text.startswith(("in-turn", "learn:", "screen:"))


def test_every_file_of_the_room_is_a_question_and_every_question_is_tried_here() -> None:
    files = [path for path in (ROOT / "api" / "questions").glob("*/*.py") if not path.name.startswith("_")]
    assert {question.name for question in QUESTIONS} == {path.stem.replace("_", "-") for path in files} == set(ASKED)


@of_each
def test_a_question_has_a_title_a_right_and_says_what_it_must_not_be_taken_for(question: Question) -> None:
    assert question.title == find_titles()[question.name]
    assert is_sentence(question.title)
    assert not question.title.endswith(".")
    assert question.get_kind(next(iter(question.asks))) in Kind
    # a list of names needs no caution; everything that is computed does
    assert question.cautions or question.name == "find"
    assert all(caution.endswith(".") for caution in question.cautions)


@of_each
def test_every_parameter_has_a_sentence_and_a_default_that_can_be_asked(question: Question) -> None:
    parameters: list[Parameter] = [p for asks in question.asks.values() for p in list_parameters(asks)]
    for parameter in parameters:
        assert is_sentence(parameter.about), parameter.name
        assert parameter.about.endswith("."), parameter.name
        if parameter.default_text is not None:
            assert parameter.parse(parameter.default_text) == parameter.default, parameter.name
    # what can be given a time limit may take long, and waits its turn
    assert question.is_slow or all(parameter.name != "time_limit" for parameter in parameters)


@of_each
def test_every_member_of_an_answer_has_a_sentence(question: Question) -> None:
    silent = [
        f"{record.__name__}.{field.name}"
        for record in iterate_records(question.answers)
        for field in dataclasses.fields(record)
        if not find_sentence(get_type_hints(record, include_extras=True)[field.name])
    ]
    assert silent == []


@of_each
def test_every_answer_can_be_had_as_json_page_and_workbook(question: Question, client: FlaskClient) -> None:
    address = ASKED[question.name]
    answer = client.get(f"/api{address}")
    assert answer.status_code == 200, answer.text
    assert {"revision", "cautions"} <= set(answer.json or {})
    page = client.get(address)
    assert (page.status_code, page.mimetype) == (200, "text/html")
    assert all(caution in unescape(page.text) for caution in question.cautions)
    workbook = client.get(f"/api{address}{'&' if '?' in address else '?'}format=xlsx")
    assert workbook.status_code == 200
    assert workbook.data[:2] == b"PK"


@of_each
def test_a_sheet_answers_in_its_first_sentence(question: Question, client: FlaskClient) -> None:
    page = client.get(ASKED[question.name]).text
    lead = page.split('<p class="lead">', 1)[1].split("</p>", 1)[0]
    assert len(lead.split()) >= 2
    assert "None" not in lead
    title = page.split("<title>", 1)[1].split("</title>", 1)[0]
    assert not re.search(r"\d{4}-\d\d-\d\d", title), "a day is said in words"
    if 'class="sheet"' in page:
        assert re.sub("<[^>]+>", "", lead).startswith(title.split(" · ")[0].removesuffix(" …"))


@of_each
def test_the_form_on_a_page_asks_the_same_when_nothing_is_changed(question: Question, client: FlaskClient) -> None:
    page = client.get(ASKED[question.name]).text
    if question.name == "development-plan":
        assert 'class="ask ' not in page, "a designed page: ask for its form here too"
        return
    if question.name in {name for _, name in list_designed_pages()}:
        return  # its form is its own, and has tests of its own
    if not any(list_parameters(asks) for asks in question.asks.values()):
        assert 'class="ask ' not in page, "there is nothing to ask differently"
        return
    form = page.split('class="ask ', 1)[1].split('<form action="', 1)[1].split("</form>", 1)[0]
    given = dict(re.findall(r'<input [^>]*name="([^"]+)" value="([^"]*)"', form))
    for name, choices in re.findall(r'<select [^>]*name="([^"]+)"[^>]*>(.*?)</select>', form):
        (given[name],) = re.findall(r'<option value="([^"]*)" selected>', choices)
    asked = {parameter.name for asks in question.asks.values() for parameter in list_parameters(asks)}
    assert set(given) == asked - ({"from"} if "role" in asked else set())
    again = client.get(form.split('"', 1)[0], query_string=given)
    assert again.status_code == 200, again.text
    # the same page in another language is led to by what was asked of this one
    assert again.text.partition("<footer")[0] == page.partition("<footer")[0]
