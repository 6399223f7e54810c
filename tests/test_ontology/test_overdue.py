"""What has been kept for long enough goes, and no level of any day that still matters changes with it."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

import pytest
from small_company import ON, build_scale, build_snapshot

from ontology.analysis.profiles.overdue import find_overdue
from ontology.analysis.profiles.own_levels import LevelOnDate, get_own_levels
from ontology.model.validity import add_months
from ontology.snapshot.snapshot import Snapshot

COMPETENCIES: list[dict[str, Any]] = [
    {"id": "skill", "label": "S", "scale": "s3"},
    {"id": "hard", "label": "H", "scale": "s3", "expiry": "hard", "safety": True},
    {"id": "review", "label": "R", "scale": "s3", "expiry": "review"},
    {"id": "cert", "label": "C", "scale": "s3", "kind": "certificate", "validity_months": 12},
    {"id": "fresh", "label": "F", "scale": "s3", "kind": "certificate", "validity_months": 12, "refresher_months": 9},
]


def build(*assessments: dict[str, Any], **person: Any) -> Snapshot:
    return build_snapshot(
        scales=build_scale("s3", 3),
        competencies=COMPETENCIES,
        people=[{"id": "p", "name": "P"} | person],
        assessments=[{"person": "p", "level": 2, "source": "assessor"} | one for one in assessments],
    )


def find(snapshot: Snapshot, months: int = 36) -> list[date]:
    found = find_overdue(snapshot, ON, people_months=12, assessments_months=months).assessments
    return [one.date for one in found]


def test_what_a_later_one_replaced_long_ago_goes_and_the_later_one_stays() -> None:
    snapshot = build(
        {"competency": "skill", "date": date(2015, 5, 1)},
        {"competency": "skill", "date": date(2018, 5, 1), "level": 1},
        {"competency": "skill", "date": date(2018, 5, 1), "source": "self"},
    )
    assert find(snapshot) == [date(2015, 5, 1)]
    assert find(snapshot, 0) == [], "0: kept without end"


def test_it_counts_from_the_day_it_was_replaced() -> None:
    replaced = [{"competency": "skill", "date": date(2015, 5, 1)}, {"competency": "skill", "date": date(2023, 11, 24)}]
    # on the day before it counted still; 36 months to 24 November 2026
    assert find(build(*replaced)) == [date(2015, 5, 1)]
    replaced[1]["date"] = date(2023, 11, 25)
    assert find(build(*replaced)) == []


def test_a_certificate_goes_after_it_ended_and_could_be_restored() -> None:
    for competency, last, is_gone in (
        ("cert", date(2023, 11, 23), True),
        ("cert", date(2023, 11, 24), False),
        ("fresh", date(2023, 2, 23), True),
        ("fresh", date(2023, 2, 24), False),
    ):
        row = {"competency": competency, "source": "certificate", "date": date(2022, 1, 1), "valid_until": last}
        assert bool(find(build(row))) is is_gone, (competency, last)


def test_what_counts_again_on_a_later_day_stays() -> None:
    """The higher certificate ends after the day that matters first; from then on the lower one is what is held."""
    higher = {"date": date(2016, 1, 1), "level": 3, "valid_until": date(2025, 1, 1)}
    lower = {"date": date(2015, 1, 1), "level": 1, "valid_until": date(2030, 1, 1)}
    rows = [{"competency": "cert", "source": "certificate"} | one for one in (higher, lower)]
    assert find(build(*rows)) == []


def test_what_was_taken_back_goes_by_that_day() -> None:
    row = {"competency": "skill", "date": date(2015, 5, 1), "withdrawn_on": date(2023, 11, 23)}
    assert find(build(row)) == [date(2015, 5, 1)]
    assert find(build(row | {"withdrawn_on": date(2023, 11, 24)})) == []


def test_an_older_one_does_not_count_again() -> None:
    """Where an assessor's word limits a manager's it stays; so does the later one that has ended, or it would rise."""
    rows = [
        {"competency": "hard", "date": date(2015, 5, 1), "level": 3},
        {
            "competency": "hard",
            "date": date(2016, 5, 1),
            "level": 2,
            "source": "manager",
            "valid_until": date(2017, 5, 1),
        },
    ]
    snapshot = build(*rows)
    (level,) = get_own_levels(snapshot, "p", [snapshot.competencies["hard"]], ON)
    assert (level.level, level.state) == (0, "lapsed")
    assert find(snapshot) == []


def test_people_go_some_months_after_their_last_day() -> None:
    for last, gone in ((date(2025, 11, 23), ("p",)), (date(2025, 11, 24), ()), (None, ())):
        snapshot = build({"competency": "skill", "date": date(2015, 5, 1)}, end_date=last)
        assert find_overdue(snapshot, ON, people_months=12, assessments_months=36).people == gone
        assert find_overdue(snapshot, ON, people_months=0, assessments_months=36).people == ()


def draw(seed: int) -> list[dict[str, Any]]:
    rng, rows = random.Random(seed), {}
    for _ in range(rng.randint(1, 9)):
        competency = rng.choice(COMPETENCIES)["id"]
        source = rng.choice(["certificate", "assessor", "manager", "self"])
        day = ON - timedelta(days=rng.randint(0, 3000))
        row = {"competency": competency, "date": day, "source": source, "level": rng.randint(0, 3)}
        row |= {"valid_until": day + timedelta(days=rng.randint(10, 1500))} if rng.random() < 0.6 else {}
        row |= {"withdrawn_on": day + timedelta(days=rng.randint(0, 900))} if rng.random() < 0.2 else {}
        rows[competency, day, source] = row
    return list(rows.values())


def tell(level: LevelOnDate) -> tuple[Any, ...]:
    """Return what must not change: a level that has ended may be forgotten."""
    held = level.level if level.state in ("ok", "review-due") else None
    return held, level.basis if held is not None else None, level.declared, level.renewable_level


@pytest.mark.parametrize("seed", range(120))
def test_no_level_of_the_days_that_matter_changes(seed: int) -> None:
    before = build(*draw(seed))
    cutoff = add_months(ON, -36)
    found = find_overdue(before, ON, people_months=12, assessments_months=36).assessments
    gone = [("assessments", (a.person, a.competency, a.date, a.source, a.assessor, a.level)) for a in found]
    after = before.with_changes((), gone)
    assert len(after.get_table("assessments")) == len(before.get_table("assessments")) - len(found)
    assert all(max(one.date, one.withdrawn_on or one.date) < cutoff for one in found)
    competencies = list(before.competencies.values())
    for days in range(0, (ON - cutoff).days + 400, 9):
        day = cutoff + timedelta(days=days)
        was, now = (get_own_levels(state, "p", competencies, day) for state in (before, after))
        assert list(map(tell, was)) == list(map(tell, now)), day
    assert find_overdue(after, ON, people_months=12, assessments_months=36).assessments == ()
