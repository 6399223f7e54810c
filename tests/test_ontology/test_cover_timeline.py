"""Timelines worked out by hand: what opens a hole and closes it, and when it is told."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from small_company import ON
from small_team import build_team
from timeline_cases import LAST, build_rows, certify, day, get_hole

from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.errors import InputError, UnknownIdError


def test_hole_that_has_begun_tells_since_when_and_is_still_mended_by_a_renewal() -> None:
    hole = get_hole(build_rows("p", "q"), assessments=[certify("p", "2026-11-10")])
    assert (hole.from_date, hole.is_begin_known) == (day("2026-11-11"), True)
    assert [(cause.person, cause.what) for cause in hole.causes] == [("p", "lapses")]
    assert hole.mend is not None
    assert (hole.mend.person, hole.mend.kind, hole.mend.have) == ("p", "renewal", 0)
    # three weeks of waiting and 4 h of a week
    assert (hole.mend.due, hole.last_day_to_act, hole.is_late) == (day("2026-11-11"), day("2026-10-14"), True)
    assert hole.mend.ready_on == ON + timedelta(weeks=4)


def test_hole_without_a_day_on_which_it_was_none_begins_with_the_first_day_told() -> None:
    hole = get_hole(build_rows("p"), assessments=[])
    assert (hole.from_date, hole.is_begin_known, hole.causes) == (ON, False, ())


def test_hole_that_was_over_before_the_day_asked_about_is_not_mended() -> None:
    absence = {"person": "p", "from_date": day("2026-11-01"), "to_date": day("2026-11-07")}
    hole = get_hole(
        build_rows("p", "q"), assessments=[certify("p", None)], absences=[absence], from_date=day("2026-11-05")
    )
    assert (hole.from_date, hole.to_date, hole.mend) == (day("2026-11-01"), day("2026-11-07"), None)
    assert hole.reason == "It was over before the day asked about."


def test_who_joins_on_the_first_day_of_an_absence_only_joins() -> None:
    rows = build_rows("p", "q")
    rows["people"][1]["start_date"] = day("2027-01-11")
    absence = {"person": "q", "from_date": day("2027-01-11"), "to_date": day("2027-01-17")}
    result = compute_cover_timeline(
        build_team(rows, assessments=[certify("p", None), certify("q", None)], absences=[absence]),
        "t",
        ON,
        to_date=LAST,
    )
    causes = [(i.from_date, [(c.person, c.what) for c in i.causes]) for i in result.needs[0].intervals]
    assert causes == [
        (ON, []),
        (day("2027-01-11"), [("q", "joins")]),
        (day("2027-01-18"), [("q", "absence-ends")]),
    ]


def test_absence_opens_a_hole_and_closes_it() -> None:
    absence = {"person": "p", "from_date": day("2026-12-14"), "to_date": day("2026-12-27")}
    hole = get_hole(build_rows("p", "q"), assessments=[certify("p", None)], absences=[absence])
    assert (hole.from_date, hole.to_date, hole.is_open) == (day("2026-12-14"), day("2026-12-27"), False)
    assert [c.what for c in hole.causes] == ["absence-begins"]
    result = compute_cover_timeline(
        build_team(build_rows("p", "q"), assessments=[certify("p", None)], absences=[absence]), "t", ON, to_date=LAST
    )
    assert [(c.on, c.from_state, c.to_state) for c in result.changes] == [
        (day("2026-12-14"), "sole-holder", "short"),
        (day("2026-12-28"), "short", "sole-holder"),
    ]
    assert [c.what for c in result.changes[1].causes] == ["absence-ends"]


def test_who_joins_counts_from_the_first_day() -> None:
    rows = build_rows("p", "q")
    rows["people"][1]["start_date"] = day("2027-01-11")
    hole = get_hole(rows, assessments=[certify("q", None)])
    assert (hole.from_date, hole.to_date, hole.causes) == (ON, day("2027-01-10"), ())


def test_people_away_are_away_throughout_and_never_mend() -> None:
    hole = get_hole(build_rows("p", "q"), assessments=[certify("p", None)], away=frozenset({"p"}))
    assert (hole.from_date, hole.to_date, hole.is_open) == (ON, LAST, True)
    assert hole.mend is not None
    assert hole.mend.person == "q"


def test_need_in_each_shift_of_a_team_without_shifts_is_short_with_a_remark() -> None:
    result = compute_cover_timeline(build_team(build_rows("p", applies="each-shift")), "t", ON, to_date=LAST)
    (need,) = result.needs
    assert [(i.depth, i.state) for i in need.intervals] == [(0, "short")]
    assert need.holes[0].reason == "The team has no shifts: nobody counts for it, whatever is learned."
    assert len(result.remarks) == 2
    assert result.remarks[1].startswith("Where learning comes too late")


def test_days_at_the_end_of_the_calendar_are_no_error() -> None:
    rows = build_rows("p", "q")
    rows["people"][0]["end_date"] = date.max
    absence = {"person": "q", "from_date": day("2027-01-01"), "to_date": date.max}
    rows["courses"][1] |= {"lead_weeks": 1e9}
    forever = certify("p", None) | {"valid_until": date.max}
    result = compute_cover_timeline(
        build_team(rows, assessments=[forever], absences=[absence]), "t", date(9999, 12, 1), to_date=date.max
    )
    assert [(i.from_date, i.to_date) for i in result.needs[0].intervals] == [(date(9999, 12, 1), date.max)]
    far = get_hole(rows, assessments=[certify("q", None)], absences=[absence], away=frozenset())
    assert far.mend is not None
    assert (far.mend.person, far.last_day_to_act, far.mend.ready_on) == ("p", date.min, date(9999, 12, 31))


def test_wrong_questions_are_refused() -> None:
    snapshot = build_team(build_rows("p"))
    with pytest.raises(InputError, match="before the first"):
        compute_cover_timeline(snapshot, "t", ON, to_date=ON - timedelta(days=1))
    with pytest.raises(InputError, match="within 3660 days"):
        compute_cover_timeline(snapshot, "t", ON, to_date=ON + timedelta(days=3661))
    with pytest.raises(UnknownIdError):
        compute_cover_timeline(snapshot, "nowhere", ON, to_date=LAST)
    with pytest.raises(UnknownIdError):
        compute_cover_timeline(snapshot, "t", ON, to_date=LAST, away=frozenset({"nobody"}))
