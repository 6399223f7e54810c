"""Levels that hang on others, and levels held by equivalence."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.levels import build_levels, find_days_of_change, find_ways, get_level
from ontology.analysis.profiles.own_levels import LevelOnDate
from ontology.analysis.profiles.profile import build_profile, build_role_profile
from ontology.model.validity import compute_valid_until
from ontology.snapshot.snapshot import Snapshot

D = date


def hold(competency: str, level: int, day: date, until: date | None = None, **more: Any) -> dict[str, Any]:
    row = {"person": "p", "competency": competency, "level": level, "date": day, "valid_until": until}
    return row | {"source": "certificate"} | more


def build(*assessments: dict[str, Any], hangs: dict[str, tuple[str, ...]] | None = None, **more: Any) -> Snapshot:
    """Return a company of one person; `hangs` says what each competency holds while."""
    ids = sorted({"a", "b", "c", *(hangs or {})})
    about = [{"id": i, "label": i, "scale": "s5", "holds_while": (hangs or {}).get(i, ())} for i in ids]
    people = [{"id": "p", "name": "P"}]
    return build_snapshot(
        **{"scales": build_scale(), "competencies": about, "people": people, "assessments": assessments} | more
    )


def ask(snapshot: Snapshot, competency: str, on: date) -> LevelOnDate:
    return get_level(snapshot, "p", snapshot.competencies[competency], on)


def see(snapshot: Snapshot, competency: str, on: date) -> tuple[int | None, str]:
    known = ask(snapshot, competency, on)
    return known.level, known.state


def count_as(competency: str, counts_as: str, level: int = 1, as_level: int = 1, **span: date) -> dict[str, Any]:
    return {"competency": competency, "counts_as": counts_as, "level": level, "as_level": as_level} | span


# -- what a level hangs on ----------------------------------------------------------------------------------------


def test_rescue_is_suspended_while_the_mask_lapsed_and_counts_again_from_the_day_of_its_renewal() -> None:
    """The example of section 11 of the whole job: rescue (24 months) holds while mask (12), mask to 2026-09-01."""
    mask, rescue = D(2025, 9, 1), D(2026, 1, 10)
    until = {
        "mask": compute_valid_until(mask, 12, "same-day"),
        "rescue": compute_valid_until(rescue, 24, "same-day"),
    }
    assert until == {"mask": D(2026, 9, 1), "rescue": D(2028, 1, 10)}
    rows = [hold("mask", 1, mask, until["mask"]), hold("rescue", 1, rescue, until["rescue"])]
    kinds = [
        {"id": "mask", "label": "Mask", "scale": "s5", "kind": "certificate", "validity_months": 12},
        {"id": "rescue", "label": "Rescue", "scale": "s5", "kind": "certificate", "validity_months": 24}
        | {"holds_while": ("mask",)},
    ]
    lapsed = build(*rows, competencies=kinds)
    assert see(lapsed, "rescue", D(2026, 9, 1)) == (1, "ok")
    assert see(lapsed, "rescue", D(2026, 9, 2)) == (0, "suspended")
    assert see(lapsed, "rescue", D(2026, 10, 5)) == (0, "suspended")
    renewed = build(*rows, hold("mask", 1, D(2026, 10, 8), D(2027, 10, 8)), competencies=kinds)
    assert see(renewed, "rescue", D(2026, 10, 5)) == (0, "suspended")
    assert see(renewed, "rescue", D(2026, 10, 7)) == (0, "suspended")
    assert see(renewed, "rescue", D(2026, 10, 8)) == (1, "ok")
    assert see(renewed, "rescue", D(2027, 10, 9)) == (0, "suspended")
    days = find_days_of_change(renewed, "p", renewed.competencies["rescue"])
    assert {D(2026, 9, 2), D(2026, 10, 8), D(2027, 10, 9), D(2028, 1, 11)} <= set(days)
    # the level behind it is kept: it comes back without a course
    assert build_profile(renewed, "p", D(2026, 10, 5)).levels["rescue"] == 1


def test_suspended_level_says_what_it_rests_on_and_is_met_by_nothing() -> None:
    snapshot = build(hold("b", 3, D(2026, 1, 1), D(2026, 12, 31)), hangs={"b": ("a",)})
    known = ask(snapshot, "b", D(2026, 6, 1))
    assert (known.level, known.state, known.renewable_level) == (0, "suspended", 0)
    assert known.basis is not None
    assert known.basis.valid_until == D(2026, 12, 31)
    ways = find_ways(snapshot, "p", snapshot.competencies["b"], D(2026, 6, 1))
    assert not ways.is_met(1)
    assert ways.gives(3)
    assert not ways.gives(4)


def test_never_assessed_and_lapsed_are_told_rather_than_suspended() -> None:
    """Nothing is there that could be suspended: the first act is to assess, or to renew."""
    kinds = [{"id": i, "label": i, "scale": "s5", "expiry": "hard"} for i in "ab"]
    kinds[1]["holds_while"] = ("a",)
    snapshot = build(hold("b", 2, D(2026, 1, 1), D(2026, 3, 1)), competencies=kinds)
    assert see(build(competencies=kinds), "b", D(2026, 6, 1)) == (None, "not-assessed")
    assert see(snapshot, "b", D(2026, 2, 1)) == (0, "suspended")
    assert see(snapshot, "b", D(2026, 3, 2)) == (0, "lapsed")


def test_suspension_passes_on_and_every_one_of_several_must_hold() -> None:
    rows = [hold(i, 2, D(2026, 1, 1)) for i in ("b", "c", "d")]
    snapshot = build(*rows, hold("a", 1, D(2026, 1, 1), D(2026, 5, 1)), hangs={"b": ("a",), "c": ("b",), "d": ("c",)})
    kinds = {i: see(snapshot, i, D(2026, 4, 1)) for i in "bcd"}
    assert kinds == dict.fromkeys("bcd", (2, "ok"))
    # a skill that is due for review keeps its level, and with it what hangs on it
    assert {i: see(snapshot, i, D(2026, 5, 2)) for i in "abcd"} == {
        "a": (1, "review-due"),
        **dict.fromkeys("bcd", (2, "ok")),
    }
    without = build(*rows, hangs={"b": ("a",), "c": ("b",), "d": ("c",)})
    assert {i: see(without, i, D(2026, 4, 1)) for i in "bcd"} == dict.fromkeys("bcd", (0, "suspended"))
    both = build(hold("a", 1, D(2026, 1, 1)), hold("c", 1, D(2026, 1, 1)), hangs={"c": ("a", "b")})
    assert see(both, "c", D(2026, 2, 1)) == (0, "suspended")


def test_gap_counts_a_suspended_level_as_none_and_says_so() -> None:
    roles = [{"id": "r", "label": "R"}]
    asked = [{"role": "r", "competency": "b", "level": 2}]
    snapshot = build(hold("b", 2, D(2026, 1, 1)), hangs={"b": ("a",)}, roles=roles, requirements=asked)
    result = compute_gap(snapshot, "r", person_id="p", on=D(2026, 2, 1))
    (row,) = result.gaps
    assert (row.have, row.gap, row.state, result.standing, result.readiness) == (0, 2, "suspended", "none", 0.0)
    assert row.date == D(2026, 1, 1)
    assert result.assess_first == ()


def test_role_profile_takes_what_its_levels_hang_on_in_at_level_1() -> None:
    asked = [{"role": "r", "competency": "c", "level": 3}, {"role": "r", "competency": "b", "level": 2}]
    snapshot = build(hangs={"c": ("b",), "b": ("a",)}, roles=[{"id": "r", "label": "R"}], requirements=asked)
    assert build_role_profile(snapshot, "r").levels == {"a": 1, "b": 2, "c": 3}


# -- what counts as another ---------------------------------------------------------------------------------------


def test_equivalent_level_counts_with_the_assessment_behind_it() -> None:
    snapshot = build(hold("a", 3, D(2026, 1, 1), D(2026, 6, 30)), equivalences=[count_as("a", "b", 2, 4)])
    known = ask(snapshot, "b", D(2026, 6, 30))
    assert (known.competency, known.level, known.state, known.by_equivalence) == ("b", 4, "ok", "a")
    assert known.basis is not None
    assert (known.basis.competency, known.basis.valid_until) == ("a", D(2026, 6, 30))
    assert see(snapshot, "b", D(2026, 7, 1)) == (4, "review-due")
    assert ask(snapshot, "a", D(2026, 2, 1)).by_equivalence == ""
    assert list(build_levels(snapshot, "p", D(2026, 2, 1))) == ["a", "b"]
    assert find_days_of_change(snapshot, "p", snapshot.competencies["b"]) == [D(2026, 1, 1), D(2026, 7, 1)]


def test_level_below_the_one_asked_counts_as_nothing() -> None:
    snapshot = build(hold("a", 1, D(2026, 1, 1)), equivalences=[count_as("a", "b", 2, 4)])
    assert see(snapshot, "b", D(2026, 2, 1)) == (None, "not-assessed")


def test_equivalence_counts_on_its_first_and_last_day() -> None:
    span = {"from_date": D(2026, 3, 1), "to_date": D(2026, 3, 31)}
    snapshot = build(hold("a", 1, D(2026, 1, 1)), equivalences=[count_as("a", "b", **span)])
    days = [D(2026, 2, 28), D(2026, 3, 1), D(2026, 3, 31), D(2026, 4, 1)]
    assert [ask(snapshot, "b", day).level for day in days] == [None, 1, 1, None]
    assert find_days_of_change(snapshot, "p", snapshot.competencies["b"]) == [D(2026, 1, 1), days[1], days[3]]


@pytest.mark.parametrize(
    ("own", "given", "told"),
    [
        ((3, None), (2, None), (3, "ok", "")),
        ((2, None), (3, None), (3, "ok", "a")),
        ((2, None), (2, None), (2, "ok", "")),
        ((2, D(2026, 2, 1)), (2, None), (2, "ok", "a")),
        ((2, D(2026, 2, 1)), (2, D(2026, 2, 1)), (2, "review-due", "")),
        ((3, D(2026, 2, 1)), (2, None), (3, "review-due", "")),
    ],
)
def test_highest_counts_and_of_the_same_one_that_is_still_valid(
    own: tuple[int, date | None], given: tuple[int, date | None], told: tuple[int, str, str]
) -> None:
    rows = [hold("b", own[0], D(2026, 1, 1), own[1]), hold("a", 1, D(2026, 1, 1), given[1])]
    known = ask(build(*rows, equivalences=[count_as("a", "b", 1, given[0])]), "b", D(2026, 3, 1))
    assert (known.level, known.state, known.by_equivalence) == told


def test_review_that_is_due_meets_nothing_where_a_lower_valid_one_stands_beside_it() -> None:
    rows = [hold("b", 3, D(2026, 1, 1), D(2026, 2, 1)), hold("a", 1, D(2026, 1, 1))]
    snapshot = build(*rows, equivalences=[count_as("a", "b", 1, 2)])
    ways = find_ways(snapshot, "p", snapshot.competencies["b"], D(2026, 3, 1))
    assert ways.pick().level == 3
    assert [ways.is_met(level) for level in (1, 2, 3)] == [True, True, False]


def test_one_step_and_no_chains() -> None:
    snapshot = build(hold("a", 2, D(2026, 1, 1)), equivalences=[count_as("a", "b", 1, 2), count_as("b", "c", 1, 2)])
    assert see(snapshot, "b", D(2026, 2, 1)) == (2, "ok")
    assert see(snapshot, "c", D(2026, 2, 1)) == (None, "not-assessed")


def test_mutual_pair_is_two_rows_and_lifts_nobody_by_themselves() -> None:
    pair = [count_as("a", "b", 1, 3), count_as("b", "a", 1, 3)]
    snapshot = build(hold("a", 1, D(2026, 1, 1)), equivalences=pair)
    assert (see(snapshot, "a", D(2026, 2, 1)), see(snapshot, "b", D(2026, 2, 1))) == ((1, "ok"), (3, "ok"))


def test_suspended_level_counts_as_nothing_and_what_it_counts_as_may_be_suspended() -> None:
    rows = [hold("a", 2, D(2026, 1, 1))]
    source = build(*rows, hangs={"a": ("c",)}, equivalences=[count_as("a", "b")])
    assert see(source, "b", D(2026, 2, 1)) == (None, "not-assessed")
    target = build(*rows, hangs={"b": ("c",)}, equivalences=[count_as("a", "b")])
    known = ask(target, "b", D(2026, 2, 1))
    assert (known.level, known.state, known.by_equivalence) == (0, "suspended", "a")


def test_what_a_level_hangs_on_may_be_held_by_equivalence() -> None:
    rows = [hold("b", 2, D(2026, 1, 1)), hold("c", 1, D(2026, 1, 1), D(2026, 6, 30))]
    kinds = [{"id": i, "label": i, "scale": "s5", "expiry": "hard"} for i in "abc"]
    kinds[1]["holds_while"] = ("a",)
    snapshot = build(*rows, competencies=kinds, equivalences=[count_as("c", "a")])
    assert see(snapshot, "b", D(2026, 6, 30)) == (2, "ok")
    assert see(snapshot, "b", D(2026, 7, 1)) == (0, "suspended")
    assert D(2026, 7, 1) in find_days_of_change(snapshot, "p", snapshot.competencies["b"])


def test_level_does_not_hold_itself_up_in_a_circle() -> None:
    """Rescue holds while mask, and rescue counts as mask: without a mask of one's own neither is held."""
    snapshot = build(hold("b", 2, D(2026, 1, 1)), hangs={"b": ("a",)}, equivalences=[count_as("b", "a")])
    assert see(snapshot, "b", D(2026, 2, 1)) == (0, "suspended")
    assert see(snapshot, "a", D(2026, 2, 1)) == (None, "not-assessed")


def test_withdrawn_assessment_counts_on_no_day() -> None:
    """Section 11, Knowledge: from the day it was taken back it counts nowhere, for any day."""
    rows = [hold("a", 3, D(2026, 1, 1), withdrawn_on=D(2026, 6, 1)), hold("a", 1, D(2025, 1, 1))]
    snapshot = build(*rows, equivalences=[count_as("a", "b", 2, 2)])
    for day in (D(2026, 2, 1), D(2026, 7, 1)):
        assert see(snapshot, "a", day) == (1, "ok")
        assert see(snapshot, "b", day) == (None, "not-assessed")
    assert see(build(rows[0]), "a", D(2026, 2, 1)) == (None, "not-assessed")
