"""Practice of a team: twelve months, who falls below when, what is left to share; worked out by hand.

Common practice, no source: so many times in the last twelve months keep someone current.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.cover.practice_counts import find_practice, find_window_begin, get_practice_ceiling
from ontology.analysis.cover.team_practice import NeedPractice, find_team_practice
from ontology.errors import UnknownIdError
from ontology.model.records import CoverNeed
from ontology.snapshot.snapshot import Snapshot

D = date
DAYS = [(2025, 11, 24), (2025, 11, 25), (2026, 1, 31), (2026, 6, 15), (2026, 11, 24), (2026, 11, 25)]


def build(practices: list[dict[str, Any]], *, asked: float | None = 3.0, **need: Any) -> Snapshot:
    row = {"team": "t", "competency": "rescue", "level": 2} | need
    held = [
        {"person": person, "competency": "rescue", "level": level, "date": D(2025, 1, 1), "source": "assessor"}
        for person, level in (("a", 2), ("b", 3), ("c", 1))
    ]
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("rescue", practices_per_year=asked),
        teams=[{"id": "t", "label": "T"}],
        shifts=[{"id": i, "team": "t", "label": i} for i in ("day", "night")],
        people=[
            {"id": "a", "name": "A", "team": "t", "shift": "day"},
            {"id": "b", "name": "B", "team": "t", "shift": "night"},
            {"id": "c", "name": "C", "team": "t", "shift": "night"},
        ],
        assessments=held,
        cover_needs=[row],
        practices=[{"competency": "rescue"} | practice for practice in practices],
    )


def practise(person: str, *days: tuple[int, int, int], **more: Any) -> list[dict[str, Any]]:
    return [{"person": person, "date": D(*day)} | more for day in days]


def find_need(snapshot: Snapshot, on: date = ON) -> NeedPractice:
    (need,) = find_team_practice(snapshot, "t", on).needs
    return need


def test_the_twelve_months_begin_after_the_same_day_of_the_year_before_and_end_with_the_day() -> None:
    """2025-11-24 is out, 2025-11-25 in, the day itself in, the day after it not done yet."""
    snapshot = build(practise("a", *DAYS))
    a, b = find_need(snapshot).people
    assert (a.person, a.count, a.last_day) == ("a", 4, D(2026, 11, 24))
    assert (b.person, b.count, b.last_day, b.state) == ("b", 0, None, "below")
    assert find_team_practice(snapshot, "t", ON).from_date == D(2025, 11, 25)


def test_who_falls_below_does_so_on_the_first_day_whose_months_hold_too_few() -> None:
    """Four are known and three asked: without the one of 2025-11-25 three are left, without 2026-01-31 two."""
    a, _ = find_need(build(practise("a", *DAYS))).people
    assert (a.falls_below_on, a.state) == (D(2027, 1, 31), "soon")
    early, _ = find_need(build(practise("a", *DAYS)), D(2026, 11, 2)).people
    # on that day 2025-11-24 and -25 and two more are known, 2026-11-24 not yet
    assert (early.count, early.falls_below_on, early.state) == (4, D(2026, 11, 25), "soon")


def test_soon_is_within_ninety_days() -> None:
    days = [(2026, 2, 22), (2026, 6, 15), (2026, 6, 16)]
    at_90, _ = find_need(build(practise("a", *days))).people
    at_91, _ = find_need(build(practise("a", (2026, 2, 23), *days[1:]))).people
    assert (at_90.falls_below_on, at_90.state) == (D(2027, 2, 22), "soon")
    assert (at_91.falls_below_on, at_91.state) == (D(2027, 2, 23), "current")


def test_several_times_a_day_count_each() -> None:
    a, _ = find_need(build(practise("a", (2026, 1, 31), count=3))).people
    assert (a.count, a.falls_below_on) == (3, D(2027, 1, 31))
    none, _ = find_need(build(practise("a", (2026, 1, 31), count=0))).people
    assert (none.count, none.last_day) == (0, None)


@pytest.mark.parametrize(
    ("done", "below_from"),
    [
        (D(2023, 2, 28), D(2024, 2, 28)),
        (D(2024, 2, 28), D(2025, 2, 28)),
        (D(2024, 2, 29), D(2025, 3, 1)),  # the months up to 28 February 2025 begin on 29 February 2024
        (D(2024, 3, 1), D(2025, 3, 1)),
        (D(9998, 12, 31), D(9999, 12, 31)),
        (D(9999, 1, 1), None),
    ],
)
def test_last_day_that_counts_is_that_before_the_day_a_year_on(done: date, below_from: date | None) -> None:
    snapshot = build([{"person": "a", "date": done}], asked=1.0)
    competency = snapshot.competencies["rescue"]
    assert find_practice(snapshot, "a", competency, done).falls_below_on == below_from


def test_the_first_days_of_the_calendar_have_what_there_is_of_a_year() -> None:
    assert find_window_begin(D(1, 6, 1)) == D(1, 1, 1)
    assert find_window_begin(D(2024, 2, 29)) == D(2023, 3, 1)
    assert find_window_begin(D(2025, 2, 28)) == D(2024, 2, 29)


def test_occasions_left_are_those_of_a_year_less_what_the_qualified_did() -> None:
    practices = practise("a", *DAYS) + practise("b", (2026, 3, 3)) + practise("c", (2026, 3, 3), (2026, 3, 4))
    need = find_need(build(practices, occasions_per_year=12.5))
    assert (need.done, need.occasions_left, need.ceiling) == (5, 7.5, 4)
    assert find_need(build(practices, occasions_per_year=2.0)).occasions_left == 0
    untold = find_need(build(practices))
    assert (untold.occasions_left, untold.ceiling) == (None, None)


def test_need_for_each_shift_is_told_for_each_with_its_own_occasions() -> None:
    practices = practise("a", *DAYS) + practise("b", (2026, 3, 3))
    snapshot = build(practices, applies="each-shift", occasions_per_year=12.0)
    told = find_team_practice(snapshot, "t", ON).needs
    assert [(n.shift, [p.person for p in n.people], n.occasions_left) for n in told] == [
        ("day", ["a"], 8),
        ("night", ["b"], 11),
    ]


@pytest.mark.parametrize("asked", [None, 0.0])
def test_where_no_practice_is_asked_nobody_falls_below(asked: float | None) -> None:
    need = find_need(build(practise("a", *DAYS), asked=asked, occasions_per_year=12.0))
    assert [(p.count, p.state, p.falls_below_on) for p in need.people] == [
        (4, "not-asked", None),
        (0, "not-asked", None),
    ]
    assert (need.occasions_left, need.ceiling) == (8, None)


def test_practice_that_nobody_records_is_remarked_on_and_so_are_more_holders_than_it_keeps_current() -> None:
    unknown = find_team_practice(build([], occasions_per_year=5.0), "t", ON)
    assert unknown.remarks == (
        "No practice of anyone is recorded yet: 0 says nothing about what was done.",
        "rescue at level 2 comes up often enough to keep 1 current; 2 hold it.",
    )
    assert find_team_practice(build(practise("c", (2026, 3, 3)), occasions_per_year=6.0), "t", ON).remarks == ()


def test_unknown_team_is_an_error() -> None:
    with pytest.raises(UnknownIdError):
        find_team_practice(build([]), "u", ON)


@pytest.mark.parametrize(("occasions", "practices", "ceiling"), [(0.3, 0.1, 3), (10.0, 4.0, 2), (1.0, 2.0, 0)])
def test_ceiling_is_whole_holders_from_the_decimals_written(occasions: float, practices: float, ceiling: int) -> None:
    snapshot = build([], asked=practices, occasions_per_year=occasions)
    need: CoverNeed = snapshot.get_cover_needs("t")[0]
    assert get_practice_ceiling(snapshot, need) == ceiling


def test_coverage_remarks_on_who_is_qualified_and_practises_too_little_and_stays_as_it_is() -> None:
    practices = practise("a", *DAYS) + practise("b", (2026, 3, 3))
    snapshot = build(practices, applies="each-shift")
    found = compute_coverage(snapshot, "t", ON)
    assert found.remarks == (
        "b is qualified for rescue at level 2 and counts for it, but did it 1 time in the twelve months up to "
        "2026-11-24: 3 keep someone current.",
    )
    assert compute_coverage(build([], applies="each-shift"), "t", ON).needs == found.needs
    assert compute_coverage(build(practices, asked=1.0), "t", ON).remarks == ()
    assert compute_coverage(build(practices, asked=None), "t", ON).remarks == ()


def test_coverage_says_nothing_of_practice_that_nobody_records() -> None:
    assert compute_coverage(build([]), "t", ON).remarks == ()
    # who else practises something shows that practice is kept
    assert len(compute_coverage(build(practise("c", (2020, 1, 1))), "t", ON).remarks) == 2
