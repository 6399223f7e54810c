"""The cover of all teams, worked out by hand: order, people who hold up several teams, lending."""

from __future__ import annotations

from typing import Any

import pytest
from small_company import ON
from small_team import assess, build_team, build_team_rows

from ontology.analysis.outlook import company_lending
from ontology.analysis.outlook.company_cover import CompanyCoverResult, compute_company_cover
from ontology.errors import InputError, UnknownIdError


def build_rows() -> dict[str, list[dict[str, Any]]]:
    """t needs a (p holds it) and c (nobody); u needs b (q and r hold it) and a (nobody: p is the only one); v lends."""
    rows = build_team_rows(p={"a": 2}, q={"b": 2}, r={"b": 2}, s={"c": 1, "b": 2}, x={"c": 2})
    rows["teams"] = [
        {"id": "t", "label": "T", "absence_rate": 0.1},
        {"id": "u", "label": "U", "absence_rate": 0.2},
        {"id": "v", "label": "V"},
    ]
    for row in rows["people"]:
        row["team"] = {"p": "t", "q": "u", "r": "u"}.get(row["id"], "v")
    rows["cover_needs"] = [
        {"team": "t", "competency": "a", "level": 2, "criticality": 3},
        {"team": "t", "competency": "c", "level": 2, "criticality": 4},
        {"team": "u", "competency": "b", "level": 2, "criticality": 5},
        {"team": "u", "competency": "a", "level": 1, "criticality": 5},
    ]
    rows["courses"] = [{"id": "k", "label": "K", "hours": 30.0}]
    rows["outcomes"] = [{"course": "k", "competency": "c", "level": 2}]
    return rows


def ask(rows: dict[str, list[dict[str, Any]]] | None = None, **more: Any) -> CompanyCoverResult:
    return compute_company_cover(build_team(rows or build_rows()), ON, **more)


def test_worse_states_come_first_then_criticality() -> None:
    result = ask()
    assert [(need.team, need.competency, need.state) for need in result.needs] == [
        ("u", "a", "short"),
        ("t", "c", "short"),
        ("t", "a", "sole-holder"),
        ("u", "b", "covered"),
    ]
    assert {row.state: row.needs for row in result.states} == {
        "short": 2,
        "sole-holder": 1,
        "no-reserve": 0,
        "below-target": 0,
        "covered": 1,
    }
    assert (result.teams, result.people, result.needs_found) == (3, 5, 4)


def test_chance_is_by_each_teams_own_rate_or_the_one_given() -> None:
    chances = {(need.team, need.competency): need.chance for need in ask().needs}
    assert chances == pytest.approx({("u", "a"): 0.0, ("t", "c"): 0.0, ("t", "a"): 0.9, ("u", "b"): 0.96})
    assert next(n.chance for n in ask(absence_rate=0.5).needs if n.competency == "b") == 0.75


def test_only_person_of_two_teams_needs_holds_both_up() -> None:
    (person,) = ask().holding
    assert (person.id, person.team, person.teams) == ("p", "t", ("t", "u"))
    assert [(h.team, h.competency, h.as_member) for h in person.holds] == [("t", "a", True), ("u", "a", False)]
    assert all(h.basis is not None and h.basis.source == "assessor" for h in person.holds)


def test_who_holds_up_several_needs_of_one_team_only_is_not_named() -> None:
    rows = build_rows()
    rows["cover_needs"] = [{"team": "t", "competency": i, "level": 2} for i in "ab"]
    rows["assessments"] = [assess("p", i, 2) for i in "ab"]
    assert ask(rows).holding == ()


def test_only_person_for_needs_of_two_other_teams_holds_both_up_while_they_are_there() -> None:
    rows = build_rows()
    rows["people"].append({"id": "z", "name": "z", "team": "v"})
    rows["assessments"] = [assess("z", "a", 2)]
    (person,) = ask(rows).holding
    assert (person.id, person.teams) == ("z", ("t", "u"))
    assert not any(held.as_member for held in person.holds)
    assert ask(rows, away=frozenset({"z"})).holding == ()


def test_second_person_elsewhere_takes_the_weight_off() -> None:
    rows = build_rows()
    rows["people"].append({"id": "z", "name": "z", "team": "v"})
    rows["assessments"].append(assess("z", "a", 1))
    assert ask(rows).holding == ()


def test_teams_that_can_lend_are_told_with_who_is_spare_or_near() -> None:
    rows = build_rows()
    by_need = {(need.team, need.competency): need for need in ask(rows).needs}
    (lender,) = by_need["t", "c"].lenders
    assert (lender.team, lender.qualified, lender.spare, lender.near) == ("v", 1, 1, 1)
    assert [(row.person, row.is_spare) for row in lender.people] == [("x", True)]
    (near,) = lender.near_people
    assert (near.person, near.have, near.study_hours, near.courses, near.source) == ("s", 1, 30.0, ("k",), "assessor")
    # p is the only one for a in t: lending p would make t short
    (lender,) = by_need["u", "a"].lenders
    assert (lender.team, lender.qualified, lender.spare) == ("t", 1, 0)
    assert not lender.people[0].is_spare
    just = {(need.team, need.competency): need for need in ask(rows, within_hours=30.0).needs}
    assert just["t", "c"].lenders[0].near == 1
    far = {(need.team, need.competency): need for need in ask(rows, within_hours=29.5).needs}
    assert far["t", "c"].lenders[0].near == 0


def test_teams_that_can_lend_to_each_other_are_paired() -> None:
    rows = build_rows()
    assert ask(rows).exchanges == ()
    rows["people"].append({"id": "z", "name": "z", "team": "t"})
    rows["assessments"] += [assess("z", "b", 2), assess("q", "c", 2), assess("r", "c", 2)]
    (pair,) = ask(rows).exchanges
    assert (pair.team, pair.other) == ("t", "u")
    assert [(n.competency, n.level) for n in pair.team_lends] == [("b", 2)]
    assert [(n.competency, n.level) for n in pair.other_lends] == [("c", 2)]


def test_limit_holds_for_needs_and_what_is_looked_at_for_them() -> None:
    result = ask(limit=1)
    assert ([need.competency for need in result.needs], result.needs_found) == (["a"], 4)
    assert any("for the needs told here only" in remark for remark in result.remarks)


def test_learning_paths_stop_at_their_limit_and_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(company_lending, "PATHS_LIMIT", 0)
    result = ask()
    assert all(lender.near == 0 for need in result.needs for lender in need.lenders)
    assert any("different learning paths" in remark for remark in result.remarks)


def test_people_away_are_away_in_every_team() -> None:
    result = ask(away=frozenset({"p", "x"}))
    assert {(n.team, n.competency): n.depth for n in result.needs}["t", "a"] == 0
    assert result.holding == ()
    lenders = next(n.lenders for n in result.needs if n.competency == "c")
    assert [(row.team, row.qualified, row.near) for row in lenders] == [("v", 0, 1)]


def test_wrong_questions_are_refused() -> None:
    for wrong in ({"absence_rate": 2.0}, {"limit": 0}, {"within_hours": -1.0}):
        with pytest.raises(InputError):
            ask(**wrong)
    with pytest.raises(UnknownIdError):
        ask(away=frozenset({"nobody"}))
