"""Where someone stands on the last day of a plan, and that nobody learns before their first day or after their last."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any, cast

from asking import PERSON, find
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.schedule.schedule import ScheduleResult
from ontology.snapshot.snapshot import Snapshot


def find_path(company: Snapshot, **asked: Any) -> LearningPathResult:
    """Return p's path to r."""
    told = find(company, "learning-path", PERSON, "p", role="r", on=ON, alternatives=0, **asked)
    return cast(LearningPathResult, told)


def find_schedule(company: Snapshot, **asked: Any) -> ScheduleResult:
    """Return p's calendar on the way to r."""
    return cast(ScheduleResult, find(company, "schedule", PERSON, "p", role="r", on=ON, **asked))


def build(person: dict[str, Any] | None = None, until: date | None = None, **more: Any) -> Snapshot:
    """Return p, who learns a (4 h) and then b (8 h) for role r at 4 h a week, and holds card until a day."""
    tables: dict[str, Any] = {
        "scales": build_scale(),
        "competencies": [*build_competencies("a b"), *build_competencies("card", kind="certificate")],
        "roles": [{"id": "r", "label": "R"}],
        "requirements": [
            {"role": "r", "competency": "a", "level": 1},
            {"role": "r", "competency": "b", "level": 1},
            {"role": "r", "competency": "card", "level": 1, "necessity": "blocking"},
        ],
        "courses": [
            {"id": "to-a", "label": "To a", "hours": 4.0},
            {"id": "to-b", "label": "To b", "hours": 8.0},
        ],
        "outcomes": [{"course": f"to-{i}", "competency": i, "level": 1} for i in "ab"],
        "entry_conditions": [{"course": "to-b", "competency": "a", "level": 1}],
        "people": [{"id": "p", "name": "P", "study_hours_per_week": 4.0} | (person or {})],
        "assessments": [
            {
                "person": "p",
                "competency": "card",
                "level": 1,
                "date": date(2026, 1, 5),
                "source": "certificate",
                "valid_until": until,
            }
        ],
    }
    for name, rows in more.items():
        tables[name] = [*tables[name], *rows]
    return build_snapshot(**tables)


def test_a_certificate_that_lapses_on_the_way_is_not_held_on_the_last_day() -> None:
    company = build(until=date(2026, 12, 1))
    path = find_path(company)
    assert (path.last_day, path.readiness_after, path.standing_after) == (date(2026, 12, 15), 2 / 3, "none")
    assert not path.is_target_reached
    assert [row.state for row in path.requirements] == ["reached", "reached", "lapses"]
    plan = find(company, "development-plan", PERSON, "p", role="r", on=ON)
    assert (plan.schedule.readiness_after, plan.schedule.standing_after) == (2 / 3, "none")
    assert not plan.schedule.is_target_reached
    assert [row.competency for row in plan.schedule.missing] == ["card"]


def test_an_assessment_recorded_for_a_later_day_counts_on_the_last_day() -> None:
    again = {"person": "p", "competency": "card", "level": 1, "date": date(2026, 12, 3), "source": "certificate"}
    company = build(until=date(2026, 12, 1), assessments=[again])
    path = find_path(company)
    schedule = find_schedule(company)
    assert path.is_target_reached
    assert schedule.is_target_reached
    assert (path.lapses, schedule.lapsing) == ((), ())


def test_nobody_begins_before_their_first_day() -> None:
    company = build({"start_date": date(2027, 1, 4)})
    schedule = find_schedule(company)
    assert (schedule.start, schedule.courses[0].first_day) == (date(2027, 1, 4), date(2027, 1, 4))
    assert find_path(company).last_day == date(2027, 1, 25)


def test_what_would_end_after_the_last_day_is_left_out_with_the_reason() -> None:
    # a ends on 30 November, b on 14 December
    whole = find_schedule(build())
    assert whole.finish is not None
    kept = find_schedule(build({"end_date": whole.finish}))
    assert (kept.left_out, kept.courses) == ((), whole.courses)
    company = build({"end_date": date(2026, 12, 11)})
    schedule = find_schedule(company)
    assert [course.id for course in schedule.courses] == ["to-a"]
    (row,) = schedule.left_out
    assert (row.id, row.would_end) == ("to-b", whole.finish)
    assert row.reason in schedule.remarks
    assert (schedule.is_target_reached, schedule.readiness_after) == (False, 2 / 3)
    assert [(row.competency, row.state) for row in schedule.missing] == [("b", "left-out")]
    path = find_path(company)
    assert sum("last day with the company, 2026-12-11" in remark for remark in path.remarks) == 1


def test_who_has_left_learns_nothing() -> None:
    company = build({"end_date": ON})
    assert find_schedule(company).courses == ()
    # a course that takes no more than the last day is still possible on it
    short = build({"end_date": ON, "study_hours_per_week": 40.0})
    assert [course.id for course in find_schedule(short).courses] == ["to-a"]
    schedule = find_schedule(company, start=date(2027, 1, 4))
    assert (schedule.courses, schedule.finish, schedule.readiness_after) == ((), None, 1 / 3)
    assert [row.would_end for row in schedule.left_out] == [None, None]


def test_a_renewal_that_would_end_after_the_last_day_is_told_as_such() -> None:
    # the renewal takes ten weeks: the certificate lapses before the last day, and the renewal ends after it
    company = build(
        {"end_date": date(2026, 12, 15), "role": "r"},
        until=date(2026, 12, 8),
        courses=[{"id": "again", "label": "Again", "hours": 1.0, "weeks": 10.0}],
        outcomes=[{"course": "again", "competency": "card", "level": 1, "renews": True}],
    )
    schedule = find_schedule(company)
    assert [course.id for course in schedule.courses] == ["to-a", "to-b"]
    (row,) = schedule.lapsing
    assert (row.renewal, "last day with the company, 2026-12-15" in row.reason) == (None, True)


def test_leads_own_weeks_and_blocks_move_the_last_day_of_a_path() -> None:
    """Begun on 24 November at 4 h a week: to-a takes 1 week, to-b 2 weeks after it."""
    by_lead = build()
    by_lead.courses["to-b"] = replace(by_lead.courses["to-b"], lead_weeks=5.0)
    assert find_path(by_lead).last_day == date(2027, 1, 12)
    by_weeks = build()
    by_weeks.courses["to-a"] = replace(by_weeks.courses["to-a"], weeks=3.0)
    assert find_path(by_weeks).last_day == date(2026, 12, 29)
    # a block of 8 h is over after a fifth of a week, to-a after one
    by_block = build()
    by_block.courses["to-b"] = replace(by_block.courses["to-b"], is_block=True)
    assert find_path(by_block).last_day == date(2026, 12, 3)


def test_a_path_has_no_dates_so_a_booked_refresher_is_good_for_what_is_held_on_the_first_day() -> None:
    fresh = {"id": "fresh", "label": "Fresh", "hours": 2.0}
    renews = {"course": "fresh", "competency": "card", "level": 1, "renews": True}
    company = build(until=date(2026, 12, 1), courses=[fresh], outcomes=[renews])
    path = find_path(company, already_booked=frozenset({"fresh"}))
    assert (path.last_day, path.is_target_reached) == (date(2026, 12, 19), True)
