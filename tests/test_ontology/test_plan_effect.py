"""Cover after a cross-training plan: the same as that of a team in which everyone has reached what they learned."""

from __future__ import annotations

from datetime import timedelta

import pytest
from picture_companies import build_team_company
from small_company import ON

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.analysis.training.plan_effect import compute_cover_after
from ontology.graph.snapshot import Snapshot
from ontology.tables import TABLES


def apply_plan(snapshot: Snapshot, learned: set[tuple[str, str, int]]) -> Snapshot:
    """Return the team with an assessment, on the day itself, for every level learned."""
    tables = {name: list(snapshot.get_table(name).values()) for name in TABLES}
    rows = {(person, competency): level for person, competency, level in sorted(learned)}
    held = {(a.person, a.competency): a for a in tables["assessments"]}
    tables["assessments"] = [
        *(a for key, a in held.items() if key not in rows or a.level > rows[key]),
        *(
            TABLES["assessments"].build(person=p, competency=c, level=level, date=ON, source="assessor")
            for (p, c), level in rows.items()
            if (p, c) not in held or held[p, c].level <= level
        ),
    ]
    return Snapshot(tables)


def add_absence(snapshot: Snapshot, person: str) -> Snapshot:
    tables = {name: list(snapshot.get_table(name).values()) for name in TABLES}
    tables["absences"] = [TABLES["absences"].build(person=person, from_date=ON, to_date=ON + timedelta(days=2))]
    needs = tables["cover_needs"]
    tables["cover_needs"] = [
        TABLES["cover_needs"].build(
            team=need.team,
            competency=need.competency,
            level=need.level,
            minimum=need.minimum,
            target=need.target,
            applies=("team", "each-shift", "day")[number % 3],
        )
        for number, need in enumerate(needs)
    ]
    return Snapshot(tables)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("size", [6, 14])
def test_cover_after_a_plan_is_that_of_the_team_that_did_it(seed: int, size: int) -> None:
    snapshot = add_absence(build_team_company(size, seed), "p1")
    coverage = compute_coverage(snapshot, "t", ON)
    plan = plan_cross_training(snapshot, "t", ON)
    learned = {
        (learner.person, outcome.competency, outcome.level)
        for learner in plan.learners
        for course in learner.courses
        for outcome in snapshot.get_outcomes(course)
    }
    expected = compute_coverage(apply_plan(snapshot, learned), "t", ON)
    after = compute_cover_after(snapshot, coverage, plan)
    assert after.needs == expected.needs
    assert bool(plan.learners) == (after.needs != coverage.needs)
    assert (after.team, after.on, after.absent) == (expected.team, expected.on, expected.absent)


def test_a_plan_without_learners_changes_nothing() -> None:
    snapshot = build_team_company(6)
    coverage = compute_coverage(snapshot, "t", ON)
    plan = plan_cross_training(snapshot, "t", ON, hours_limit=0.0)
    assert not plan.learners
    assert compute_cover_after(snapshot, coverage, plan) == coverage
