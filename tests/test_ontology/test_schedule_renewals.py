"""Certificates that lapse while a plan runs: renewed in time, named again, or told why they cannot be."""

from __future__ import annotations

from datetime import date
from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.learning_path import find_learning_path, find_path_to_levels
from ontology.analysis.profiles.profile import Profile, build_profile
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.snapshot.snapshot import Snapshot

#: A Monday.
MONDAY = date(2026, 11, 30)


def build_certificates(valid_until: date, **courses: dict[str, Any]) -> Snapshot:
    """Return p, who holds a licence that the role asks for until a day, and lacks 40 hours of something else."""
    courses = courses or {
        "learn": {"id": "learn", "label": "Learn", "hours": 40.0},
        "refresh": {"id": "refresh", "label": "Refresh", "hours": 5.0},
        "dear": {"id": "refresh-dear", "label": "Refresh at length", "hours": 8.0},
    }
    return build_snapshot(
        scales=[*build_scale(), {"scale": "held", "rank": 1, "label": "Held"}],
        competencies=[
            *build_competencies("skill short"),
            {"id": "licence", "label": "Licence", "scale": "held", "kind": "certificate", "validity_months": 12},
            {"id": "other", "label": "Other", "scale": "held", "kind": "certificate", "validity_months": 12},
        ],
        roles=[{"id": "r", "label": "R"}],
        requirements=[
            {"role": "r", "competency": "skill", "level": 1},
            *([{"role": "r", "competency": "short", "level": 1}] if "short" in courses else []),
            {"role": "r", "competency": "licence", "level": 1, "necessity": "blocking"},
        ],
        courses=list(courses.values()),
        outcomes=[
            outcome
            for outcome in (
                {"course": "learn", "competency": "skill", "level": 1},
                {"course": "short", "competency": "short", "level": 1},
                {"course": "refresh", "competency": "licence", "level": 1, "renews": True},
                {"course": "refresh-dear", "competency": "licence", "level": 1, "renews": True},
            )
            if outcome["course"] in {row["id"] for row in courses.values()}
        ],
        teams=[{"id": "t", "label": "T"}],
        people=[{"id": "p", "name": "P", "team": "t", "study_hours_per_week": 5.0}],
        assessments=[
            {
                "person": "p",
                "competency": i,
                "level": 1,
                "date": date(2026, 1, 5),
                "source": "certificate",
                "valid_until": valid_until,
            }
            for i in ("licence", "other")
        ],
    )


def plan_role(snapshot: Snapshot, **more: Any) -> ScheduleResult:
    profile = build_profile(snapshot, "p", MONDAY)
    return plan_schedule(snapshot, profile, find_learning_path(snapshot, profile, "r"), on=MONDAY, **more)


def test_a_certificate_that_lapses_meanwhile_is_renewed_in_time_and_its_hours_count() -> None:
    result = plan_role(build_certificates(date(2027, 1, 5)))
    licence, other = result.lapsing
    assert (licence.competency, licence.valid_until, licence.renewal) == ("licence", date(2027, 1, 5), "refresh")
    assert licence.needed_for == ("r",)
    assert licence.is_in_time
    assert licence.renewed_on is not None
    assert licence.renewed_on <= date(2027, 1, 5)
    assert (other.competency, other.renewal, other.needed_for) == ("other", None, ())
    assert "asks for it" in other.reason
    # 40 + 5 hours at 5 a week
    assert result.study_hours == 45
    assert result.finish == date(2027, 1, 29)
    renewal = next(course for course in result.courses if course.id == "refresh")
    assert (renewal.is_renewal, renewal.serves) == (True, ())


def test_a_certificate_that_outlives_the_plan_is_left_alone() -> None:
    # its last day is that of the plan
    result = plan_role(build_certificates(date(2027, 1, 22)))
    assert result.finish == date(2027, 1, 22)
    assert result.lapsing == ()


def test_a_renewal_may_move_the_finish_so_that_more_lapses() -> None:
    # without the renewal the plan ends on 22 January; with it a week later, after the other certificate's last day
    snapshot = build_certificates(date(2027, 1, 20))
    assert {row.competency for row in plan_role(snapshot).lapsing} == {"licence", "other"}
    assert plan_role(snapshot).finish == date(2027, 1, 29)


def test_a_renewal_that_cannot_be_in_time_is_said() -> None:
    result = plan_role(build_certificates(date(2026, 12, 3)))
    licence = next(row for row in result.lapsing if row.competency == "licence")
    assert licence.is_in_time is False
    assert "cannot end by 2026-12-03" in licence.reason


def test_a_renewal_comes_before_what_else_could_as_well_be_first() -> None:
    # 5 hours a week beside a course of nine weeks: five hours and then 30 would end as early, but the renewal late
    snapshot = build_certificates(
        date(2027, 1, 8),
        learn={"id": "learn", "label": "Learn", "hours": 0.0, "weeks": 9.0},
        refresh={"id": "refresh", "label": "Refresh", "hours": 30.0},
        short={"id": "short", "label": "Short", "hours": 5.0},
    )
    result = plan_role(snapshot)
    licence = next(row for row in result.lapsing if row.competency == "licence")
    # six weeks from Monday 30 November: exactly on its last day
    assert (licence.renewal, licence.renewed_on, licence.is_in_time) == ("refresh", date(2027, 1, 8), True)
    assert result.finish == date(2027, 1, 29)


def test_a_renewal_waits_until_little_of_the_old_certificate_is_given_away() -> None:
    snapshot = build_certificates(date(2027, 6, 30))
    result = plan_role(snapshot, study_hours_per_week=1.0)
    renewal = next(course for course in result.courses if course.id == "refresh")
    assert renewal.first_day >= date(2027, 3, 31)
    assert renewal.last_day <= date(2027, 6, 30)


def test_a_renewal_of_more_than_thirteen_weeks_begins_before_them() -> None:
    snapshot = build_certificates(
        date(2027, 6, 30),
        learn={"id": "learn", "label": "Learn", "hours": 200.0},
        refresh={"id": "refresh", "label": "Refresh", "hours": 80.0},
    )
    licence = next(row for row in plan_role(snapshot, max_nodes=100).lapsing if row.competency == "licence")
    assert (licence.renewal, licence.is_in_time) == ("refresh", True)


def test_a_renewal_earned_long_before_the_end_is_named_again() -> None:
    result = plan_role(build_certificates(date(2026, 12, 31)), study_hours_per_week=0.5)
    again = [row for row in result.lapsing if row.renewal is None and row.competency == "licence"]
    assert len(again) == 1
    assert "renew it once more" in again[0].reason
    assert result.finish is not None
    assert again[0].valid_until < result.finish


def test_a_role_profile_holds_no_dates_so_nothing_lapses() -> None:
    snapshot = build_certificates(date(2027, 1, 5))
    # a role may have the id of a person
    profile = Profile({"licence": 1}, kind="role", held_by="p")
    path = find_path_to_levels(snapshot, profile, {"skill": 1})
    assert plan_schedule(snapshot, profile, path, on=MONDAY).lapsing == ()
