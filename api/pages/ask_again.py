"""The form of a question that cannot be answered as asked: with all that was typed, and what is wrong at its field."""

from __future__ import annotations

from collections.abc import Mapping

from api.desk.names import Names
from api.desk.question import COMPANY, Question, Subject
from api.errors import WrongParameter
from api.pages.addresses import build_address
from api.pages.ask_form import list_fields
from api.pages.page import Page
from api.pages.sheet_page import find_way_of, list_trail_of
from ontology.snapshot.snapshot import Snapshot

__all__ = ["describe_asking"]


def describe_asking(
    snapshot: Snapshot,
    question: Question,
    subject: Subject,
    given: Mapping[str, str],
    wrong: tuple[WrongParameter, ...],
) -> Page:
    """Return the page that asks for what is missing or wrong; nothing counts as wrong before anything was given."""
    fields = list_fields(question.asks[subject.kind], given, snapshot)
    known = {field.name: field.words for field in fields}
    told = [
        {"parameter": one.parameter, "words": known.get(one.parameter, one.parameter), "reason": one.reason}
        for one in wrong
        if given or one.value is not None
    ]
    values = {
        "title": question.title,
        "subject": "" if subject.kind is COMPANY else Names(snapshot).get(subject.kind.value, subject.id),
        "wrong": told,
        "reasons": {one["parameter"]: one["reason"] for one in told},
        "fields": fields,
        "here": build_address(subject.kind.value, subject.id, question.segment),
    }
    way = find_way_of(subject, question)
    return Page("ask.html", values, way=way, trail=list_trail_of(subject, Names(snapshot)))
