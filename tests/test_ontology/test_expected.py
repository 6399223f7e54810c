"""What courses bring, as assessments on their days."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.paths.expected import with_outcomes
from ontology.analysis.profiles.levels import get_level
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

LATER = date(2027, 1, 31)


def certify(level: int, until: date) -> dict[str, Any]:
    row = {"person": "p", "competency": "card", "level": level, "date": date(2025, 1, 1), "source": "certificate"}
    return row | {"valid_until": until}


def build(assessments: list[dict[str, Any]], outcomes: list[dict[str, Any]]) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=[
            *build_competencies("card", kind="certificate", validity_months=1, refresher_months=2),
            *build_competencies("skill"),
        ],
        people=[{"id": "p", "name": "P"}],
        courses=[{"id": i, "label": i, "hours": 1.0} for i in sorted({row["course"] for row in outcomes})],
        outcomes=outcomes,
        assessments=assessments,
    )


def know(snapshot: Snapshot, competency: str, on: date) -> LevelOnDate:
    return get_level(snapshot, "p", snapshot.competencies[competency], on)


def test_an_outcome_counts_from_its_day_on_and_as_long_as_its_rule_says() -> None:
    before = build([], [{"course": "k", "competency": c, "level": 2} for c in ("card", "skill")])
    after = with_outcomes(before, [("p", "k", LATER)])
    assert know(after, "card", ON).level is None
    assert know(after, "card", LATER).level == know(after, "card", date(2027, 2, 28)).level == 2
    assert know(after, "card", date(2027, 3, 1)).state == "lapsed"
    found = know(after, "skill", date(2028, 1, 1))
    assert (found.level, found.basis and found.basis.source, know(after, "card", LATER).basis.source) == (  # type: ignore[union-attr]
        2,
        "assessor",
        "certificate",
    )
    assert know(before, "skill", LATER).level is None


@pytest.mark.parametrize(
    ("held", "until", "refreshes"),
    [
        (1, LATER, 1),
        (2, LATER, 1),
        # lost in November, and restored until the end of January
        (1, date(2026, 11, 30), 1),
        (1, date(2026, 11, 29), None),
        # a refresher is for those who hold its level
        (1, LATER, 2),
    ],
)
def test_a_refresher_needs_its_level_held_or_lost_lately(held: int, until: date, refreshes: int | None) -> None:
    level = refreshes or 1
    before = build([certify(held, until)], [{"course": "k", "competency": "card", "level": level, "renews": True}])
    after = with_outcomes(before, [("p", "k", LATER if until == LATER else date(2027, 1, 30))])
    is_renewed = refreshes is not None and refreshes <= held
    assert (know(after, "card", date(2027, 2, 20)).level == level) is is_renewed
    assert (after is before) is not is_renewed


def test_what_an_earlier_course_brings_counts_for_a_later_one() -> None:
    outcomes = [
        {"course": "full", "competency": "card", "level": 1},
        {"course": "again", "competency": "card", "level": 1, "renews": True},
    ]
    rows = [("p", "again", date(2027, 2, 20)), ("p", "full", LATER)]
    assert know(with_outcomes(build([], outcomes), rows), "card", date(2027, 3, 20)).level == 1
    assert know(with_outcomes(build([], outcomes), rows[:1]), "card", date(2027, 3, 20)).level is None


def test_of_two_steps_done_on_one_day_the_higher_counts() -> None:
    outcomes = [{"course": f"to{n}", "competency": c, "level": n} for n in (2, 4) for c in ("card", "skill")]
    after = with_outcomes(build([], outcomes), [("p", "to2", LATER), ("p", "to4", LATER)])
    assert [know(after, c, LATER).level for c in ("card", "skill")] == [4, 4]


def test_levels_never_fall() -> None:
    held = {"person": "p", "competency": "skill", "level": 3, "date": ON, "source": "assessor"}
    before = build([held], [{"course": "k", "competency": "skill", "level": 2}])
    assert with_outcomes(before, [("p", "k", LATER)]) is before
    assert with_outcomes(before, []) is before


def test_unknown_people_and_courses_are_refused() -> None:
    snapshot = build([], [{"course": "k", "competency": "skill", "level": 2}])
    for row in (("q", "k", LATER), ("p", "j", LATER)):
        with pytest.raises(UnknownIdError):
            with_outcomes(snapshot, [row])


def test_of_two_courses_on_one_day_the_later_one_counts() -> None:
    levels = {"k1": 1, "k2": 2}
    before = build([], [{"course": i, "competency": "skill", "level": n} for i, n in levels.items()])
    after = with_outcomes(before, [("p", "k1", LATER), ("p", "k2", LATER)])
    assert (know(after, "skill", LATER).level, know(after, "skill", LATER).remarks) == (2, ())
    assert know(with_outcomes(before, [("p", "k2", LATER), ("p", "k1", LATER)]), "skill", LATER).level == 2
