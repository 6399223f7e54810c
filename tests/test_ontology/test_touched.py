"""What an edit can touch, said directly: of each rule the smallest company that shows it."""

from __future__ import annotations

from typing import Any

from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.effect.relevant import find_relevant
from ontology.analysis.effect.touched import find_touched

TEAM = {
    "teams": [{"id": "t", "label": "T"}],
    "cover_needs": [{"team": "t", "competency": "b", "level": 2, "minimum": 1}],
}
COUNTS = {"competency": "a", "level": 2, "counts_as": "b", "as_level": 2}


def build(**more: Any) -> Any:
    return build_snapshot(scales=build_scale(), **{"competencies": build_competencies("a b")} | more)


def test_a_need_on_a_touched_competency_touches_its_team() -> None:
    ages = [*build_competencies("a"), *build_competencies("b", validity_months=12)]
    touched = find_touched(build(**TEAM), build(**TEAM, competencies=ages))
    assert (touched.competencies, touched.teams) == ({"b"}, {"t"})


def test_what_counts_as_another_touches_that_one_and_not_itself() -> None:
    touched = find_touched(build(**TEAM), build(**TEAM, equivalences=[COUNTS]))
    assert (touched.competencies, touched.teams) == ({"b"}, {"t"})


def test_what_a_course_builds_on_matters_though_it_is_held() -> None:
    """It may lapse, or what it hangs on may come to be asked."""
    snapshot = build(
        courses=[{"id": "c", "label": "C", "hours": 8}],
        outcomes=[{"course": "c", "competency": "b", "level": 2}],
        entry_conditions=[{"course": "c", "competency": "a", "level": 1}],
    )
    for held in ({"a": 1}, {}):
        relevant = find_relevant(snapshot, held, {"b": 2})
        assert (relevant.courses, relevant.competencies) == ({"c"}, {"a", "b"})
    assert find_relevant(snapshot, {"b": 2}, {"b": 2}).courses == frozenset()
