"""Results of a session: what they write, what they leave, what is refused. Every number by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from small_class import CLASS_ROWS, FIRST, LAST, TODAY
from small_company import build_snapshot

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.sessions.results import EnteredResults, SessionResult, enter_results, get_results
from ontology.snapshot.snapshot import Snapshot

D = date
#: a, b and c passed, d was not there.
ALL = [SessionResult(i, True, True) for i in "abc"] + [SessionResult("d", False, False)]


def enter(snapshot: Snapshot, rows: list[SessionResult], today: date = TODAY, by: str = "g") -> EnteredResults:
    return enter_results(snapshot, snapshot.sessions["s1"], rows, entered_by=by, today=today)


def put(snapshot: Snapshot, entered: EnteredResults) -> Snapshot:
    assert not entered.faults
    return snapshot.with_changes(entered.put, ())


def tell(snapshot: Snapshot, person: str) -> list[tuple[Any, ...]]:
    """Return what was written of the session of a person."""
    return [
        (row.competency, row.level, row.source, row.assessor, row.date, row.valid_until, row.recorded_on)
        for row in snapshot.get_assessments(person)
        if row.evidence == "session s1" and row.withdrawn_on is None
    ]


def build(**changed: Any) -> Snapshot:
    return build_snapshot(**(CLASS_ROWS | changed))


def change_session(**values: Any) -> Snapshot:
    return build(sessions=[CLASS_ROWS["sessions"][0] | values])


def test_bookings_are_attended_or_missed_and_the_session_held() -> None:
    after = put(build(), enter(build(), ALL))
    states = {row.person: (row.state, row.recorded_on) for row in after.get_bookings_of_session("s1")}
    assert states == dict.fromkeys("abc", ("attended", TODAY)) | {
        "d": ("missed", TODAY),
        "e": ("waiting", None),
        "f": ("cancelled", None),
    }
    assert all(row.booked_on == D(2026, 9, 1) for row in after.get_bookings_of_session("s1") if row.person in "abcd")
    assert after.sessions["s1"].state == "held"


def test_who_passed_has_the_outcomes_from_the_last_day_on() -> None:
    """a renews first aid in its window, so from its last day; b lost it, and counts anew; c has it for the first time.

    The mask is only renewed: by a, who holds it (no window: from the day done), and b, who lost it five months ago.
    """
    entered = enter(build(), ALL)
    after = put(build(), entered)
    hoist = ("hoist", 2, "assessor", "g", LAST, D(2028, 11, 3), TODAY)
    assert tell(after, "a") == [
        ("aid", 1, "certificate", "", LAST, D(2027, 12, 20), TODAY),
        hoist,
        ("mask", 1, "certificate", "", LAST, D(2027, 11, 3), TODAY),
    ]
    assert tell(after, "b") == [
        ("aid", 1, "certificate", "", LAST, D(2027, 11, 3), TODAY),
        hoist,
        ("mask", 1, "certificate", "", LAST, D(2027, 11, 3), TODAY),
    ]
    assert tell(after, "c") == [("aid", 1, "certificate", "", LAST, D(2027, 11, 3), TODAY), hoist]
    assert tell(after, "d") == []
    assert entered.remarks == (
        f"c: mask at level 1 is only renewed by this course, and was not held on {FIRST}; it is not recorded.",
    )


def test_what_follows_is_seen_by_obligations_and_cover() -> None:
    before, after = build(), put(build(), enter(build(), ALL))
    (row,) = find_person_obligations(before, "b", on=TODAY).rows
    assert (row.state, row.due) == ("overdue", D(2026, 10, 1))
    (row,) = find_person_obligations(after, "b", on=TODAY).rows
    assert (row.state, row.due, row.assessed_on) == ("current", D(2027, 11, 3), LAST)
    (row,) = find_person_obligations(after, "d", on=TODAY).rows
    assert row.state == "overdue"
    assert [compute_coverage(s, "t", TODAY).needs[0].qualified for s in (before, after)] == [(), ("a", "b", "c")]


def test_entering_the_same_twice_changes_nothing() -> None:
    after = put(build(), enter(build(), ALL))
    assert enter(after, ALL).put == ()
    # nor on another day, by another hand, or in another order
    assert enter(after, ALL[::-1], D(2026, 12, 1), by="f").put == ()


def test_who_attended_without_passing_has_no_assessment() -> None:
    after = put(build(), enter(build(), [SessionResult("c", True, False)]))
    assert tell(after, "c") == []
    assert after.get_table("bookings")["s1", "c"].state == "attended"


def test_who_is_not_told_of_stays_as_they_are_with_a_remark() -> None:
    entered = enter(build(), ALL[1:])
    assert entered.remarks[-1] == "No result is told of a: their bookings stay as they are."
    assert put(build(), entered).get_table("bookings")["s1", "a"].state == "booked"


def test_a_request_of_who_attended_is_not_taken_away_but_told() -> None:
    wishes = [{"person": "a", "course": "week"}, {"person": "d", "course": "week"}]
    entered = enter(build(requests=wishes), ALL)
    assert [remark for remark in entered.remarks if "request" in remark] == [
        "a: their request for week still stands; remove it if this was it."
    ]


def test_a_correction_takes_back_and_writes_anew() -> None:
    """Never an edit: what was known on a day stays known of that day."""
    first = put(build(), enter(build(), ALL))
    later = D(2026, 11, 20)
    second = put(first, enter(first, [SessionResult("c", False, False), SessionResult("d", True, True)], later))
    gone = [row for row in second.get_assessments("c") if row.evidence]
    assert [(row.competency, row.recorded_on, row.withdrawn_on) for row in gone] == [
        ("aid", TODAY, later),
        ("hoist", TODAY, later),
    ]
    assert [row[0] for row in tell(second, "d")] == ["aid", "hoist"]
    assert {row[-1] for row in tell(second, "d")} == {later}
    assert get_results(second, second.sessions["s1"]).rows[2:] == (
        SessionResult("c", False, False),
        SessionResult("d", True, True),
    )
    assert tell(second, "a") == tell(first, "a")
    # and back again
    third = put(second, enter(second, [SessionResult("c", True, True)], D(2026, 11, 21)))
    assert [row[0] for row in tell(third, "c")] == ["aid", "hoist"]


def test_a_session_moved_after_its_results_were_entered_gets_them_anew() -> None:
    first = put(build(), enter(build(), [SessionResult("c", True, True)]))
    moved = first.with_changes([("sessions", replace(first.sessions["s1"], to_date=D(2026, 11, 4)))], ())
    second = put(moved, enter(moved, [SessionResult("c", True, True)], D(2026, 11, 20)))
    assert [row[4] for row in tell(second, "c")] == [D(2026, 11, 4)] * 2
    assert sum(row.withdrawn_on is not None for row in second.get_assessments("c")) == 2


def test_what_is_taken_back_is_not_renewed_by_what_takes_its_place() -> None:
    """With a window as long as the validity: done a day later it ends a day later, not a year."""
    aid = CLASS_ROWS["competencies"][0] | {"renewal_window_months": 12}
    first = build(competencies=[aid, *CLASS_ROWS["competencies"][1:]])
    first = put(first, enter(first, [SessionResult("c", True, True)]))
    moved = first.with_changes([("sessions", replace(first.sessions["s1"], to_date=D(2026, 11, 4)))], ())
    second = put(moved, enter(moved, [SessionResult("c", True, True)]))
    assert tell(second, "c")[0][5] == D(2027, 11, 4)


def test_who_can_renew_is_judged_on_the_first_day() -> None:
    """c's mask ends on the first of two days, and cannot be renewed later."""
    mask = CLASS_ROWS["competencies"][2] | {"refresher_months": None}
    held = {"person": "c", "competency": "mask", "level": 1, "date": D(2025, 11, 2), "source": "certificate"}
    for until, is_renewed in ((FIRST, True), (D(2026, 11, 1), False)):
        assessments = [*CLASS_ROWS["assessments"], held | {"valid_until": until}]
        snapshot = build(competencies=[*CLASS_ROWS["competencies"][:2], mask], assessments=assessments)
        after = put(snapshot, enter(snapshot, [SessionResult("c", True, True)]))
        assert ("mask" in [row[0] for row in tell(after, "c")]) == is_renewed


