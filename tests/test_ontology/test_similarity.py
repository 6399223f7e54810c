"""Similar roles: cosine of importance-weighted profiles."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_company import build_competencies, build_scale, build_snapshot

from ontology.analysis.profiles import similarity
from ontology.analysis.profiles.similarity import find_similar_roles
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

Profile = dict[str, tuple[Any, ...]]


def build(profiles: dict[str, Profile], **tables: Any) -> Snapshot:
    """Return a Snapshot from role -> competency -> (level, weight, measured level)."""
    fields = ("level", "weight", "measured_level")
    return build_snapshot(
        scales=build_scale() + build_scale("s1", 1),
        competencies=tables.get("competencies", build_competencies("a b c d")),
        roles=[{"id": role, "label": role.upper()} for role in profiles],
        requirements=[
            {"role": role, "competency": competency} | dict(zip(fields, values, strict=False))
            for role, profile in profiles.items()
            for competency, values in profile.items()
        ],
    )


def get_pairs(snapshot: Snapshot, role: str, limit: int = 20) -> list[tuple[str, float]]:
    return [(r.id, r.similarity) for r in find_similar_roles(snapshot, role, limit).roles]


def test_similarity_is_the_cosine_of_level_times_importance() -> None:
    """By hand: (4 * 1, 2 * 0.5) = (4, 1) and (2 * 0.5, 4 * 1) = (1, 4): 8 / 17."""
    snapshot = build({"x": {"a": (4, 5.0), "b": (2, 3.0)}, "y": {"a": (2, 3.0), "b": (4, 5.0)}})
    assert get_pairs(snapshot, "x") == [("y", pytest.approx(8 / 17))]
    assert find_similar_roles(snapshot, "x").roles[0].label == "Y"


def test_measured_level_counts_where_there_is_one() -> None:
    """By hand: (1.5, 2) and (2, 1): 5 / (2.5 * sqrt 5) = 2 / sqrt 5."""
    snapshot = build({"x": {"a": (2, 5.0, 1.5), "b": (2, 5.0)}, "y": {"a": (2, 5.0), "b": (1, 5.0)}})
    assert get_pairs(snapshot, "x") == [("y", pytest.approx(2 / 5**0.5))]


def test_levels_count_as_shares_of_their_scale() -> None:
    """One of one is as much as five of five: the profiles (1, 1) and (1, 0) give 1 / sqrt 2."""
    competencies = build_competencies("a") + build_competencies("b", scale="s1")
    snapshot = build({"x": {"a": (5, 5.0), "b": (1, 5.0)}, "y": {"a": (5, 5.0)}}, competencies=competencies)
    assert get_pairs(snapshot, "x") == [("y", pytest.approx(0.5**0.5))]


def test_weight_of_one_counts_nothing() -> None:
    snapshot = build({"x": {"a": (3, 4.0), "b": (5, 1.0)}, "y": {"a": (3, 4.0)}, "z": {"b": (5, 4.0)}})
    assert get_pairs(snapshot, "x") == [("y", 1.0)]


def test_role_whose_weights_are_all_one_is_compared_by_its_levels() -> None:
    snapshot = build({"x": {"a": (3, 1.0), "b": (4, 1.0)}, "y": {"a": (3, 5.0), "b": (4, 5.0)}})
    assert get_pairs(snapshot, "x") == [("y", 1.0)]


def test_role_whose_measured_levels_are_all_zero_is_compared_by_its_ranks() -> None:
    snapshot = build({"x": {"a": (1, 3.0, 0.0)}, "y": {"a": (1, 3.0)}})
    assert get_pairs(snapshot, "x") == [("y", 1.0)]


def test_equal_weights_leave_the_share_of_common_competencies() -> None:
    """Without weights and levels, as in ESCO: one of two in common on either side, 1 / 2."""
    snapshot = build({"x": {"a": (1,), "b": (1,)}, "y": {"b": (1,), "c": (1,)}})
    assert get_pairs(snapshot, "x") == [("y", pytest.approx(0.5))]


def test_roles_stand_by_falling_similarity_then_by_id_and_the_limit_holds() -> None:
    same = {"a": (2, 3.0), "b": (2, 3.0)}
    snapshot = build({"x": same, "q": {"a": (2, 3.0)}, "n": same, "m": same, "o": {"a": (2, 3.0), "b": (1, 3.0)}})
    assert [role for role, _ in get_pairs(snapshot, "x")] == ["m", "n", "o", "q"]
    assert [role for role, _ in get_pairs(snapshot, "x", limit=3)] == ["m", "n", "o"]


def test_roles_without_requirements_or_anything_in_common_are_not_listed() -> None:
    snapshot = build({"x": {"a": (2, 3.0)}, "empty": {}, "other": {"b": (2, 3.0)}})
    assert get_pairs(snapshot, "x") == []


def test_role_without_requirements_has_no_similar_roles_and_a_remark_says_why() -> None:
    result = find_similar_roles(build({"x": {"a": (2, 3.0)}, "empty": {}}), "empty")
    assert result.roles == ()
    assert result.remarks == ("EMPTY has no requirements: there is nothing to compare.",)


def test_unknown_role_and_limit_below_one_are_refused() -> None:
    snapshot = build({"x": {"a": (2, 3.0)}})
    with pytest.raises(UnknownIdError, match="nobody"):
        find_similar_roles(snapshot, "nobody")
    with pytest.raises(InputError, match="at least 1"):
        find_similar_roles(snapshot, "x", 0)


def test_profiles_are_built_once_per_snapshot(monkeypatch: pytest.MonkeyPatch) -> None:
    built: list[int] = []
    build_profiles = similarity._build_profiles
    monkeypatch.setattr(similarity, "_build_profiles", lambda s: (built.append(s.revision), build_profiles(s))[1])
    snapshot = build({"x": {"a": (2, 3.0)}, "y": {"a": (1, 3.0)}})
    get_pairs(snapshot, "x")
    get_pairs(snapshot, "y")
    assert len(built) == 1


_LEVELS = st.tuples(st.integers(1, 5), st.integers(4, 20).map(lambda n: n / 4))
_PROFILES = st.dictionaries(st.sampled_from("abcd"), _LEVELS, min_size=1)


@given(st.lists(_PROFILES, min_size=2, max_size=5))
def test_similarity_is_symmetric_within_bounds_and_independent_of_other_roles(profiles: list[Profile]) -> None:
    named = {f"r{i}": profile for i, profile in enumerate(profiles)}
    snapshot = build(named)
    found = {(role, other): value for role in named for other, value in get_pairs(snapshot, role)}
    for (role, other), value in found.items():
        assert 0 < value <= 1
        assert found[other, role] == pytest.approx(value, abs=1e-11)
        assert role != other
    alone = dict(get_pairs(build({role: named[role] for role in ("r0", "r1")}), "r0"))
    assert alone.get("r1", 0.0) == pytest.approx(found.get(("r0", "r1"), 0.0), abs=1e-11)


@given(_PROFILES, st.integers(2, 4))
def test_same_proportions_are_the_same_profile(profile: Profile, factor: int) -> None:
    """The cosine compares shapes: a profile with all levels doubled has similarity 1."""
    low = {competency: (1, weight, 0.5) for competency, (_, weight) in profile.items()}
    high = {competency: (1, weight, 0.5 * factor) for competency, (_, weight) in profile.items()}
    assert get_pairs(build({"x": low, "y": high}), "x") == [("y", 1.0)]
