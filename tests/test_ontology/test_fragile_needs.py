"""Needs by criticality, chance of cover and distance of the next best person, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from small_company import ON
from small_team import build_team, build_team_rows

from ontology.analysis.cover import nearest
from ontology.analysis.cover.fragile_needs import FragileNeedsResult, compute_fragile_needs
from ontology.errors import InputError


def ask(rate: float | None = 0.1, **more: Any) -> FragileNeedsResult:
    """Ask about a at 2 (p, q hold it, r is near by 8 h), b at 2 (p holds it, 20 h), c at 2 (nobody teaches it)."""
    rows = build_team_rows(p={"a": 2, "b": 2}, q={"a": 2}, r={"a": 1})
    rows["teams"][0]["absence_rate"] = rate
    rows["cover_needs"] = [
        {"team": "t", "competency": "a", "level": 2, "criticality": 5},
        {"team": "t", "competency": "b", "level": 2, "criticality": 4},
        {"team": "t", "competency": "c", "level": 2, "criticality": 4},
    ]
    rows["courses"] = [
        {"id": "short", "label": "Short", "hours": 8.0},
        {"id": "long", "label": "Long", "hours": 20.0},
    ]
    rows["outcomes"] = [
        {"course": "short", "competency": "a", "level": 2},
        {"course": "long", "competency": "b", "level": 2},
    ]
    rows["entry_conditions"] = [{"course": "short", "competency": "a", "level": 1}]
    for name, group in more.pop("rows", {}).items():
        rows[name] = group
    return compute_fragile_needs(build_team(rows), "t", ON, **more)


def test_criticality_comes_first_then_chance_then_distance() -> None:
    result = ask()
    assert [need.competency for need in result.needs] == ["a", "c", "b"]
    # two of whom one must be there, one of one, none
    assert [need.chance for need in result.needs] == pytest.approx([0.99, 0.0, 0.9])
    assert result.absence_rate == 0.1
    assert result.order_rule.startswith("First the higher criticality; then the smaller chance")


def test_order_can_begin_with_chance_or_distance() -> None:
    assert [need.competency for need in ask(order_by="chance").needs] == ["c", "b", "a"]
    assert [need.competency for need in ask(order_by="distance").needs] == ["c", "b", "a"]


def test_next_best_is_the_person_with_the_least_hours() -> None:
    by_id = {need.competency: need for need in ask().needs}
    best = by_id["a"].next_best
    assert best is not None
    assert (best.person, best.have, best.study_hours, best.courses, best.source) == (
        "r",
        1,
        8.0,
        ("short",),
        "assessor",
    )
    best = by_id["b"].next_best
    assert best is not None
    assert (best.person, best.have, best.assessed_on, best.study_hours) == ("q", None, None, 20.0)
    assert by_id["c"].next_best is None
    assert by_id["c"].reason == "No course teaches C (c) at level 2."


def test_who_is_qualified_already_is_never_next() -> None:
    result = ask(rows={"cover_needs": [{"team": "t", "competency": "a", "level": 1, "criticality": 5}]})
    (need,) = result.needs
    assert (need.next_best, need.reason) == (None, "Everyone who could count for it is qualified already.")


def test_need_that_everyone_meets_counts_as_nearest() -> None:
    needs = [{"team": "t", "competency": c, "level": 1, "criticality": 3} for c in "ab"]
    result = ask(rows={"cover_needs": needs}, order_by="distance")
    assert [(need.competency, need.next_best is None) for need in result.needs] == [("b", False), ("a", True)]


def test_paths_cut_short_by_the_time_limit_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    assert ask().status == "optimal"
    find = nearest.find_path_to_levels
    monkeypatch.setattr(nearest, "find_path_to_levels", lambda *a, **k: replace(find(*a, **k), status="feasible"))
    assert ask().status == "feasible"


def test_people_away_are_never_next() -> None:
    best = next(need.next_best for need in ask(away=frozenset({"q"})).needs if need.competency == "b")
    assert best is not None
    assert best.person == "r"


def test_without_a_rate_there_is_no_chance_and_it_is_said() -> None:
    result = ask(rate=None)
    assert {need.chance for need in result.needs} == {None}
    assert result.remarks == ("The team has no absence rate and none was given: no chance of cover is told.",)
    assert [need.competency for need in result.needs] == ["a", "c", "b"]
    assert ask(rate=None, absence_rate=0.5).needs[0].chance == 0.75


def test_known_absences_are_certain() -> None:
    result = ask(away=frozenset({"p"}))
    assert {need.competency: need.chance for need in result.needs} == pytest.approx({"a": 0.9, "b": 0.0, "c": 0.0})
    best = next(need.next_best for need in result.needs if need.competency == "b")
    assert best is not None
    assert best.person == "q"


@pytest.mark.parametrize("wrong", [{"absence_rate": 1.1}, {"absence_rate": -0.1}, {"order_by": "age"}])
def test_wrong_questions_are_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        ask(**wrong)
