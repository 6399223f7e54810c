"""Answers without people who may not be seen: no id of theirs is left anywhere, and what has gone is counted."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

import pytest
from rest_company import ANSWERS, ROWS, build_company

from api.access.actor import Actor, Assessing, Purpose, Role, Scope
from api.access.kinds import TABLE_KINDS, get_question_kind
from api.access.reduce import reduce_answer, reduce_text
from api.access.rights import Kind, Verb
from api.access.sight import build_person_right, find_named_people, find_teams_below, is_of_standing
from api.app import create_app
from api.desk.desk import Answer, Desk, Enquiry
from api.json_text import to_json
from api.questions import list_questions
from ontology.model.identity import PersonId
from ontology.model.tables import TABLES

ON = dt.date(2026, 11, 24)
PEOPLE = {row["id"]: row["team"] for row in ROWS["people"]}


@dataclass(frozen=True)
class Row:
    person: Annotated[PersonId, "Whom it is about."]
    words: Annotated[str, "A sentence."]


@dataclass(frozen=True)
class Made:
    several: Annotated[tuple[PersonId, ...], "Some."]
    away: Annotated[frozenset[PersonId], "Some, in no order."]
    one: Annotated[PersonId | None, "One, or none."]
    best: Annotated[Row | None, "A row by itself."]
    rows: Annotated[tuple[Row, ...], "Rows."]
    by_person: Annotated[Mapping[PersonId, int], "Counts."]
    plan: Annotated[str, "An id made of a person's."]
    on: Annotated[dt.date, "A day."]


def make(person: str, other: str) -> Made:
    row = Row(person, f"For {other}, {person}: {person}'s seat. Ask {person}.")
    return Made(
        (other, person), frozenset({person, other}), person, row, (row, Row(other, person)), {person: 1, other: 2},
        f"{person}-2026-11-02", ON,
    )  # fmt: skip


def test_a_list_loses_it_a_row_goes_a_field_becomes_null_and_a_sentence_says_someone() -> None:
    reduced = reduce_answer(make("p1", "p3"), {"p1"}, PEOPLE.__getitem__)
    assert reduced.members == {
        "several": ["p3"],
        "away": ["p3"],
        "one": None,
        "best": None,
        "rows": [{"person": "p3", "words": "someone"}],
        "by_person": {"p3": 2},
        "plan": "someone",
        "on": "2026-11-24",
    }
    assert reduced.hidden == {"works": 1}
    told = reduce_text("For p3, p1: p1's seat. Ask p1. (p10, p1-x, xp1)", {"p1"})
    assert told == "For p3, someone: someone's seat. Ask someone. (p10, someone, xp1)"


def test_who_may_see_everyone_is_told_what_the_answer_says() -> None:
    made = make("p1", "p3")
    reduced = reduce_answer(made, set(), PEOPLE.__getitem__)
    assert (reduced.members, reduced.hidden) == (to_json(made), {})


def test_who_has_gone_is_counted_once_by_team() -> None:
    reduced = reduce_answer(make("p1", "p3"), {"p1", "p3"}, {"p1": "works", "p3": ""}.__getitem__)
    assert reduced.hidden == {"": 1, "works": 1}


@pytest.fixture(scope="module")
def answers() -> list[Answer]:
    """Every answer of the small company."""
    found: list[Answer] = []
    compute = Desk.compute

    def watch(self: Desk, enquiry: Enquiry) -> Answer:
        found.append(compute(self, enquiry))
        return found[-1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Desk, "compute", watch)
        client = create_app(build_company()).test_client()
        for address in ANSWERS:
            assert client.get(address).status_code == 200, address
    return found


@pytest.mark.parametrize("unseen", [{"p1"}, {"p2"}, {"p3"}, set(PEOPLE)], ids=lambda ids: ",".join(sorted(ids)))
def test_no_answer_holds_an_id_of_who_may_not_be_seen(answers: list[Answer], unseen: set[str]) -> None:
    assert len(answers) >= len(list_questions())
    words = re.compile("|".join(rf"(?<![A-Za-z0-9]){one}(?![A-Za-z0-9])" for one in sorted(unseen)))
    for answer in answers:
        told = json.dumps(reduce_answer(answer.record, unseen, PEOPLE.__getitem__).members)
        assert not words.search(told), answer.enquiry.question.name
        whole = reduce_answer(answer.record, set(), PEOPLE.__getitem__).members
        assert whole == to_json(answer.record), answer.enquiry.question.name


def test_every_question_and_every_table_is_of_a_kind() -> None:
    for question in list_questions():
        for subject in question.asks:
            assert get_question_kind(question.name, subject.value) in Kind
    assert TABLE_KINDS.keys() == TABLES.keys()
    with pytest.raises(KeyError):
        get_question_kind("fortune", "people")


def test_what_someone_explores_is_told_from_where_they_stand() -> None:
    snapshot = build_company().get_snapshot()
    # p1 is a helper; the works have a place of an operator
    for role, expected in ((None, True), ("helper", True), ("operator", True), ("chief", False)):
        assert is_of_standing(snapshot, "p1", role, ON) is expected
        kind = get_question_kind("gap", "people", is_of_standing=expected)
        assert kind is (Kind.STANDING if expected else Kind.EXPLORATION)
    assert get_question_kind("routes", "people", is_of_standing=True) is Kind.EXPLORATION
    assert not is_of_standing(snapshot, "nobody", None, ON)


def test_whom_an_answer_may_name() -> None:
    snapshot = build_company().get_snapshot()
    works = frozenset({"works"})

    def name(**more: Any) -> set[str]:
        return set(find_named_people(Actor(account=1, name="a", **more), snapshot, ON))

    assert name() == set()
    assert name(person="p1") == {"p1"}
    assert name(roles=frozenset({Role.LEAD}), leads=works) == {"p1", "p2", "p3"}
    assert name(leads=frozenset({"office"})) == set(), "who was lent there once is not of it today"
    assert name(assesses=(Assessing(frozenset({"pump"}), works),)) == {"p1", "p2", "p3"}
    ends = dt.datetime(2026, 11, 24, 18, tzinfo=dt.UTC)
    assert name(purposes=(Purpose("works", "p2", "audit", ends),)) == {"p2"}
    assert name(purposes=(Purpose("works", "", "audit", ends),)) == {"p1", "p2", "p3"}
    scope = Scope(frozenset(Kind), frozenset(Verb), frozenset({"office"}))
    assert name(leads=works, scope=scope) == set()
    assert name(leads=frozenset({"gone"}), person="gone") == set()


def test_a_person_is_of_their_own_team_and_of_the_one_they_are_lent_to() -> None:
    snapshot = build_company().get_snapshot()
    lent = build_person_right(snapshot, Kind.STANDING, "p3", dt.date(2025, 2, 1))
    assert (lent.teams, lent.person) == ({"works", "office"}, "p3")
    assert build_person_right(snapshot, Kind.STANDING, "p3", ON).teams == {"works"}
    assert build_person_right(snapshot, Kind.STANDING, "nobody", ON).teams == frozenset()


def test_teams_below_are_found_once() -> None:
    snapshot = build_company().get_snapshot()
    assert find_teams_below(snapshot, ["works", "gone"]) == {"works"}