def test_a_level_that_is_held_already_is_not_taken_away() -> None:
    held = {"person": "a", "competency": "hoist", "level": 3, "date": D(2026, 1, 10), "source": "assessor"}
    snapshot = build(assessments=[*CLASS_ROWS["assessments"], held])
    entered = enter(snapshot, [SessionResult("a", True, True)])
    assert [row[0] for row in tell(put(snapshot, entered), "a")] == ["aid", "mask"]
    assert "a: hoist at level 2 is not recorded, for level 3 is held already." in entered.remarks


def test_what_is_recorded_already_is_not_recorded_twice_and_stays() -> None:
    there = {"person": "c", "competency": "aid", "level": 1, "date": LAST, "source": "certificate", "evidence": "no. 7"}
    snapshot = build(assessments=[*CLASS_ROWS["assessments"], there])
    after = put(snapshot, enter(snapshot, [SessionResult("c", True, True)]))
    assert [row[0] for row in tell(after, "c")] == ["hoist"]
    corrected = enter(after, [SessionResult("c", True, False)])
    assert f"c: aid at level 1 is recorded otherwise on {LAST}, and stays." in corrected.remarks
    aid = next(row for row in put(after, corrected).get_assessments("c") if row.competency == "aid")
    assert (aid.evidence, aid.withdrawn_on) == ("no. 7", None)


