"""Who may what: every cell of the table through the one check, and facts that must hold whatever the table says."""

from __future__ import annotations

import datetime as dt
from itertools import product
from typing import Any

import pytest

from api.access.actor import Actor, Assessing, Purpose, Role, Scope, Share
from api.access.check import decide, find_columns, find_standpoints
from api.access.rights import OF_EVERYONE, Kind, Right, Standpoint, Verb, get_cell, print_matrix

OWN, OTHER = frozenset({"networks"}), frozenset({"laboratory"})
PURPOSE = Purpose("networks", "", "audit", dt.datetime(2026, 11, 24, 18, tzinfo=dt.UTC))


def make(*roles: Role, **more: Any) -> Actor:
    return Actor(**({"account": 7, "name": "Account", "roles": frozenset(roles)} | more))


READER = make()
EMPLOYEE = make(Role.EMPLOYEE, person="p1", belongs_to=OWN)
LEAD = make(Role.LEAD, leads=OWN)
ASSESSOR = make(Role.ASSESSOR, assesses=(Assessing(frozenset({"pump"}), OWN),))
ARCHITECT = make(Role.ARCHITECT)
WITH_PURPOSE = make(Role.ARCHITECT, purposes=(PURPOSE,))
ADMINISTRATOR = make(Role.ADMINISTRATOR)
#: Each thing one can be to a subject: an actor who is that alone, and the subject.
CASES: dict[Standpoint, tuple[Actor, dict[str, Any]]] = {
    Standpoint.READER: (READER, {"teams": OWN, "person": "p1"}),
    Standpoint.SELF: (EMPLOYEE, {"teams": OWN, "person": "p1"}),
    Standpoint.COLLEAGUE: (EMPLOYEE, {"teams": OTHER, "person": "p2"}),
    Standpoint.OWN_LEAD: (LEAD, {"teams": OWN, "person": "p1"}),
    Standpoint.OTHER_LEAD: (LEAD, {"teams": OTHER, "person": "p2"}),
    Standpoint.ASSESSOR: (ASSESSOR, {"teams": OWN, "person": "p1", "competency": "pump"}),
    Standpoint.ARCHITECT: (ARCHITECT, {"teams": OWN, "person": "p1"}),
    Standpoint.ADMINISTRATOR: (ADMINISTRATOR, {"teams": OWN, "person": "p1"}),
}
EVERY = list(product(Kind, Verb))


@pytest.mark.parametrize("standpoint", Standpoint)
def test_every_cell_is_what_the_check_says(standpoint: Standpoint) -> None:
    actor, subject = CASES[standpoint]
    assert find_standpoints(actor, Right(Kind.FRAMEWORK, **subject)) == {Standpoint.READER, standpoint}
    for kind, verb in EVERY:
        cells = [get_cell(kind, Standpoint.READER), get_cell(kind, standpoint)]
        expected = None
        if any(verb in cell.verbs for cell in cells):
            expected = "rows"
        elif verb is Verb.SEE and any(cell.has_figures for cell in cells):
            expected = "figures"
        elif verb is Verb.SEE and any(cell.has_name for cell in cells):
            expected = "name"
        if (kind, standpoint) == (Kind.ASSESSMENTS, Standpoint.SELF) and verb is not Verb.SEE:
            expected = None
        assert decide(actor, Right(kind, verb, **subject)) == expected, (kind, verb)


def test_a_purpose_opens_what_it_was_stated_for_and_nothing_else() -> None:
    for kind, verb in EVERY:
        cell = get_cell(kind, Standpoint.ARCHITECT)
        for actor, subject, is_covered in (
            (WITH_PURPOSE, {"teams": OWN, "person": "p1"}, True),
            (WITH_PURPOSE, {"teams": OTHER, "person": "p2"}, False),
            (ARCHITECT, {"teams": OWN, "person": "p1"}, False),
        ):
            may = decide(actor, Right(kind, verb, **subject)) == "rows"
            is_open_to_readers = verb in get_cell(kind, Standpoint.READER).verbs
            assert may == (is_open_to_readers or verb in cell.verbs or (is_covered and verb in cell.with_purpose))


def test_a_purpose_for_a_person_is_not_one_for_their_team() -> None:
    actor = make(Role.ARCHITECT, purposes=(Purpose("networks", "p1", "audit", PURPOSE.ends_at),))
    assert decide(actor, Right(Kind.STANDING, teams=OWN, person="p1")) == "rows"
    assert decide(actor, Right(Kind.STANDING, teams=OWN, person="p3")) == "figures"
    assert decide(actor, Right(Kind.TEAM_ANSWERS, teams=OWN)) == "figures"


def test_nobody_who_has_not_signed_in_may_anything() -> None:
    nobody = Actor(roles=frozenset(Role), person="p1", leads=OWN, purposes=(PURPOSE,))
    assert {decide(nobody, Right(kind, verb, OWN, "p1")) for kind, verb in EVERY} == {None}


