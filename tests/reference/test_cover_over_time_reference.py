"""Cover over time, chance of cover and headcount against published rules and figures."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import ON, build_scale, build_snapshot

from ontology.analysis.cover.fragile_needs import compute_fragile_needs
from ontology.analysis.outlook.cover_timeline import compute_cover_timeline
from ontology.analysis.places.headcount import count_people_needed
from ontology.model.tables import TABLES
from ontology.model.validity import fill_valid_until
from ontology.snapshot.snapshot import Snapshot


def build_holders(people: int, minimum: int, competency: dict[str, Any], done: date) -> Snapshot:
    """Return a team of which everyone was certified on a day, valid as the competency's rule says."""
    certificate = {"id": "c", "label": "C", "scale": "s1", "kind": "certificate"} | competency
    record = TABLES["competencies"].build(**certificate)
    assessments = []
    for n in range(people):
        row = {"person": f"p{n}", "competency": "c", "level": 1, "date": done, "source": "certificate"}
        filled = fill_valid_until(TABLES["assessments"].build(**row), record)
        assessments.append(row | {"valid_until": filled.valid_until})
    return build_snapshot(
        scales=build_scale("s1", 1),
        competencies=[certificate],
        teams=[{"id": "t", "label": "Team"}],
        people=[{"id": f"p{n}", "name": f"p{n}", "team": "t"} for n in range(people)],
        assessments=assessments,
        cover_needs=[{"team": "t", "competency": "c", "level": 1, "minimum": minimum, "target": minimum}],
    )


@pytest.mark.parametrize(
    ("rule", "months", "done", "first_day_short"),
    [
        # 14 CFR 61.56(c): until the end of the 24th calendar month after the month of the flight review
        ("end-of-month", 24, date(2024, 1, 15), date(2026, 2, 1)),
        # 29 CFR 1910.178(l)(4)(iii): an evaluation at least once every three years
        ("same-day", 36, date(2023, 3, 10), date(2026, 3, 11)),
    ],
)
def test_hole_opens_on_the_day_after_the_last_the_rule_allows(
    rule: str, months: int, done: date, first_day_short: date
) -> None:
    snapshot = build_holders(1, 1, {"validity_months": months, "validity_rule": rule}, done)
    result = compute_cover_timeline(snapshot, "t", date(2026, 1, 1), to_date=date(2026, 12, 31))
    (hole,) = result.needs[0].holes
    assert (hole.from_date, hole.is_open) == (first_day_short, True)
    assert [change.on for change in result.changes] == [first_day_short]


@pytest.mark.parametrize(
    ("n", "k", "p", "chance", "digits"),
    [
        (4, 3, 0.9, 0.9477, 4),  # MIL-HDBK-338B, Electronic Reliability Design Handbook: three of four displays
        (3, 2, 0.9, 0.972, 3),  # k of n, recomputed
        (5, 3, 0.9, 0.99144, 5),
        (3, 1, 0.95, 0.999875, 6),
        (4, 2, 0.95, 0.999519, 6),
    ],
)
def test_chance_of_a_teams_need_is_that_of_k_out_of_n(n: int, k: int, p: float, chance: float, digits: int) -> None:
    snapshot = build_holders(n, k, {}, date(2026, 1, 1))
    (need,) = compute_fragile_needs(snapshot, "t", ON, absence_rate=1 - p).needs
    assert need.chance is not None
    assert round(need.chance, digits) == chance


@pytest.mark.parametrize(
    ("minimum", "manned_hours", "net_hours", "factor", "people"),
    [
        # a post round the clock, 24 x 365 h, at 1,752 h a person: the factor of five crews; common practice, no source
        (1, 8760, 1752, 5.0, 5),
        # the same at 1,600 h a person; figures of our own
        (1, 8760, 1600, 5.475, 6),
        # a post of eight hours on each day of the year, two at once
        (2, 2920, 1600, 3.65, 4),
        # eight hours on five days a week
        (1, 2080, 1600, 1.3, 2),
    ],
)
def test_people_for_a_post_are_hours_by_net_hours_of_a_person(
    minimum: int, manned_hours: float, net_hours: float, factor: float, people: int
) -> None:
    """Relief factor = hours a post is manned in a year / net annual work hours of a person.

    The definition is that of the US National Institute of Corrections, Staffing Analysis Workbook for Jails (Liebert &
    Miller, 2nd edition 2003), cited from memory; the arithmetic is recomputed.
    """
    quotient, needed = count_people_needed(minimum, manned_hours, net_hours)
    assert (quotient, needed) == (pytest.approx(factor), people)