def test_results_are_entered_from_the_last_day_on() -> None:
    assert not enter(build(), ALL, LAST).faults
    (fault,) = enter(build(), ALL, FIRST).faults
    assert (fault.row, fault.member) == (None, "session")
    assert "is not over" in fault.reason


@pytest.mark.parametrize(
    ("row", "member", "told"),
    [
        (SessionResult("x", True, True), "person", "none in people"),
        (SessionResult("e", True, True), "person", "has no seat in session s1: the booking is waiting"),
        (SessionResult("f", True, True), "person", "has no seat in session s1: the booking is cancelled"),
        (SessionResult("g", False, False), "person", "has no seat in session s1"),
        (SessionResult("d", False, True), "passed", "did not attend"),
        (SessionResult("a", True, False), "person", "also in row 1"),
    ],
)
def test_one_wrong_row_refuses_all(row: SessionResult, member: str, told: str) -> None:
    entered = enter(build(), [*ALL[:3], row])
    assert entered.put == ()
    (fault,) = entered.faults
    assert (fault.row, fault.member, told in fault.reason) == (3, member, True)


@pytest.mark.parametrize("by", ["c", "C Example"])
def test_nobody_assesses_themselves(by: str) -> None:
    (fault,) = enter(build(), ALL, by=by).faults
    assert (fault.row, fault.member) == (2, "person")
    # a certificate is the issuer's word, whoever types it in
    assert not enter(build(outcomes=CLASS_ROWS["outcomes"][:1]), ALL, by=by).faults


def test_a_cancelled_session_and_an_empty_list_are_refused() -> None:
    assert [f.member for f in enter(change_session(state="cancelled"), ALL).faults] == ["session"]
    assert [f.member for f in enter(build(), []).faults] == ["rows"]


def test_validity_past_the_end_of_the_calendar_is_a_fault_of_its_row() -> None:
    end = D(9999, 6, 1)
    snapshot = change_session(from_date=end, to_date=end)
    assert [(f.row, f.member) for f in enter(snapshot, ALL[2:], end).faults] == [(0, "passed")]