def test_which_roles_someone_looks_at_is_theirs_alone() -> None:
    right = Right(Kind.EXPLORATION, teams=OWN, person="p1")
    others = [READER, LEAD, ASSESSOR, ARCHITECT, WITH_PURPOSE, ADMINISTRATOR]
    others.append(make(*Role, person="p2", leads=OWN, purposes=(PURPOSE,)))
    assert {decide(actor, right) for actor in others} == {None}
    assert decide(EMPLOYEE, right) == "rows"


def test_an_administrator_sees_no_level_and_no_answer_about_people() -> None:
    for kind in (Kind.ASSESSMENTS, Kind.STANDING, Kind.TEAM_ANSWERS, Kind.COMPANY_COVER, Kind.OWN_RATINGS):
        assert decide(ADMINISTRATOR, Right(kind, teams=OWN, person="p1")) is None
    assert decide(ADMINISTRATOR, Right(Kind.PERSON, teams=OWN, person="p1")) == "name"


def test_nobody_changes_what_others_say_of_them() -> None:
    everything = make(*Role, person="p1", belongs_to=OWN, leads=OWN, purposes=(PURPOSE,))
    for verb in (Verb.CHANGE, Verb.REMOVE):
        assert decide(everything, Right(Kind.ASSESSMENTS, verb, OWN, "p1")) is None
        assert decide(everything, Right(Kind.ASSESSMENTS, verb, OWN, "p3")) == "rows"
    assert decide(everything, Right(Kind.ASSESSMENTS, Verb.SEE, OWN, "p1")) == "rows"


def test_an_assessor_sees_assessments_of_the_named_kind_and_nothing_else_of_a_person() -> None:
    for kind in set(Kind) - {Kind.FRAMEWORK, Kind.PERSON, Kind.ASSESSMENTS}:
        right = Right(kind, teams=OWN, person="p1", competency="pump")
        assert decide(ASSESSOR, right) == decide(READER, right), kind
    assert decide(ASSESSOR, Right(Kind.ASSESSMENTS, teams=OWN, person="p1", competency="valve")) is None
    assert decide(ASSESSOR, Right(Kind.ASSESSMENTS, teams=OTHER, person="p2", competency="pump")) is None
    assert decide(ASSESSOR, Right(Kind.PERSON, teams=OTHER, person="p2")) is None


def test_what_is_always_of_someone_is_not_had_by_naming_nobody() -> None:
    for kind in set(Kind) - OF_EVERYONE:
        for actor in (EMPLOYEE, LEAD):
            for verb in Verb:
                assert decide(actor, Right(kind, verb)) is None, (kind, verb)


def test_a_token_leaves_what_is_in_its_scope_and_adds_nothing() -> None:
    scope = Scope(frozenset({Kind.TEAM_ANSWERS, Kind.FRAMEWORK}), frozenset({Verb.SEE}), OWN)
    both = make(Role.LEAD, leads=OWN | OTHER)
    narrow = make(Role.LEAD, leads=OWN | OTHER, scope=scope)
    for kind, verb in EVERY:
        for teams in (OWN, OTHER):
            right = Right(kind, verb, teams)
            allowed = kind in scope.kinds and verb is Verb.SEE and teams == OWN
            assert decide(narrow, right) == (decide(both, right) if allowed else None)
    assert decide(narrow, Right(Kind.FRAMEWORK)) == "rows"
    # a right that the account has lost is not in the token any more
    assert decide(make(scope=scope), Right(Kind.TEAM_ANSWERS, teams=OWN)) is None


def test_columns_of_a_person_by_who_changes_them() -> None:
    assert find_columns(EMPLOYEE, Right(Kind.PERSON, teams=OWN, person="p1")) == {"study_hours_per_week"}
    assert find_columns(LEAD, Right(Kind.PERSON, teams=OWN, person="p1")) == {"study_hours_per_week", "shift"}
    assert find_columns(WITH_PURPOSE, Right(Kind.PERSON, teams=OWN, person="p1")) is None
    for actor in (READER, ARCHITECT, ASSESSOR, ADMINISTRATOR):
        assert find_columns(actor, Right(Kind.PERSON, teams=OWN, person="p1")) == frozenset()


def test_two_who_see_the_same_have_one_key_and_two_who_do_not_have_two() -> None:
    actors = [READER, EMPLOYEE, LEAD, ASSESSOR, ARCHITECT, WITH_PURPOSE, ADMINISTRATOR, Actor()]
    actors.append(make(shown=(Share("p1", "/people/p1/routes", dt.date(2026, 12, 1)),)))
    actors.append(make(scope=Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE}))))
    actors.append(make(scope=Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.CHANGE}))))
    assert len({actor.key for actor in actors}) == len(actors)
    assert make(Role.LEAD, account=8, name="Another", leads=OWN).key == LEAD.key


def test_the_table_is_printed_whole() -> None:
    lines = list(print_matrix())
    assert len(lines) == len(Kind) + 1
    assert all(standpoint.value in lines[0] for standpoint in Standpoint)
    exploration = next(line for line in lines if line.startswith(Kind.EXPLORATION.value))
    assert exploration.split()[1:] == ["-", "r", "-", "-", "-", "-", "-", "-"]
