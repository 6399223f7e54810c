"""Who belongs where on which day: lent people, contractors, and what asks for the day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import Rows, build_course_rows, build_team, build_team_rows

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.outlook.company_cover import compute_company_cover
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.places.headcount import compute_headcount
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.profiles.belonging import get_person_on
from ontology.analysis.profiles.profile import build_profile
from ontology.analysis.routes.routes import find_routes
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.errors import InputError
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
FIRST, LAST = ON + 7 * DAY, ON + 13 * DAY


def draw_rows() -> Rows:
    """Return two teams that each need competency a and have a place for it; u has a shift."""
    rows = build_team_rows(p={"a": 2}, q={"a": 2}, z={"a": 2})
    rows["teams"].append({"id": "u", "label": "U"})
    rows["people"][2]["team"] = "u"
    rows["shifts"] = [{"id": "early", "team": "t", "label": "E"}, {"id": "late", "team": "u", "label": "L"}]
    rows["roles"] = [{"id": i, "label": i} for i in ("fitter", "lead")]
    rows["requirements"] = [{"role": i, "competency": "a", "level": 2} for i in ("fitter", "lead")]
    rows["people"][0] |= {"shift": "early", "role": "fitter"}
    rows["cover_needs"] = [{"team": i, "competency": "a", "level": 2} for i in "tu"]
    rows["places"] = [{"id": f"x{i}", "team": i, "role": "fitter", "count": 2} for i in "tu"]
    return rows


def build(*memberships: dict[str, Any], **more: Any) -> Snapshot:
    return build_team(draw_rows(), memberships=list(memberships), **more)


def belong(team: str = "u", first: date = FIRST, last: date | None = LAST, **more: Any) -> dict[str, Any]:
    return {"person": "p", "team": team, "from_date": first, "to_date": last} | more


def count(snapshot: Snapshot, team: str, on: date) -> tuple[tuple[str, ...], int]:
    """Return who counts for the need of a team, and how many slots of its place are filled."""
    (row,) = compute_coverage(snapshot, team, on).needs
    return row.present, compute_staffing(snapshot, team, on).filled


@pytest.mark.parametrize("kind", ["own", "lent", "contractor"])
def test_someone_lent_counts_where_they_are_lent_and_not_at_home(kind: str) -> None:
    snapshot = build(belong(kind=kind))
    for day in (FIRST - DAY, LAST + DAY):
        assert (count(snapshot, "t", day), count(snapshot, "u", day)) == ((("p", "q"), 2), (("z",), 1))
    for day in (FIRST, LAST):
        assert (count(snapshot, "t", day), count(snapshot, "u", day)) == ((("q",), 1), (("p", "z"), 2))
        whole = {row.team: row.depth for row in compute_company_cover(snapshot, day).needs}
        assert whole == {"t": 1, "u": 2}


def test_timeline_tells_the_days_of_belonging() -> None:
    for team, depths in (("t", [2, 1, 2]), ("u", [1, 2, 1])):
        timeline = compute_cover_timeline(build(belong()), team, ON, to_date=ON + 28 * DAY)
        (need,) = timeline.needs
        assert [row.depth for row in need.intervals] == depths
        assert [row.from_date for row in need.intervals] == [ON, FIRST, LAST + DAY]
        causes = {(row.on, cause.person, cause.what) for row in timeline.changes for cause in row.causes}
        words = ("leaves", "joins") if team == "t" else ("joins", "leaves")
        assert causes <= {(FIRST, "p", words[0]), (LAST + DAY, "p", words[1])}


@pytest.mark.parametrize(
    ("team", "said", "told"),
    [
        ("t", {}, ("t", "early", "fitter")),
        ("u", {}, ("u", "", "fitter")),
        ("u", {"shift": "late"}, ("u", "late", "fitter")),
        ("u", {"role": "lead"}, ("u", "", "lead")),
        ("t", {"role": "lead", "shift": ""}, ("t", "early", "lead")),
    ],
)
def test_empty_role_is_the_persons_and_empty_shift_theirs_in_the_same_team(
    team: str, said: dict[str, str], told: tuple[str, str, str]
) -> None:
    person = get_person_on(build(belong(team, **said)), "p", FIRST)
    assert (person.team, person.shift, person.role) == told


def test_membership_without_an_end_goes_on_and_rows_without_a_day_leave_the_home_team() -> None:
    snapshot = build(belong(last=None), belong("t", ON - 9 * DAY, ON - 5 * DAY, role="lead"))
    teams = [get_person_on(snapshot, "p", day).team for day in (ON, FIRST, FIRST + 4000 * DAY)]
    assert teams == ["t", "u", "u"]
    roles = [get_person_on(snapshot, "p", ON - n * DAY).role for n in (10, 9, 5, 4)]
    assert roles == ["fitter", "lead", "lead", "fitter"]


def test_membership_outside_employment_counts_nowhere() -> None:
    rows = draw_rows()
    rows["people"][0]["end_date"] = FIRST + DAY
    snapshot = build_team(rows, memberships=[belong()])
    assert count(snapshot, "u", FIRST + DAY)[0] == ("p", "z")
    assert count(snapshot, "u", FIRST + 2 * DAY)[0] == ("z",)


def test_who_belongs_to_no_team_of_their_own_is_a_member_by_membership_alone() -> None:
    rows = draw_rows()
    rows["people"][0] |= {"team": "", "shift": ""}
    snapshot = build_team(rows, memberships=[belong(shift="late")])
    assert count(snapshot, "u", FIRST)[0] == ("p", "z")
    assert count(snapshot, "t", FIRST)[0] == ("q",)


def test_contractors_count_for_cover_and_not_among_the_heads() -> None:
    rows = {}
    for kind in ("lent", "contractor"):
        snapshot = build(belong(kind=kind))
        assert count(snapshot, "u", FIRST) == (("p", "z"), 2)
        result = compute_headcount(snapshot, "u", FIRST, net_hours=1600, manned_hours=8760)
        rows[kind] = [row.qualified for row in result.rows]
    assert rows == {"lent": [("p", "z"), ("p", "z")], "contractor": [("z",), ("z",)]}


def test_present_role_is_that_of_the_day() -> None:
    """A route asks from the role of the day: into the one held that day it is a wrong question."""
    snapshot = build(belong(role="lead"))
    assert [build_profile(snapshot, "p", day).role for day in (ON, FIRST)] == ["fitter", "lead"]
    with pytest.raises(InputError):
        find_routes(snapshot, build_profile(snapshot, "p", FIRST), "lead")
    find_routes(snapshot, build_profile(snapshot, "p", ON), "lead")


def test_training_plan_is_for_those_of_the_day_and_done_while_they_belong() -> None:
    rows = draw_rows()
    rows["assessments"] = [row for row in rows["assessments"] if row["person"] == "z"]
    courses = build_course_rows(k={"hours": 8.0, "gives": {"a": 2}, "weeks": 1.5})
    need = [row | {"target": 2, "minimum": 2} for row in rows["cover_needs"] if row["team"] == "u"]
    rows |= {"cover_needs": need, "places": []}
    for last, told in ((LAST - 3 * DAY, []), (FIRST + 30 * DAY, ["p"])):
        plan = plan_cross_training(build_team(rows, memberships=[belong(last=last)], **courses), "u", FIRST)
        assert [row.person for row in plan.courses] == told
        assert all(row.finished_on <= last for row in plan.courses)
