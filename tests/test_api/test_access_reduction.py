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

from api.access.actor import LOCAL_OWNER, Actor, Assessing, Purpose, Role, Scope
from api.access.kinds import TABLE_KINDS
from api.access.reduce import Reduced, reduce_result, reduce_text
from api.access.rights import Kind, Verb
from api.access.sight import Sight, find_teams_below
from api.app import create_app
from api.desk.desk import Answer, Desk, Enquiry
from api.desk.question import PERSON, ROLE
from api.json_text import to_json
from api.questions import list_questions, load_question
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
    reduced = reduce_result(make("p1", "p3"), {"p1"}, {"p2", "p3"})
    assert to_json(reduced.result) == {
        "several": ["p3"],
        "away": ["p3"],
        "one": None,
        "best": None,
        "rows": [{"person": "p3", "words": "someone"}],
        "by_person": {"p3": 2},
        "plan": "someone",
        "on": "2026-11-24",
    }
    assert (reduced.gone, reduced.told) == ({"p1"}, {"p3"})
    assert type(reduced.result.rows[0]) is Row, "of the types that every face tells"
    told = reduce_text("For p3, p1: p1's seat. Ask p1. (p10, p1-x, xp1)", {"p1"})
    assert told == "For p3, someone: someone's seat. Ask someone. (p10, someone, xp1)"


def test_who_may_see_everyone_is_told_what_the_answer_says() -> None:
    made = make("p1", "p3")
    assert reduce_result(made, set()) == Reduced(made)
    assert reduce_result(made, {"p9"}) == Reduced(made)
    assert reduce_result(made, set(), PEOPLE) == Reduced(made, told=frozenset({"p1", "p3"}))


def test_who_has_gone_is_counted_once_by_team() -> None:
    snapshot = build_company().get_snapshot()
    assert Sight(Actor(), snapshot, ON).find_teams_of(["p1", "p3", "gone"]) == {"": 1, "works": 2}


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
        reduced = reduce_result(answer.record, unseen)
        if reduced.result is None:
            continue  # it is about one of them
        assert not words.search(json.dumps(to_json(reduced.result))), answer.enquiry.question.name
        assert reduced.gone <= unseen
        assert reduced.gone or reduced.result == answer.record, answer.enquiry.question.name


def test_every_table_is_of_a_kind_and_of_a_role_all_is_framework() -> None:
    assert TABLE_KINDS.keys() == TABLES.keys()
    for question in list_questions():
        assert ROLE not in question.asks or question.get_kind(ROLE) is Kind.FRAMEWORK


def test_what_someone_explores_is_told_from_where_they_stand() -> None:
    sight = Sight(LOCAL_OWNER, build_company().get_snapshot(), ON)
    gap = load_question("gap")
    # p1 is a helper; the works have a place of an operator
    for role, expected in ((None, True), ("helper", True), ("operator", True), ("chief", False)):
        assert sight.is_of_standing("p1", role) is expected
        kind = gap.get_kind(PERSON, is_of_standing=expected)
        assert kind is (Kind.STANDING if expected else Kind.EXPLORATION)
    assert load_question("routes").get_kind(PERSON, is_of_standing=True) is Kind.EXPLORATION
    assert not sight.is_of_standing("nobody", None)


def test_whom_an_answer_may_name() -> None:
    snapshot = build_company().get_snapshot()
    works = frozenset({"works"})

    def name(*roles: Role, **more: Any) -> set[str]:
        actor = Actor(account=1, name="a", roles=frozenset(roles), **more)
        return set(PEOPLE) - Sight(actor, snapshot, ON).look(snapshot).unseen

    assert name() == set()
    assert name(person="p1") == {"p1", "p2"}, "who says a level is told to whose it is"
    assert name(Role.LEAD, leads=works) == {"p1", "p2", "p3"}
    assert name(Role.LEAD, leads=frozenset({"office"})) == set(), "who was lent there once is not of it today"
    assert name(Role.ASSESSOR, assesses=(Assessing(frozenset({"pump"}), works),)) == {"p1", "p2", "p3"}
    assert name(Role.ADMINISTRATOR) == {"p1", "p2", "p3"}
    ends = dt.datetime(2026, 11, 24, 18, tzinfo=dt.UTC)
    assert name(Role.ARCHITECT) == set()
    assert name(Role.ARCHITECT, purposes=(Purpose("works", "p3", "audit", ends),)) >= {"p3"}
    assert name(Role.ARCHITECT, purposes=(Purpose("works", "", "audit", ends),)) == {"p1", "p2", "p3"}
    scope = Scope(frozenset(Kind), frozenset(Verb), frozenset({"office"}))
    assert name(Role.LEAD, leads=works, scope=scope) == set()
    assert name(leads=frozenset({"gone"}), person="gone") == set()


def test_who_may_see_a_name_alone_sees_nothing_else_of_the_record() -> None:
    snapshot = build_company().get_snapshot()
    administrator = Actor(account=1, name="a", roles=frozenset({Role.ADMINISTRATOR}))
    seen = Sight(administrator, snapshot, ON).look(snapshot).snapshot
    assert {person.name for person in seen.people.values()} == {person.name for person in snapshot.people.values()}
    assert {(person.team, person.role, person.start_date) for person in seen.people.values()} == {("", "", None)}
    assert not seen.get_table("assessments")
    assert not seen.get_table("absences")


def test_a_person_is_of_their_own_team_and_of_the_one_they_are_lent_to() -> None:
    snapshot = build_company().get_snapshot()

    def find(person: str, on: dt.date) -> tuple[set[str], str]:
        right = Sight(LOCAL_OWNER, snapshot, on).build_right(Kind.STANDING, person=person)
        return set(right.teams), right.person

    assert find("p3", dt.date(2025, 2, 1)) == ({"works", "office"}, "p3")
    assert find("p3", ON) == ({"works"}, "p3")
    assert find("nobody", ON) == (set(), "nobody")


def test_teams_below_are_found_once() -> None:
    snapshot = build_company().get_snapshot()
    assert find_teams_below(snapshot, ["works", "gone"]) == {"works"}
