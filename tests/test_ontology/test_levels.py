"""Level on a date: who counts, until when, and what is only shown."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles.levels import get_level
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.analysis.profiles.profile import build_profile, build_role_profile

D = date


def level_of(rows: list[dict[str, Any]], on: date = ON, **competency: Any) -> LevelOnDate:
    """Return the level of person p in competency c, given assessment rows."""
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("c", **competency),
        people=[{"id": "p", "name": "P. Erson"}],
        assessments=[{"person": "p", "competency": "c"} | row for row in rows],
    )
    return get_level(snapshot, "p", snapshot.competencies["c"], on)


def test_not_assessed_is_not_level_zero() -> None:
    known = level_of([])
    assert (known.level, known.state) == (None, "not-assessed")


def test_the_latest_assessment_counts_even_when_it_is_lower() -> None:
    rows = [
        {"level": 4, "date": D(2025, 1, 1), "source": "assessor"},
        {"level": 2, "date": D(2026, 1, 1), "source": "manager"},
    ]
    assert level_of(rows).level == 2


def test_assessments_after_the_asked_date_do_not_count() -> None:
    rows = [
        {"level": 2, "date": D(2025, 1, 1), "source": "assessor"},
        {"level": 4, "date": D(2026, 11, 25), "source": "assessor"},
    ]
    assert level_of(rows).level == 2
    assert level_of(rows, on=D(2026, 11, 25)).level == 4
    assert level_of(rows, on=D(2024, 12, 31)).level is None


def test_on_one_day_certificate_goes_before_assessor_before_manager() -> None:
    day = D(2026, 1, 1)
    rows = [
        {"level": 5, "date": day, "source": "manager"},
        {"level": 3, "date": day, "source": "assessor"},
        {"level": 1, "date": day, "source": "certificate"},
    ]
    assert level_of(rows).level == 1
    assert level_of(rows[:2]).level == 3


def test_same_source_and_day_takes_the_lower_with_a_remark() -> None:
    rows = [{"level": n, "date": D(2026, 1, 1), "source": "assessor", "assessor": "a"} for n in (4, 2, 3)]
    known = level_of(rows)
    assert known.level == 2
    assert "several levels" in known.remarks[0]


@pytest.mark.parametrize("expiry", ["hard", "review"])
@pytest.mark.parametrize("longer", ["a", "z"])
def test_of_equal_ratings_by_two_assessors_the_one_that_counts_longest_is_the_basis(longer: str, expiry: str) -> None:
    row = {"level": 2, "date": D(2026, 1, 1), "source": "assessor"}
    rows = [
        row | {"assessor": assessor, "valid_until": D(2026, 12, 31) if assessor == longer else D(2026, 6, 30)}
        for assessor in ("a", "z")
    ]
    known = level_of(rows, expiry=expiry)
    assert (known.level, known.state, known.remarks) == (2, "ok", ())
    without_end = [row | {"assessor": "b"}, *rows]
    assert level_of(without_end, on=D(2027, 1, 1), expiry=expiry).state == "ok"


def test_self_and_unstated_ratings_are_declared_and_never_counted() -> None:
    rows = [
        {"level": 4, "date": D(2026, 5, 1), "source": "self"},
        {"level": 2, "date": D(2026, 6, 1)},
    ]
    known = level_of(rows)
    assert (known.level, known.declared, known.state) == (None, 2, "not-assessed")


def test_for_safety_a_manager_cannot_raise_what_an_assessor_found_however_much_later() -> None:
    rows = [
        {"level": 2, "date": D(2020, 1, 1), "source": "assessor"},
        {"level": 4, "date": D(2026, 1, 1), "source": "manager"},
    ]
    assert level_of(rows, safety=True).level == 2
    assert "ignored" in level_of(rows, safety=True).remarks[0]
    assert level_of(rows).level == 4


def test_for_safety_a_manager_can_lower_and_counts_without_an_assessor() -> None:
    lower = [
        {"level": 3, "date": D(2020, 1, 1), "source": "assessor"},
        {"level": 1, "date": D(2026, 1, 1), "source": "manager"},
    ]
    assert level_of(lower, safety=True).level == 1
    assert level_of(lower[1:], safety=True).level == 1


def test_of_a_certificate_only_the_certificate_source_counts_and_the_highest_valid_level() -> None:
    rows = [
        {"level": 3, "date": D(2024, 1, 1), "source": "certificate", "valid_until": D(2026, 11, 24)},
        {"level": 2, "date": D(2026, 1, 1), "source": "certificate", "valid_until": D(2028, 1, 1)},
        {"level": 5, "date": D(2026, 2, 1), "source": "assessor"},
    ]
    assert level_of(rows, kind="certificate", expiry="hard").level == 3
    assert level_of(rows, on=D(2026, 11, 25), kind="certificate", expiry="hard").level == 2
    assert level_of(rows[2:], kind="certificate", expiry="hard").level is None


def test_validity_is_inclusive_and_hard_expiry_leaves_level_zero() -> None:
    rows = [{"level": 1, "date": D(2025, 11, 24), "source": "certificate", "valid_until": D(2026, 11, 24)}]
    assert level_of(rows, kind="certificate", expiry="hard").state == "ok"
    after = level_of(rows, on=D(2026, 11, 25), kind="certificate", expiry="hard")
    assert (after.level, after.state) == (0, "lapsed")
    assert after.basis is not None


def test_review_keeps_the_level_and_says_so() -> None:
    rows = [{"level": 3, "date": D(2024, 1, 1), "source": "assessor", "valid_until": D(2025, 1, 1)}]
    known = level_of(rows)
    assert (known.level, known.state) == (3, "review-due")


@pytest.mark.parametrize(("on", "renewable"), [(D(2027, 5, 24), 1), (D(2027, 5, 25), 0)])
def test_a_refresher_restores_within_its_months(on: date, renewable: int) -> None:
    rows = [{"level": 1, "date": D(2025, 11, 24), "source": "certificate", "valid_until": D(2026, 11, 24)}]
    known = level_of(rows, on=on, kind="certificate", expiry="hard", refresher_months=6)
    assert known.renewable_level == renewable


@pytest.mark.parametrize(
    ("expiry", "lower_until", "level", "state"),
    [
        ("hard", D(2027, 1, 1), 1, "ok"),
        ("review", D(2027, 1, 1), 1, "ok"),
        ("hard", D(2026, 10, 1), 0, "lapsed"),
        ("review", D(2026, 10, 1), 1, "review-due"),
    ],
)
def test_a_higher_certificate_lost_lately_can_be_renewed_whatever_became_of_the_lower_one(
    expiry: str, lower_until: date, level: int, state: str
) -> None:
    rows = [
        {"level": 3, "date": D(2025, 9, 1), "source": "certificate", "valid_until": D(2026, 9, 1)},
        {"level": 1, "date": D(2026, 1, 1), "source": "certificate", "valid_until": lower_until},
    ]
    known = level_of(rows, kind="certificate", expiry=expiry, refresher_months=6)
    assert (known.level, known.state, known.renewable_level) == (level, state, 3)


def test_without_refresher_months_a_lapse_cannot_be_renewed() -> None:
    rows = [{"level": 1, "date": D(2025, 11, 24), "source": "certificate", "valid_until": D(2026, 11, 23)}]
    assert level_of(rows, kind="certificate", expiry="hard").renewable_level == 0


def test_a_role_profile_holds_blocking_and_essential_and_desirable_learned_on_the_job() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[*build_competencies("a b d e"), *build_competencies("z", kind="certificate", expiry="hard")],
        roles=[{"id": "r", "label": "R"}],
        requirements=[
            {"role": "r", "competency": "a", "level": 3, "entry_level": 1},
            {"role": "r", "competency": "b", "level": 2, "necessity": "desirable"},
            {"role": "r", "competency": "d", "level": 2, "necessity": "desirable", "learned_on_job": True},
            {"role": "r", "competency": "e", "level": 4, "necessity": "blocking", "learned_on_job": False},
            {"role": "r", "competency": "z", "level": 1, "necessity": "blocking"},
        ],
    )
    assert dict(build_role_profile(snapshot, "r").levels) == {"a": 3, "d": 2, "e": 4, "z": 1}


def test_a_profile_holds_only_what_counts() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b"),
        people=[{"id": "p", "name": "P", "study_hours_per_week": 6.0}],
        assessments=[
            {"person": "p", "competency": "a", "level": 2, "date": D(2026, 1, 1), "source": "manager"},
            {"person": "p", "competency": "b", "level": 3, "date": D(2026, 1, 1), "source": "self"},
        ],
    )
    profile = build_profile(snapshot, "p", ON)
    assert dict(profile.levels) == {"a": 2}
    assert profile.get("b") == 0
    assert profile.study_hours_per_week == 6.0


def test_level_0_is_assessed_and_below_level_1() -> None:
    known = level_of([{"level": 0, "date": D(2026, 1, 1), "source": "assessor"}])
    assert (known.level, known.state) == (0, "ok")


def test_for_safety_a_manager_may_confirm_what_an_assessor_found() -> None:
    rows = [
        {"level": 2, "date": D(2020, 1, 1), "source": "assessor"},
        {"level": 2, "date": D(2026, 1, 1), "source": "manager"},
    ]
    known = level_of(rows, safety=True)
    assert (known.level, known.remarks) == (2, ())
    assert known.basis is not None
    assert known.basis.source == "manager"


def test_a_lapsed_certificate_at_or_below_the_level_held_has_nothing_to_renew() -> None:
    lapsed = {"level": 2, "date": D(2025, 9, 1), "source": "certificate", "valid_until": D(2026, 9, 1)}
    for held in (2, 3):
        rows = [lapsed, {"level": held, "date": D(2026, 1, 1), "source": "certificate", "valid_until": D(2028, 1, 1)}]
        known = level_of(rows, kind="certificate", expiry="hard", refresher_months=6)
        assert (known.level, known.renewable_level) == (held, 0)
