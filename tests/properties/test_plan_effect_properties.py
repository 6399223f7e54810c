"""What a plan says of the day after it is what coverage and staffing find on that day; the chart counts the same."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from small_company import ON
from small_team import Rows, build_team
from training_questions import MANY, absence_rows, questions

from ontology.analysis.outlook.cover_of_day import compute_cover_of_day
from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.training.cross_training import TrainingAsked, plan_cross_training
from ontology.analysis.training.plan_effect import compute_plan_effect
from ontology.analysis.training.training_chart import build_training_chart


@st.composite
def teams(draw: st.DrawFn) -> tuple[Rows, Rows]:
    """Draw a team with certificates that lapse, assessments to come, people who come and leave, places and a group."""
    rows, courses = draw(questions(people=4))
    rows = draw(absence_rows(rows))
    rows["competencies"][0] |= {"kind": "certificate", "expiry": "hard", "validity_months": 1}
    for person in rows["people"]:
        person["start_date"] = draw(st.sampled_from([None, None, ON + timedelta(days=draw(st.integers(1, 20)))]))
        person["end_date"] = draw(st.sampled_from([None, None, ON + timedelta(days=draw(st.integers(21, 40)))]))
        if draw(st.booleans()):
            held: dict[str, Any] = {"person": person["id"], "competency": "a", "level": 2, "source": "certificate"}
            held |= {"date": ON - timedelta(days=3), "valid_until": ON + timedelta(days=draw(st.integers(0, 30)))}
            later = {"competency": "b", "date": ON + timedelta(days=9), "valid_until": None, "source": "assessor"}
            rows["assessments"] += [held, held | later]
    for need in rows["cover_needs"]:
        need["together"] = draw(st.sampled_from(["", "", "g"]))
    rows["roles"] = [{"id": "job", "label": "job"}]
    rows["requirements"] = [{"role": "job", "competency": i, "level": 1} for i in "ab"]
    shifts = [row["id"] for row in rows.get("shifts", [])]
    rows["places"] = [
        {"id": f"post{n}", "team": "t", "role": "job", "shift": draw(st.sampled_from(["", *shifts]))} for n in range(2)
    ]
    return rows, courses


@MANY
@given(teams(), st.sampled_from([None, 0, 5, 14, 30]), st.booleans())
def test_after_the_plan_is_what_coverage_and_staffing_find_on_its_day(
    question: tuple[Rows, Rows], days: int | None, with_away: bool
) -> None:
    rows, courses = question
    snapshot = build_team(rows, **courses)
    away = frozenset([rows["people"][0]["id"]] if with_away else [])
    rules = TrainingAsked(by=None if days is None else ON + timedelta(days=days))
    plan = plan_cross_training(snapshot, "t", ON, away=away, asked=rules)
    effect = compute_plan_effect(snapshot, plan)
    assert effect.on == plan.after_on == max((row.finished_on for row in plan.courses), default=ON)
    done = with_outcomes(snapshot, [(row.person, row.course, row.finished_on) for row in plan.courses])
    cover = compute_cover_of_day(done, "t", effect.on, away)
    assert (effect.needs, effect.absent) == (cover.needs, cover.absent)
    staff = compute_staffing(done, "t", effect.on, away)
    assert (effect.places, effect.filled, effect.unfilled) == (staff.places, staff.filled, staff.unfilled)
    assert (effect.together_slots, effect.together_filled) == (staff.together_slots, staff.together_filled)
    assert effect.unfilled_needs == staff.unfilled_needs


@MANY
@given(teams())
def test_the_chart_counts_who_qualifies_on_both_days(question: tuple[Rows, Rows]) -> None:
    rows, courses = question
    snapshot = build_team(rows, **courses)
    plan = plan_cross_training(snapshot, "t", ON)
    effect = compute_plan_effect(snapshot, plan)
    chart = build_training_chart(snapshot, plan, show="all")
    cover = {
        (need.competency, need.level, need.applies, scope.shift): len(scope.qualified)
        for need in effect.needs
        for scope in need.shifts or (need,)
    }
    before = {
        (need.competency, need.level, need.applies, scope.shift): len(scope.qualified)
        for need in compute_cover_of_day(snapshot, "t", ON).needs
        for scope in need.shifts or (need,)
    }
    for row in chart.rows:
        if row.competency is not None and row.level is not None:
            key = (row.competency, row.level, row.applies, row.shift)
            assert (row.holders, row.holders_planned) == (before[key], cover[key])
        for cell in row.cells:
            if cell.is_held_after:
                assert cell.state in ("holds", "due", "later")
            if cell.due is not None:
                assert ON <= cell.due <= effect.on
    lapsed = {(row.person, row.competency, row.level) for row in effect.lapses}
    for row in chart.rows:
        for cell in row.cells if row.kind == "need" else ():
            if cell.state == "holds" and not cell.is_held_after and cell.person not in effect.leaving:
                assert (cell.person, row.competency, row.level) in lapsed
