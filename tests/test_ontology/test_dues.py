"""When what must be held is due, how it stands, and what to do first, case by case."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.obligations.due_lists import find_person_obligations, find_team_obligations
from ontology.analysis.obligations.rows import ObligationRow
from ontology.model.tables import TABLES
from ontology.model.validity import fill_valid_until
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)
DAY = timedelta(days=1)
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale("held", 3),
    "competencies": [
        {"id": "card", "label": "Card", "scale": "held", "kind": "certificate", "refresher_months": 6},
        {"id": "skill", "label": "Skill", "scale": "held", "expiry": "review"},
    ],
    "people": [{"id": "p", "name": "P", "start_date": D(2020, 1, 1)}],
    "obligations": [{"id": "o", "label": "O", "competency": "card"}],
}


def build(*assessments: dict[str, Any], **more: Any) -> Snapshot:
    return build_snapshot(**(ROWS | {"assessments": list(assessments)} | more))


def seen(done: date, until: date | None = None, competency: str = "card", **more: Any) -> dict[str, Any]:
    row = {"person": "p", "competency": competency, "level": 1, "date": done, "source": "certificate"}
    return row | {"valid_until": until} | more


def get_row(snapshot: Snapshot, on: date = ON) -> ObligationRow:
    (row,) = find_person_obligations(snapshot, "p", on=on).rows
    return row


def ask_skill(*assessments: dict[str, Any], level: int = 1, **more: Any) -> ObligationRow:
    asked = [{"id": "o", "label": "O", "competency": "skill", "level": level}]
    return get_row(build(*assessments, obligations=asked, **more))


def test_due_is_the_last_valid_day_and_the_day_after_is_bad() -> None:
    """Trap 2: valid until 2026-12-20 is met on that day and not on the next."""
    snapshot = build(seen(D(2025, 12, 20), D(2026, 12, 20)))
    last = get_row(snapshot, D(2026, 12, 20))
    assert (last.state, last.due, last.days_left, last.is_met) == ("within-30", D(2026, 12, 20), 0, True)
    after = get_row(snapshot, D(2026, 12, 21))
    assert (after.state, after.due, after.days_left, after.is_met) == ("overdue", D(2026, 12, 20), -1, False)


@pytest.mark.parametrize(
    ("days", "state"),
    [(0, "within-30"), (30, "within-30"), (31, "within-60"), (60, "within-60"), (61, "within-90"), (90, "within-90")],
)
def test_state_is_the_first_that_the_days_left_fit(days: int, state: str) -> None:
    assert get_row(build(seen(D(2026, 1, 1), ON + days * DAY))).state == state


def test_beyond_ninety_days_it_is_current_or_later() -> None:
    assert get_row(build(seen(D(2026, 1, 1), ON + 91 * DAY))).state == "current"
    later = [{"id": "o", "label": "O", "competency": "card", "from_date": ON + 91 * DAY}]
    row = get_row(build(obligations=later))
    assert (row.state, row.due, row.first_act) == ("later", ON + 91 * DAY, "none")
    row = get_row(build(seen(D(2026, 1, 1))))
    assert (row.state, row.due, row.days_left, row.first_act, row.last_day_to_act) == ("current", *[None] * 4)
    assert not row.is_late


def test_what_must_be_held_today_for_the_last_time_is_overdue_where_it_is_not() -> None:
    asked = [{"id": "o", "label": "O", "competency": "card", "from_date": D(2026, 11, 1), "to_date": ON}]
    row = get_row(build(obligations=asked))
    assert (row.state, row.due, row.is_met) == ("overdue", D(2026, 11, 1), False)


def test_who_begins_today_without_it_is_not_overdue_yet() -> None:
    people = [{"id": "p", "name": "P", "start_date": ON}]
    assert (get_row(build(people=people)).state, get_row(build(people=people)).due) == ("within-30", ON)
    assert get_row(build(people=people), ON + DAY).state == "overdue"


def test_what_is_dated_after_the_day_asked_about_is_not_known_on_it() -> None:
    """Days after the day asked about are judged by what is dated up to it."""
    snapshot = build(seen(D(2026, 1, 1), D(2026, 12, 1)), seen(D(2026, 11, 20), D(2027, 11, 20)))
    assert get_row(snapshot).due == D(2026, 12, 1)
    assert get_row(snapshot, D(2026, 11, 20)).due == D(2027, 11, 20)


def test_what_was_withdrawn_counts_nowhere() -> None:
    snapshot = build(seen(D(2026, 1, 1), D(2027, 1, 1), withdrawn_on=D(2026, 6, 1)))
    assert (get_row(snapshot).state, get_row(snapshot).due) == ("overdue", D(2020, 1, 1))


def test_due_inside_an_absence_moves_to_the_first_day_back_over_all_that_touch() -> None:
    absences = [
        {"person": "p", "from_date": D(2026, 12, 15), "to_date": D(2026, 12, 20)},
        {"person": "p", "from_date": D(2026, 12, 21), "to_date": D(2026, 12, 24)},
        {"person": "p", "from_date": D(2026, 12, 26), "to_date": D(2026, 12, 30)},
    ]
    assert get_row(build(seen(D(2025, 12, 20), D(2026, 12, 20)), absences=absences)).due == D(2026, 12, 25)
    within = [{"person": "p", "from_date": D(2026, 12, 16), "to_date": D(2026, 12, 17)}]
    around = [{"person": "p", "from_date": D(2026, 12, 15), "to_date": D(2026, 12, 30)}]
    assert get_row(build(seen(D(2025, 12, 20), D(2026, 12, 20)), absences=[*around, *within])).due == D(2026, 12, 31)
    # the last valid day lies before the absence: it stays
    assert get_row(build(seen(D(2025, 12, 14), D(2026, 12, 14)), absences=absences)).due == D(2026, 12, 14)


def test_review_that_is_due_is_not_met_although_the_level_stays() -> None:
    row = ask_skill(seen(D(2025, 1, 1), D(2026, 1, 1), "skill", source="assessor"))
    assert (row.is_met, row.state, row.due, row.first_act) == (False, "overdue", D(2026, 1, 1), "assess")
    assert (row.last_day_to_act, row.is_late) == (row.due, True)


def test_first_act_is_to_assess_what_nobody_knows() -> None:
    assert ask_skill().first_act == "assess"
    held = ask_skill(seen(D(2026, 1, 1), D(2026, 12, 1), "skill", source="assessor"))
    assert (held.first_act, held.last_day_to_act, held.is_late) == ("assess", D(2026, 12, 1), False)


COURSES: dict[str, list[dict[str, Any]]] = {
    "courses": [
        {"id": "long", "label": "Long", "hours": 9.0},
        {"id": "a-dear", "label": "Dear", "hours": 8.0, "cost": 2.0},
        {"id": "cheap-b", "label": "Cheap b", "hours": 8.0, "cost": 1.0},
        {"id": "cheap-a", "label": "Cheap a", "hours": 8.0, "cost": 1.0},
        {"id": "closed", "label": "Closed", "hours": 1.0},
        {"id": "short", "label": "Short", "hours": 2.0},
        {"id": "low", "label": "Low", "hours": 1.0},
    ],
    "outcomes": [
        *({"course": i, "competency": "card", "level": 2} for i in ("long", "a-dear", "cheap-b", "cheap-a", "closed")),
        {"course": "short", "competency": "card", "level": 2, "renews": True},
        {"course": "low", "competency": "card", "level": 1},
    ],
    "entry_conditions": [{"course": "closed", "competency": "skill", "level": 1}],
}
ASKS_TWO: list[dict[str, Any]] = [{"id": "o", "label": "O", "competency": "card", "level": 2}]


def test_course_is_the_one_with_the_fewest_hours_then_the_least_cost_then_by_id() -> None:
    row = get_row(build(obligations=ASKS_TWO, **COURSES))
    assert (row.first_act, row.course) == ("learn", "cheap-a")
    skilled = seen(D(2026, 1, 1), None, "skill", source="assessor")
    assert get_row(build(skilled, obligations=ASKS_TWO, **COURSES)).course == "closed"


def test_refresher_is_for_who_holds_its_level_or_lost_it_lately_enough() -> None:
    def choose(until: date) -> tuple[str | None, str | None]:
        row = get_row(build(seen(D(2020, 1, 1), until, level=2), obligations=ASKS_TWO, **COURSES))
        return row.first_act, row.course

    assert choose(D(2026, 12, 1)) == ("renew", "short")
    assert choose(D(2026, 5, 16)) == ("renew", "short")  # six months ago to the day
    assert choose(D(2026, 5, 15)) == ("learn", "cheap-a")


def test_no_single_course_is_said_and_is_late_once_the_due_day_has_passed() -> None:
    row = get_row(build())
    assert (row.first_act, row.course, row.last_day_to_act, row.is_late) == ("none", None, None, True)
    assert "learning path" in row.reason


def test_what_counts_as_it_meets_it() -> None:
    """An equivalence in force gives the level; when it ends, that is the last valid day."""
    equivalence = {"competency": "skill", "counts_as": "card", "to_date": D(2026, 12, 31)}
    row = get_row(build(seen(D(2026, 1, 1), None, "skill", source="assessor"), equivalences=[equivalence]))
    assert (row.is_met, row.due, row.source, row.assessed_on) == (True, D(2026, 12, 31), "assessor", D(2026, 1, 1))


def test_who_is_not_appointed_is_told_and_meets_it_all_the_same() -> None:
    competencies = [ROWS["competencies"][0] | {"appointment": True}]
    held = seen(D(2026, 1, 1))
    row = get_row(build(held, competencies=competencies))
    assert (row.is_met, row.is_appointed) == (True, False)
    named = [{"person": "p", "competency": "card", "from_date": ON}]
    assert get_row(build(held, competencies=competencies, appointments=named)).is_appointed
    assert get_row(build(held)).is_appointed is None


RESCUE: list[dict[str, Any]] = [
    {"id": "mask", "label": "Mask", "scale": "held", "kind": "certificate"},
    {"id": "rescue", "label": "Rescue", "scale": "held", "kind": "certificate", "holds_while": ("mask",)},
]


def test_what_is_suspended_is_restored_by_what_it_hangs_on() -> None:
    """Rescue to 2028-01-10 holds while mask, held to 2026-09-01: on 2026-10-05 it is suspended. Worked example."""
    asked = [{"id": "o", "label": "O", "competency": "rescue"}]
    held = [seen(D(2024, 1, 10), D(2028, 1, 10), "rescue"), seen(D(2025, 9, 1), D(2026, 9, 1), "mask")]
    snapshot = build(*held, competencies=RESCUE, obligations=asked)
    rows = {row.competency: row for row in find_person_obligations(snapshot, "p", on=D(2026, 10, 5)).rows}
    assert (rows["rescue"].state, rows["rescue"].due, rows["rescue"].first_act) == (
        "overdue",
        D(2026, 9, 1),
        "restore",
    )
    assert rows["rescue"].reason == (
        "Rescue at level 1 has not counted since 2026-09-02, because it holds only together with Mask; renew Mask."
    )
    assert (rows["mask"].due, rows["mask"].first_act) == (D(2026, 9, 1), "none")
    renewed = build(*held, seen(D(2026, 10, 8), None, "mask"), competencies=RESCUE, obligations=asked)
    rows = {row.competency: row for row in find_person_obligations(renewed, "p", on=D(2026, 10, 8)).rows}
    assert [(rows[i].state, rows[i].is_met) for i in ("rescue", "mask")] == [("current", True)] * 2


def test_what_has_ended_itself_is_not_restored() -> None:
    """Suspended and over: what it hangs on does not bring it back."""
    asked = [{"id": "o", "label": "O", "competency": "rescue"}]
    held = [seen(D(2024, 1, 10), D(2026, 1, 10), "rescue"), seen(D(2025, 9, 1), D(2026, 9, 1), "mask")]
    snapshot = build(*held, competencies=RESCUE, obligations=asked)
    rows = {row.competency: row for row in find_person_obligations(snapshot, "p", on=ON).rows}
    assert (rows["rescue"].due, rows["rescue"].first_act) == (D(2026, 1, 10), "none")


def test_legal_basis_is_told_once_and_an_empty_one_not_at_all() -> None:
    asked = [
        {"id": i, "label": i, "competency": "card", "legal_basis": law} for i, law in ("aA", "bB", "cA", ("d", ""))
    ]
    assert get_row(build(obligations=asked)).legal_basis == ("A", "B")


def test_rows_stand_by_state_then_due_then_person_then_competency() -> None:
    people = [{"id": i, "name": i, "team": "t"} | more for i, more in (("b", {}), ("a", {"start_date": D(2026, 1, 1)}))]
    asked = [{"id": i, "label": i, "competency": i} for i in ("skill", "card")]
    ends = [{**seen(D(2026, 1, 1), D(2026, 12, 1), "skill", source="assessor"), "person": "b"}]
    ends += [{**seen(D(2026, 1, 1)), "person": "a"}]
    teams = [{"id": "t", "label": "T"}]
    rows = find_team_obligations(build(*ends, people=people, teams=teams, obligations=asked), "t", on=ON).rows
    assert [(row.person, row.competency, row.state, row.due) for row in rows] == [
        ("b", "card", "overdue", None),
        ("a", "skill", "overdue", D(2026, 1, 1)),
        ("b", "skill", "within-30", D(2026, 12, 1)),
        ("a", "card", "current", None),
    ]


@pytest.mark.parametrize(
    ("months", "rule", "done", "due"),
    [(24, "end-of-month", D(2024, 1, 15), D(2026, 1, 31)), (36, "same-day", D(2024, 1, 15), D(2027, 1, 15))],
    ids=["flight review", "truck operator"],
)
def test_validity_by_published_rules_is_the_due_day(months: int, rule: str, done: date, due: date) -> None:
    """14 CFR 61.56(c): a flight review lasts to the end of the 24th month after it. 29 CFR 1910.178(l)(4)(iii): an
    evaluation of each powered industrial truck operator's performance at least once every three years."""
    competency = TABLES["competencies"].build(
        id="card", label="Card", scale="held", kind="certificate", validity_months=months, validity_rule=rule
    )
    assessment = fill_valid_until(TABLES["assessments"].build(**seen(done)), competency)
    snapshot = build().with_changes(put=[("competencies", competency), ("assessments", assessment)])
    last = get_row(snapshot, due)
    assert (last.due, last.state, last.is_met) == (due, "within-30", True)
    assert get_row(snapshot, due + DAY).state == "overdue"
