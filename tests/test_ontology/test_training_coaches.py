"""Who coaches what in a cross-training plan: a coach for each outcome, equal shares, and plans that can be coached."""

from __future__ import annotations

from datetime import timedelta

from small_company import ON
from small_team import build_course_rows, build_team, build_team_rows

from api.desk.names import Names
from api.questions.team._plan_remarks import list_remarks
from ontology.analysis.training.cross_training import CrossTrainingResult, TrainingAsked, plan_cross_training
from ontology.snapshot.snapshot import Snapshot

COACHED = TrainingAsked(with_coach=True)
ALL = {"hours": 6.0, "coach_hours": 3.0, "gives": {"a": 2, "b": 1, "c": 1}}


def build(*, with_ends: dict[str, int] | None = None) -> Snapshot:
    """Return a team in which p, q and r master one thing each and s is to learn all three."""
    rows = build_team_rows(p={"a": 3}, q={"b": 1}, r={"c": 1}, s={})
    for row in rows["people"]:
        if with_ends and row["id"] in with_ends:
            row["end_date"] = ON + timedelta(days=with_ends[row["id"]])
    needs = [{"team": "t", "competency": c, "level": n, "target": 2} for c, n in (("a", 2), ("b", 1), ("c", 1))]
    courses = build_course_rows(all3=dict(ALL))
    return build_team(rows, cover_needs=needs, **courses)


def get_courses(result: CrossTrainingResult) -> set[str]:
    return {course for row in result.learners for course in row.courses}


def test_each_outcome_has_its_own_coach_and_an_equal_share_of_the_hours() -> None:
    snapshot = build()
    result = plan_cross_training(snapshot, "t", ON, asked=COACHED)
    assert (result.status, get_courses(result)) == ("optimal", {"all3"})
    learner = result.plan[0].person
    (coaching,) = result.plan[0].coaching
    expected = {c: tuple(p for p, own in (("p", "a"), ("q", "b"), ("r", "c")) if own == c) for c in "abc"}
    assert learner == "s"
    assert {row.competency: row.people for row in coaching.outcomes} == expected
    assert [row.coach_hours for row in coaching.outcomes] == [1.0, 1.0, 1.0]
    assert coaching.people == ()
    assert not any("coach" in remark for remark in list_remarks(result, Names(snapshot)))


def test_what_nobody_can_coach_is_remarked() -> None:
    rows = build_team_rows(p={"a": 3}, s={})
    needs = [{"team": "t", "competency": "a", "level": 2, "target": 2}]
    courses = build_course_rows(both={"hours": 6.0, "coach_hours": 3.0, "gives": {"a": 2, "b": 1}})
    snapshot = build_team(rows, cover_needs=needs, **courses)
    told = list_remarks(plan_cross_training(snapshot, "t", ON), Names(snapshot))
    assert told == ("Nobody in these teams can coach s in B at level 1 (both).",)
    refused = plan_cross_training(build_team(rows, cover_needs=needs, **courses), "t", ON, asked=COACHED)
    assert refused.unmet[0].reason == "For s: only by courses that nobody in these teams can coach."


def test_of_plans_with_equal_hours_that_wins_which_can_be_coached_though_it_costs_more() -> None:
    rows = build_team_rows(p={"a": 3}, s={})
    needs = [{"team": "t", "competency": "a", "level": 2, "target": 2}]
    courses = build_course_rows(
        cheap={"hours": 5.0, "coach_hours": 1.0, "gives": {"a": 2, "b": 1}},
        dear={"hours": 5.0, "coach_hours": 1.0, "cost": 90.0, "gives": {"a": 2}},
        longer={"hours": 6.5, "gives": {"a": 2}},
    )
    result = plan_cross_training(build_team(rows, cover_needs=needs, **courses), "t", ON)
    assert (get_courses(result), result.is_proved) == ({"dear"}, True)


def test_hours_go_before_whether_it_can_be_coached() -> None:
    rows = build_team_rows(p={"a": 3}, s={})
    needs = [{"team": "t", "competency": "a", "level": 2, "target": 2}]
    courses = build_course_rows(
        short={"hours": 4.0, "coach_hours": 1.0, "gives": {"a": 2, "b": 1}},
        coached={"hours": 5.0, "coach_hours": 1.0, "gives": {"a": 2}},
    )
    assert get_courses(plan_cross_training(build_team(rows, cover_needs=needs, **courses), "t", ON)) == {"short"}


def test_whoever_leaves_before_the_course_is_done_coaches_nobody() -> None:
    done = plan_cross_training(build(), "t", ON).finished_on
    assert done is not None
    days = (done - ON).days
    stays = plan_cross_training(build(with_ends={"q": days}), "t", ON, asked=COACHED)
    leaves = plan_cross_training(build(with_ends={"q": days - 1}), "t", ON, asked=COACHED)
    assert (get_courses(stays), get_courses(leaves)) == ({"all3"}, set())


def test_the_learner_coaches_nobody() -> None:
    rows = build_team_rows(s={"b": 1})
    needs = [{"team": "t", "competency": "a", "level": 2, "target": 1}]
    courses = build_course_rows(both={"hours": 6.0, "coach_hours": 3.0, "gives": {"a": 2, "b": 1}})
    (line,) = plan_cross_training(build_team(rows, cover_needs=needs, **courses), "t", ON).plan
    assert [row.people for row in line.coaching[0].outcomes] == [(), ()]
