"""The gap of a person or a role's profile to a role."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles.gap import compute_gap, compute_readiness, find_unassessed
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot


def build_company(**more: list[dict[str, Any]]) -> Snapshot:
    tables: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale(),
        "competencies": [
            *build_competencies("weld read plan talk"),
            *build_competencies("crane", kind="certificate", validity_months=12),
        ],
        "roles": [
            {"id": "fitter", "label": "Fitter"},
            {"id": "lead", "label": "Lead"},
            {"id": "bare", "label": "Bare"},
        ],
        "requirements": [
            {
                "role": "lead",
                "competency": "weld",
                "level": 4,
                "entry_level": 2,
                "unsupervised_level": 3,
                "weight": 2.0,
            },
            {"role": "lead", "competency": "read", "level": 2, "weight": 5.0, "necessity": "desirable"},
            {"role": "lead", "competency": "plan", "level": 3, "entry_level": 1, "weight": 1.0},
            {"role": "lead", "competency": "crane", "level": 1, "weight": 4.0, "necessity": "blocking"},
            {"role": "fitter", "competency": "weld", "level": 3},
            {"role": "fitter", "competency": "talk", "level": 2, "necessity": "desirable", "learned_on_job": True},
        ],
        "people": [{"id": "p1", "name": "P"}],
        "assessments": [
            {"person": "p1", "competency": "weld", "level": 3, "date": date(2026, 11, 14), "source": "assessor"},
            {"person": "p1", "competency": "plan", "level": 5, "date": date(2026, 1, 1), "source": "self"},
            {
                "person": "p1",
                "competency": "crane",
                "level": 1,
                "date": date(2025, 1, 31),
                "source": "certificate",
                "valid_until": date(2026, 1, 31),
            },
        ],
    }
    return build_snapshot(**(tables | more))


def test_rows_are_blocking_then_essential_then_desirable_and_heaviest_first() -> None:
    gap = compute_gap(build_company(), "lead", person_id="p1", on=ON)
    assert [row.competency for row in gap.gaps] == ["crane", "plan", "weld", "read"]


def test_equal_weighted_gaps_are_in_the_order_of_ids() -> None:
    rows = [{"role": "lead", "competency": i, "level": 2} for i in ("talk", "plan", "read")]
    gap = compute_gap(build_company(requirements=rows), "lead", person_id="p1", on=ON)
    assert [row.competency for row in gap.gaps] == ["plan", "read", "talk"]


def test_readiness_is_the_weighted_share_of_levels() -> None:
    gap = compute_gap(build_company(), "lead", person_id="p1", on=ON)
    # weld 2 x 3/4, everything else 0, of 2 + 5 + 1 + 4
    assert gap.readiness == pytest.approx(1.5 / 12)


def test_levels_above_the_full_level_count_no_more_than_full() -> None:
    rows = [{"role": "lead", "competency": "weld", "level": 2}, {"role": "lead", "competency": "plan", "level": 2}]
    gap = compute_gap(build_company(requirements=rows), "lead", person_id="p1", on=ON)
    assert gap.readiness == 0.5
    assert [row.gap for row in gap.gaps] == [2, 0]


def test_first_figures_count_blocking_unmet_and_essential_met() -> None:
    gap = compute_gap(build_company(), "lead", person_id="p1", on=ON)
    assert (gap.blocking_unmet, gap.essential_met, gap.essential_total) == (1, 0, 2)


def test_not_assessed_is_null_and_first_to_be_assessed() -> None:
    gap = compute_gap(build_company(), "lead", person_id="p1", on=ON)
    plan = next(row for row in gap.gaps if row.competency == "plan")
    assert (plan.have, plan.declared, plan.gap, plan.state) == (None, 5, 3, "not-assessed")
    assert (plan.source, plan.date, plan.age_days) == (None, None, None)
    assert gap.assess_first == ("plan", "read")


def test_a_figure_says_its_source_date_and_age() -> None:
    gap = compute_gap(build_company(), "lead", person_id="p1", on=ON)
    weld = next(row for row in gap.gaps if row.competency == "weld")
    assert (weld.have, weld.source, weld.date, weld.age_days) == (3, "assessor", date(2026, 11, 14), 10)


def test_lapsed_certificate_is_level_0_and_keeps_its_date() -> None:
    gap = compute_gap(build_company(), "lead", person_id="p1", on=ON)
    crane = gap.gaps[0]
    assert (crane.have, crane.state, crane.date, crane.gap) == (0, "lapsed", date(2025, 1, 31), 1)
    before = compute_gap(build_company(), "lead", person_id="p1", on=date(2026, 1, 31))
    assert next(row for row in before.gaps if row.competency == "crane").have == 1


@pytest.mark.parametrize(
    ("weld", "plan", "standing"),
    [(1, 3, "none"), (2, 1, "may-start"), (3, 3, "works-alone"), (4, 3, "full"), (5, 5, "full"), (3, 1, "may-start")],
)
def test_standing_is_the_highest_that_holds(weld: int, plan: int, standing: str) -> None:
    held = [("weld", weld, "assessor"), ("plan", plan, "manager"), ("crane", 1, "certificate")]
    rows = [{"person": "p1", "competency": i, "level": n, "date": ON, "source": s} for i, n, s in held]
    assert compute_gap(build_company(assessments=rows), "lead", person_id="p1", on=ON).standing == standing


def test_standing_reads_each_level_by_itself() -> None:
    # unsupervised below entry is odd but allowed: who works alone need not be at entry level
    rows = [{"role": "lead", "competency": "weld", "level": 5, "entry_level": 4, "unsupervised_level": 3}]
    assert compute_gap(build_company(requirements=rows), "lead", person_id="p1", on=ON).standing == "works-alone"


def test_role_without_requirements_has_no_readiness_and_no_standing() -> None:
    gap = compute_gap(build_company(), "bare", person_id="p1", on=ON)
    assert (gap.readiness, gap.standing, gap.essential_total, gap.gaps) == (None, "none", 0, ())
    assert len(gap.remarks) == 1


def test_profile_of_a_role_is_compared_without_dates_or_assessments() -> None:
    gap = compute_gap(build_company(), "lead", from_role_id="fitter", on=ON)
    assert {row.competency: row.have for row in gap.gaps} == {"weld": 3, "read": 0, "plan": 0, "crane": 0}
    assert {row.state for row in gap.gaps} == {"ok"}
    assert {(row.source, row.date, row.age_days, row.declared) for row in gap.gaps} == {(None, None, None, None)}
    assert gap.assess_first == ()


def test_profile_of_a_role_holds_desirable_levels_only_when_learned_on_the_job() -> None:
    rows = [
        {"role": "lead", "competency": "talk", "level": 2},
        {"role": "fitter", "competency": "talk", "level": 2, "necessity": "desirable", "learned_on_job": True},
    ]
    assert compute_gap(build_company(requirements=rows), "lead", from_role_id="fitter", on=ON).standing == "full"
    rows[1]["learned_on_job"] = False
    assert compute_gap(build_company(requirements=rows), "lead", from_role_id="fitter", on=ON).standing == "none"


def test_remarks_of_levels_reach_the_answer() -> None:
    rows = [
        {"person": "p1", "competency": "weld", "level": n, "date": ON, "source": "assessor", "assessor": a}
        for n, a in ((3, "a"), (2, "b"))
    ]
    gap = compute_gap(build_company(assessments=rows), "fitter", person_id="p1", on=ON)
    assert gap.gaps[0].have == 2
    assert gap.remarks[0].startswith("weld: ")


def test_unknown_ids_and_unclear_questions_are_refused() -> None:
    company = build_company()
    with pytest.raises(UnknownIdError):
        compute_gap(company, "nobody", person_id="p1", on=ON)
    with pytest.raises(UnknownIdError):
        compute_gap(company, "lead", person_id="nobody", on=ON)
    with pytest.raises(UnknownIdError):
        compute_gap(company, "lead", from_role_id="nobody", on=ON)
    with pytest.raises(InputError):
        compute_gap(company, "lead", on=ON)
    with pytest.raises(InputError):
        compute_gap(company, "lead", person_id="p1", from_role_id="fitter", on=ON)


def test_unassessed_competencies_are_those_without_a_counted_source() -> None:
    found = find_unassessed(build_company(), "p1", ["weld", "plan", "crane", "talk"], ON)
    assert found == {"plan", "talk"}


def test_readiness_counts_a_level_above_the_one_asked_as_met_and_no_more() -> None:
    assert compute_readiness([(3, 4, 1.0), (2, 1, 2.0)]) == pytest.approx(2 / 3)
    assert compute_readiness([(3, 5, 1.5)]) == 1.0
    assert compute_readiness([]) is None
