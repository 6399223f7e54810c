"""The chart: who holds, who is due until when, who is not planned, and whom a row does not count."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from small_company import ON
from small_team import Rows, build_team, build_team_rows

from ontology.analysis.training.cross_training import plan_cross_training
from ontology.analysis.training.training_chart import TrainingChart, build_training_chart

COURSES: Rows = {
    "courses": [{"id": "a2", "label": "a2", "hours": 8.0}],
    "outcomes": [{"course": "a2", "competency": "a", "level": 2}],
}


def chart(rows: Rows, *, show: Any = "needs", due: Any = "day", tolerance: int | None = None) -> TrainingChart:
    snapshot = build_team(rows, **COURSES)
    return build_training_chart(
        snapshot, plan_cross_training(snapshot, "t", ON, tolerance=tolerance), show=show, due=due
    )


def get_states(shown: TrainingChart) -> list[list[str]]:
    return [[cell.state for cell in row.cells] for row in shown.rows]


def test_each_cell_says_holds_due_or_not_planned() -> None:
    rows = build_team_rows(p={"a": 3}, q={}, r={})
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 2, "target": 2}]
    shown = chart(rows)
    assert [person.id for person in shown.people] == ["p", "q", "r"]
    assert get_states(shown) == [["holds", "due", "not-planned"]]
    (row,) = shown.rows
    assert row.cells[1].due == ON + timedelta(days=2)
    assert (row.wanted, row.holders, row.holders_planned) == (2, 1, 2)


def test_a_date_can_be_the_last_day_of_its_month() -> None:
    rows = build_team_rows(q={})
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 2, "target": 1}]
    assert chart(rows, due="month-end").rows[0].cells[0].due == date(2026, 11, 30)


def test_a_need_of_a_shift_does_not_count_the_others() -> None:
    rows = build_team_rows(p={}, q={"a": 2}, r={})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late")]
    rows["people"][0]["shift"] = "late"
    rows["people"][1]["shift"] = "early"
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 2, "target": 1, "applies": "each-shift"}]
    shown = chart(rows)
    assert [(person.id, person.shift) for person in shown.people] == [("r", ""), ("q", "early"), ("p", "late")]
    assert [row.shift for row in shown.rows] == ["early", "late"]
    assert get_states(shown) == [["not-counted", "holds", "not-counted"], ["not-counted", "not-counted", "due"]]


def test_a_certificate_shows_its_last_day() -> None:
    rows = build_team_rows(p={})
    rows["competencies"][0] |= {"kind": "certificate", "expiry": "hard"}
    until = ON + timedelta(days=40)
    held = {"person": "p", "competency": "a", "level": 2, "date": ON, "source": "certificate", "valid_until": until}
    rows["assessments"] = [held]
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 2, "target": 1}]
    (cell,) = chart(rows).rows[0].cells
    assert (cell.state, cell.until) == ("holds", until)


def test_a_job_asks_all_levels_of_its_role_and_counts_the_places() -> None:
    rows = build_team_rows(p={"b": 1}, q={"a": 2, "b": 1}, r={})
    rows["roles"] = [{"id": "ra", "label": "ra"}, {"id": "rx", "label": "rx"}]
    rows["requirements"] = [
        {"role": "ra", "competency": "a", "level": 4, "unsupervised_level": 2, "entry_level": 1},
        {"role": "ra", "competency": "b", "level": 1},
        {"role": "ra", "competency": "c", "level": 5, "necessity": "desirable"},
    ]
    rows["places"] = [
        {"id": "one", "team": "t", "role": "ra", "count": 2},
        {"id": "two", "team": "t", "role": "rx"},
    ]
    shown = chart(rows, show="jobs", tolerance=0)
    assert [(row.role, row.wanted) for row in shown.rows] == [("ra", 2), ("rx", 1)]
    assert get_states(shown) == [["due", "holds", "not-planned"], ["not-counted"] * 3]
    assert [row.kind for row in chart(rows, show="all", tolerance=0).rows] == ["job", "job"]


def build_job_rows(**levels: dict[str, int]) -> Rows:
    """Return a team with a job that asks for a and b at level 2."""
    rows = build_team_rows(**levels)
    rows["roles"] = [{"id": "rab", "label": "rab"}]
    rows["requirements"] = [{"role": "rab", "competency": i, "level": 2} for i in "ab"]
    rows["places"] = [{"id": i, "team": "t", "role": "rab"} for i in ("one", "two")]
    return rows


def test_a_job_is_due_with_the_last_of_its_levels_and_counts_all_its_places() -> None:
    rows = build_job_rows(p={})
    rows["courses"] = [{"id": "b2", "label": "b2", "hours": 8.0}]
    rows["outcomes"] = [{"course": "b2", "competency": "b", "level": 2}]
    rows["cover_needs"] = [{"team": "t", "competency": i, "level": 2, "target": 1} for i in "ab"]
    (row,) = chart(rows, show="jobs").rows
    assert (row.wanted, row.cells[0].state, row.cells[0].due) == (2, "due", ON + timedelta(days=3))


def test_a_job_is_held_until_the_first_of_its_certificates_ends() -> None:
    rows = build_job_rows(p={})
    for competency in rows["competencies"]:
        competency |= {"kind": "certificate", "expiry": "hard"}
    rows["assessments"] = [
        {"person": "p", "competency": i, "level": 2, "date": ON, "source": "certificate"}
        | {"valid_until": ON + timedelta(days=days)}
        for i, days in (("a", 40), ("b", 20))
    ]
    (row,) = chart(rows, show="jobs").rows
    assert (row.cells[0].state, row.cells[0].until) == ("holds", ON + timedelta(days=20))


def test_who_starts_leaves_or_is_assessed_meanwhile_is_counted_on_the_day_after_the_plan() -> None:
    rows = build_team_rows(p={}, q={"a": 2}, r={"a": 2}, s={})
    rows["people"][1]["end_date"] = ON + timedelta(days=1)
    rows["people"][2]["start_date"] = ON + timedelta(days=1)
    later = {"person": "s", "competency": "a", "level": 2, "date": ON + timedelta(days=2), "source": "assessor"}
    rows["assessments"].append(later)
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": 2, "target": 2}]
    shown = chart(rows)
    assert shown.after_on == ON + timedelta(days=2)
    days = {person.id: (person.starts_on, person.ends_on) for person in shown.people}
    assert days == {
        "p": (None, None),
        "q": (None, ON + timedelta(days=1)),
        "r": (ON + timedelta(days=1), None),
        "s": (None, None),
    }
    (row,) = shown.rows
    assert [(cell.state, cell.due) for cell in row.cells] == [
        ("due", ON + timedelta(days=2)),
        ("holds", None),
        ("later", ON + timedelta(days=1)),
        ("later", ON + timedelta(days=2)),
    ]
    assert (row.holders, row.holders_planned) == (1, 3)


def test_a_level_is_held_until_that_of_the_row_ends() -> None:
    rows = build_team_rows(p={})
    rows["competencies"][0] |= {"kind": "certificate", "expiry": "hard"}
    rows["assessments"] = [
        {"person": "p", "competency": "a", "level": level, "date": ON, "source": "certificate"}
        | {"valid_until": ON + timedelta(days=days)}
        for level, days in ((2, 20), (1, 40))
    ]
    rows["cover_needs"] = [{"team": "t", "competency": "a", "level": level, "target": 1} for level in (1, 2)]
    assert [row.cells[0].until for row in chart(rows).rows] == [ON + timedelta(days=days) for days in (40, 20)]
