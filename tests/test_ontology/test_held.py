"""How many people hold a competency: who is employed that day, at the level that counts."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.cover.held import count_holders
from ontology.analysis.cover.holders import iterate_holders
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)
_SOURCES = st.sampled_from(["assessor", "manager", "self"])


def build(levels: list[tuple[int, str]], valid_days: int | None = None, **first_person: object) -> Snapshot:
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("c"),
        teams=[{"id": "t", "label": "T"}],
        people=[
            {"id": f"p{n}", "name": f"P{n}", "team": "t"} | (first_person if n == 0 else {}) for n in range(len(levels))
        ],
        assessments=[
            {"person": f"p{n}", "competency": "c", "level": level, "date": ON, "source": source}
            | {"valid_until": None if valid_days is None else ON + valid_days * DAY}
            for n, (level, source) in enumerate(levels)
        ],
    )


def test_who_holds_it_stands_at_their_level_and_below_it_counts_the_higher_ones() -> None:
    held = count_holders(build([(2, "assessor"), (2, "manager"), (3, "assessor"), (3, "self")]), "c", ON)
    assert held.holders == 3
    assert [(row.level, row.people, row.or_higher) for row in held.levels[:4]] == [
        (1, 0, 3),
        (2, 2, 3),
        (3, 1, 1),
        (4, 0, 0),
    ]


def test_who_has_left_or_not_begun_holds_nothing_here() -> None:
    assert count_holders(build([(2, "assessor")], end_date=ON), "c", ON).holders == 1
    assert count_holders(build([(2, "assessor")], end_date=ON - DAY), "c", ON).holders == 0
    assert count_holders(build([(2, "assessor")], start_date=ON + DAY), "c", ON).holders == 0


def test_who_is_due_for_a_review_holds_it_and_is_counted_as_such() -> None:
    snapshot = build([(2, "assessor"), (3, "assessor")], valid_days=365)
    assert (count_holders(snapshot, "c", ON).holders, count_holders(snapshot, "c", ON).review_due) == (2, 0)
    later = count_holders(snapshot, "c", ON + 400 * DAY)
    assert (later.holders, later.review_due) == (2, 2)


def test_an_unknown_competency_is_an_error() -> None:
    with pytest.raises(UnknownIdError):
        count_holders(build([]), "x", ON)


@given(st.lists(st.tuples(st.integers(1, 4), _SOURCES), max_size=8))
def test_where_nobody_is_away_as_many_hold_it_as_count_for_cover(levels: list[tuple[int, str]]) -> None:
    """Another answer about the same people on the same day: who could cover a need."""
    snapshot = build(levels)
    for row in count_holders(snapshot, "c", ON).levels:
        assert row.or_higher == sum(1 for _ in iterate_holders(snapshot, "c", row.level, ON))
