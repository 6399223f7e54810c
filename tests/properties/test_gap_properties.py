"""The gap against a literal recomputation on random companies."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles.gap import compute_gap
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

IDS = ("a", "b", "c", "d")


@st.composite
def draw_company(draw: st.DrawFn) -> Snapshot:
    requirements: list[dict[str, Any]] = []
    for role in ("r1", "r2"):
        for i in draw(st.lists(st.sampled_from(IDS), unique=True, max_size=4)):
            level = draw(st.integers(1, 5))
            requirements.append(
                {
                    "role": role,
                    "competency": i,
                    "level": level,
                    "entry_level": draw(st.integers(1, level)),
                    "unsupervised_level": draw(st.integers(1, level)),
                    "weight": draw(st.sampled_from([1.0, 1.1, 2.5, 3.0, 5.0])),
                    "necessity": draw(st.sampled_from(["blocking", "essential", "desirable"])),
                }
            )
    # one assessment at the most for each competency, so that its level needs no rule of precedence
    assessments = [
        {
            "person": "p",
            "competency": i,
            "level": draw(st.integers(1, 5)),
            "date": ON - timedelta(days=draw(st.integers(-3, 400))),
            "source": draw(st.sampled_from(["assessor", "manager", "self", "unstated"])),
        }
        for i in IDS
        if draw(st.booleans())
    ]
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b c d"),
        roles=[{"id": "r1", "label": "R1"}, {"id": "r2", "label": "R2"}],
        requirements=requirements,
        people=[{"id": "p", "name": "P"}],
        assessments=assessments,
    )


@given(draw_company())
@settings(max_examples=draws(150), deadline=None)
def test_gap_equals_the_literal_reading(company: Snapshot) -> None:
    gap = compute_gap(company, "r1", person_id="p", on=ON)
    counted, declared = {}, {}
    for a in company.get_table("assessments").values():
        if a.date <= ON:
            (counted if a.source in ("assessor", "manager") else declared)[a.competency] = a.level
    rows = company.get_requirements("r1")
    assert {r.competency for r in rows} == {row.competency for row in gap.gaps}
    for row in gap.gaps:
        assert row.have == counted.get(row.competency)
        assert row.declared == declared.get(row.competency)
        assert row.gap == max(0, row.level - counted.get(row.competency, 0))
    if rows:
        share = sum(r.weight * min(1, counted.get(r.competency, 0) / r.level) for r in rows)
        assert gap.readiness == pytest.approx(share / sum(r.weight for r in rows), abs=1e-12)
        assert 0 <= (gap.readiness or 0) <= 1
    else:
        assert gap.readiness is None
    unmet = [r for r in rows if counted.get(r.competency, 0) < r.level]
    assert gap.blocking_unmet == len([r for r in unmet if r.necessity == "blocking"])
    essential = [r for r in rows if r.necessity == "essential"]
    assert gap.essential_total == len(essential)
    assert gap.essential_met == len([r for r in essential if r not in unmet])
    assert set(gap.assess_first) == {r.competency for r in rows} - set(counted)


@given(draw_company(), st.sampled_from(IDS), st.integers(1, 5))
@settings(max_examples=draws(60), deadline=None)
def test_a_higher_assessment_never_lowers_readiness_or_standing(company: Snapshot, i: str, level: int) -> None:
    before = compute_gap(company, "r1", person_id="p", on=ON)
    held = next((row.have or 0 for row in before.gaps if row.competency == i), 0)
    tables = {name: list(company.get_table(name).values()) for name in ("scales", "competencies", "roles", "people")}
    tables["requirements"] = list(company.get_table("requirements").values())
    kept = [a for a in company.get_table("assessments").values() if a.competency != i]
    tables["assessments"] = [
        *kept,
        TABLES["assessments"].build(
            person="p", competency=i, level=max(level, held), date=date(2026, 11, 24), source="assessor"
        ),
    ]
    after = compute_gap(Snapshot(tables), "r1", person_id="p", on=ON)
    order = ["none", "may-start", "works-alone", "full"]
    assert (after.readiness or 0) >= (before.readiness or 0)
    assert order.index(after.standing) >= order.index(before.standing)


@given(draw_company())
@settings(max_examples=draws(60), deadline=None)
def test_a_role_is_no_gap_to_itself_unless_desirable_levels_come_otherwise(company: Snapshot) -> None:
    gap = compute_gap(company, "r2", from_role_id="r2", on=ON)
    assert all(row.gap == 0 for row in gap.gaps if row.necessity != "desirable")
    assert gap.blocking_unmet == 0
    assert gap.standing == ("full" if gap.gaps else "none")
