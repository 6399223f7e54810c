"""Cover over time and after a plan, where levels hang on others or count as another and people change shift."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from small_company import ON
from small_team import Rows, build_course_rows, build_team, build_team_rows

from ontology.analysis.outlook.cover_timeline import CoverHole, compute_cover_timeline
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.analysis.training.plan_effect import compute_plan_effect
from ontology.analysis.training.training_chart import build_training_chart
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
NEED = {"team": "t", "competency": "b", "level": 1, "target": 1}


def certify(person: str, competency: str, until: date | None = None, level: int = 1) -> dict[str, Any]:
    row = {"person": person, "competency": competency, "level": level, "date": ON - 30 * DAY, "source": "certificate"}
    return row | {"valid_until": until}


def build(*assessments: dict[str, Any], needs: list[dict[str, Any]] | None = None, **more: Any) -> Snapshot:
    """Return team t of p, which needs certificate b; b holds while certificate a, which a refresher renews."""
    rows = build_team_rows(p={}, **{i: {} for i in more.pop("others", ())})
    for row in rows["competencies"]:
        row |= {"kind": "certificate", "holds_while": ("a",) if row["id"] == "b" else ()}
    courses = more.pop("courses", {"again": {"hours": 4.0, "gives": {"a": 1}, "renews": True}})
    made: Rows = build_course_rows(**courses)
    return build_team(rows, assessments=list(assessments), cover_needs=needs or [NEED], **made, **more)


def get_hole(snapshot: Snapshot) -> CoverHole:
    ((hole,),) = [row.holes for row in compute_cover_timeline(snapshot, "t", ON, to_date=ON + 100 * DAY).needs]
    return hole


def test_level_that_will_be_suspended_is_mended_by_the_renewal_of_what_it_hangs_on() -> None:
    last = ON + 39 * DAY
    hole = get_hole(build(certify("p", "a", last), certify("p", "b")))
    assert hole.from_date == last + DAY
    assert [(cause.person, cause.what) for cause in hole.causes] == [("p", "suspended")]
    mend = hole.mend
    assert mend is not None
    assert (mend.person, mend.kind, mend.courses) == ("p", "renewal", ("again",))
    assert [(row.competency, row.level, row.have) for row in mend.levels] == [("a", 1, 1)]
    # a refresher for holders: done by the last day on which a is held
    assert (mend.due, mend.last_day_to_act) == (last, last - DAY)


def test_hole_is_not_mended_through_an_equivalence_that_is_over_by_then() -> None:
    """Both holes could be closed by learning c, which counts as b until the first ends: the second takes more."""
    over = ON + 20 * DAY
    row = {"competency": "c", "counts_as": "b", "from_date": None, "to_date": over}
    courses = {"short": {"hours": 1.0, "gives": {"c": 1}}, "long": {"hours": 9.0, "gives": {"b": 1}}}
    needs = [NEED | {"minimum": 2, "target": 2}]
    snapshot = build(
        *(certify(i, "a") for i in ("p", "q", "r")),
        certify("p", "b", over),
        courses=courses,
        others=("q", "r"),
        needs=needs,
        equivalences=[row],
    )
    (need,) = compute_cover_timeline(snapshot, "t", ON, to_date=ON + 100 * DAY).needs
    told = {hole.lacking: (hole.from_date, hole.mend.courses if hole.mend else None) for hole in need.holes}
    assert told[1][1] == ("short",)
    assert told[2] == (over + DAY, ("long",))


def test_plan_tells_the_course_that_keeps_what_a_level_hangs_on() -> None:
    needs = [NEED, NEED | {"competency": "c"}]
    courses = {
        "again": {"hours": 4.0, "gives": {"a": 1}, "renews": True},
        "late": {"hours": 4.0, "weeks": 6.0, "gives": {"c": 1}},
    }
    last = ON + 20 * DAY
    snapshot = build(certify("p", "a", last), certify("p", "b"), needs=needs, courses=courses)
    plan = plan_cross_training(snapshot, "t", ON)
    assert [row.course for row in plan.courses] == ["late"]
    (lapse,) = compute_plan_effect(snapshot, plan).lapses
    assert (lapse.competency, lapse.valid_until, lapse.renewal) == ("b", last, "again")
    assert lapse.last_day_to_act == last - DAY


def test_chart_has_who_changes_shift_in_that_of_the_day_and_counts_them_afterwards_in_the_other() -> None:
    needs = [NEED | {"applies": "each-shift"}, NEED | {"competency": "c"}]
    courses = {"late": {"hours": 4.0, "weeks": 6.0, "gives": {"c": 1}}}
    snapshot = build(
        *(certify("p", i) for i in "ab"),
        needs=needs,
        courses=courses,
        shifts=[{"id": i, "team": "t", "label": i} for i in ("s1", "s2")],
        memberships=[
            {"person": "p", "team": "t", "from_date": ON - DAY, "to_date": ON + 9 * DAY, "shift": "s1"},
            {"person": "p", "team": "t", "from_date": ON + 10 * DAY, "shift": "s2"},
        ],
    )
    chart = build_training_chart(snapshot, plan_cross_training(snapshot, "t", ON))
    assert [person.shift for person in chart.people] == ["s1"]
    told = {(row.competency, row.shift): (row.holders, row.holders_planned) for row in chart.rows}
    assert told == {("b", "s1"): (1, 0), ("b", "s2"): (0, 1), ("c", None): (0, 1)}
