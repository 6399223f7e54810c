"""A number of an answer that counts people says so in its type: what is not said would be told however few they are."""

from __future__ import annotations

import dataclasses
import re
from typing import Any, Final, get_args, get_type_hints

from api.access.figures import read_marks
from api.http.answer_schemas import find_sentence, iterate_records
from api.questions import list_questions

_OF_PEOPLE: Final = re.compile(r"\b(people|persons?|members|holders|qualif\w+|absences|someone|who)\b", re.IGNORECASE)
#: Numbers whose sentence speaks of people though they count none that there are, and why.
_COUNT_NO_PEOPLE: Final = {
    "minimum": "what is asked for",
    "target": "what is asked for",
    "wanted": "what is asked for",
    "ceiling": "what the occasions of a year allow",
    "slots": "what is asked for",
    "count": "what is asked for",
    "tolerance": "what was asked",
    "people_needed": "what the hours take",
    "days": "days",
    "AssessmentRound.pairs": "interviews",
    "Asked.pairs": "comparisons",
    "GroupEffect.started_people": "by standing: hidden beside whom they name",
    "GroupEffect.stopped_people": "by standing: hidden beside whom they name",
    "AssessmentRound.rows": "assessments",
    "CompetencyAgreement.pairs": "ratings, hidden below a number of their own",
    "NeedPractice.done": "times",
    "PlanEffect.together_slots": "what is asked for",
    "RotationResult.minimum_stay": "intervals",
    "SessionPlanResult.trips": "seats",
    "WhoCanResult.level": "a level",
}


def is_number(hint: Any) -> bool:
    return hint is int or (int in get_args(hint) and bool not in get_args(hint)) or any(map(is_number, get_args(hint)))


def test_what_counts_people_is_marked() -> None:
    unmarked = set()
    for question in list_questions():
        for record in iterate_records(question.answers):
            hints = get_type_hints(record, include_extras=True)
            for field in dataclasses.fields(record):
                where = f"{record.__name__}.{field.name}"
                is_told = field.name in read_marks(record) or not {field.name, where}.isdisjoint(_COUNT_NO_PEOPLE)
                if is_number(hints[field.name]) and not is_told and _OF_PEOPLE.search(find_sentence(hints[field.name])):
                    unmarked.add(f"{where}: {find_sentence(hints[field.name])}")
    assert unmarked == set()


def test_a_mark_names_fields_that_are_there() -> None:
    for question in list_questions():
        for record in iterate_records(question.answers):
            names = {field.name for field in dataclasses.fields(record)}
            for name, mark in read_marks(record).items():
                beside = {getattr(mark, part, "") for part in ("of", "plus", "field")} - {""}
                assert beside <= names, f"{record.__name__}.{name}"
