"""What a person reads of an agreed plan: the first sentence says how far it is and whether it is in time."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from agreed_cases import AGREED_ON, DONE_A, DONE_B, ON, assess, book, build
from small_company import build_competencies

from api.desk.names import Names
from api.desk.question import PERSON, Subject
from api.desk.sheet import Note, Sheet, Table
from api.questions.person.agreed_plan import AskAgreedPlan, show
from ontology.analysis.agreed.agreed_plan import find_agreed_plans
from ontology.snapshot.snapshot import Snapshot

LATE_C = [{"plan": "plan", "course": "kc", "first_day": date(2026, 11, 16), "last_day": date(2026, 11, 20)}]


def write(snapshot: Snapshot, on: date = ON) -> Sheet:
    result = find_agreed_plans(snapshot, "p", on=on)
    return show(result, Subject(PERSON, "p"), AskAgreedPlan(on=on), Names(snapshot))


def see_c(day: date, **more: Any) -> dict[str, Any]:
    return assess(day, competency="c", **more)


@pytest.mark.parametrize(
    ("rows", "on", "lead"),
    [
        (
            {"assessments": [DONE_A]},
            ON,
            "R by 2026-12-11: 1 of 3 courses done. The target is still reached in time.",
        ),
        (
            {},
            ON,
            "R by 2026-12-11: 0 of 3 courses done, 1 late. The target is expected on 2026-12-18, 7 days after the day "
            "agreed.",
        ),
        (
            {"assessments": [DONE_A, DONE_B, see_c(date(2026, 12, 11))]},
            date(2026, 12, 20),
            "R by 2026-12-11: 3 of 3 courses done. The target is reached.",
        ),
        (
            {"assessments": [DONE_A, DONE_B, see_c(date(2026, 12, 14))]},
            date(2026, 12, 20),
            "R by 2026-12-11: 3 of 3 courses done. All that was planned is held, but not on the day agreed, "
            "2026-12-11.",
        ),
        (
            {"agreed_courses": LATE_C, "assessments": [DONE_A]},
            ON,
            "R by 2026-11-20: 0 of 1 course done, 1 late. What is open does not lead to all of it: B.",
        ),
        (
            {"people": [{"id": "p", "name": "P", "study_hours_per_week": 0.0}]},
            ON,
            "R by 2026-12-11: 0 of 3 courses done, 1 late. Whether the target is still reached in time cannot be told.",
        ),
        ({"agreed_plans": [], "agreed_courses": []}, ON, "Nothing is agreed with P."),
    ],
)
def test_the_first_sentence_says_how_far_it_is_and_whether_it_is_in_time(
    rows: dict[str, Any], on: date, lead: str
) -> None:
    assert write(build(**rows), on).lead == lead


def test_what_has_to_be_renewed_before_the_day_agreed_is_told() -> None:
    # a and b are done; kc is to come until 11 December, and b lapses on the 5th
    seen = [DONE_A, assess(date(2026, 11, 27), competency="b", valid_until=date(2026, 12, 5))]
    sheet = write(build(competencies=build_competencies("a b c d", expiry="hard"), assessments=seen))
    assert sheet.lead.endswith("2 of 3 courses done. The target is still reached in time.")
    assert sheet.remarks == (
        "Course b is expected besides what is open, so that nothing lapses until then: it is not agreed.",
    )
    # what nothing teaches again is not held by then
    none = [{"course": i, "competency": i[1], "level": 2} for i in ("ka", "kc")]
    lost = write(build(competencies=build_competencies("a b c d", expiry="hard"), assessments=seen, outcomes=none))
    assert lost.lead.endswith("What is open does not lead to all of it: B.")


def test_what_is_late_comes_first_and_what_is_done_last() -> None:
    sheet = write(build(**book("kb", date(2026, 12, 3)), assessments=[see_c(date(2026, 12, 7))]), date(2026, 12, 2))
    table = next(part for part in sheet.parts if isinstance(part, Table))
    assert [getattr(row[1], "word", None) for row in table.rows] == ["late", "booked", "to come"]
    attended = book("ka", date(2026, 11, 19), state="attended")
    table = next(part for part in write(build(**attended)).parts if isinstance(part, Table))
    assert [getattr(row[1], "word", None) for row in table.rows] == ["under way", "to come", "done, to be assessed"]


def test_what_would_be_planned_today_is_told_by_how_much_it_differs() -> None:
    def tell(**rows: Any) -> str:
        return next(part.text for part in write(build(**rows)).parts if isinstance(part, Note))

    assert tell(assessments=[DONE_A]) == (
        "Planned anew today the best way takes 10 h, as much as what is open. It would end on 2026-12-11."
    )
    assert tell(**book("ka", date(2026, 11, 20), state="attended")).startswith(
        "Planned anew today the best way takes 15 h, 5 h more than what is open. It would end on 2026-12-18. It takes "
        "Course a besides."
    )
    assert tell(assessments=[DONE_A, assess(date(2026, 11, 20), competency="b")]) == (
        "Planned anew today the best way takes 5 h, 5 h less than what is open. It would end on 2026-12-04. It does "
        "without Course b."
    )
    far = [{"id": "plan", "person": "p", "role": "far", "agreed_on": AGREED_ON}]
    assert tell(agreed_plans=far) == (
        "Planned anew today courses lead to a part of it only: they take 0 h, 15 h less than what is open. It does "
        "without Course a, Course b and Course c."
    )
