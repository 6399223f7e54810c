"""A retirement as a change: each kind of row that names the old record, and how two rows become one."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from ontology.errors import InputError
from ontology.live.retiring import Taker, plan_retirement
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

DAY = date(2026, 11, 24)


def make(what: str, **values: Any) -> tuple[str, Any]:
    return what, TABLES[what].build(**values)


def build_state() -> Snapshot:
    """Return what names "old": a requirement, outcomes, needs, wider and narrower ones, and other tables."""
    rows = [make("scales", scale="craft", rank=rank, label=f"Step {rank}") for rank in (1, 2, 3, 4)]
    above = {"old": ("top",), "new": (), "part": (), "below": ("old",), "deep": ("below",)}
    rows += [make("competencies", id="top", label="Top", scale="craft")]
    rows += [make("competencies", id=i, label=i, scale="craft", broader=up) for i, up in above.items()]
    rows += [make("competencies", id="tied", label="Tied", scale="craft", holds_while=("old",))]
    rows += [make("roles", id=i, label=i) for i in ("both", "alone")]
    asked: dict[str, Any] = {"level": 3, "entry_level": 1, "unsupervised_level": 3, "weight": 2.0, "remark": "By hand."}
    rows += [
        make("requirements", role="both", competency="old", necessity="blocking", measured_level=2.9, **asked),
        make("requirements", role="both", competency="new", level=2, entry_level=2, unsupervised_level=2, weight=5.0),
        make("requirements", role="alone", competency="old", learned_on_job=False, **asked),
        make("courses", id="k", label="K", hours=8.0),
        make("outcomes", course="k", competency="old", level=3, renews=True),
        make("outcomes", course="k", competency="new", level=2, renews=False),
        make("entry_conditions", course="k", competency="old", level=1),
        make("teams", id="t", label="T"),
        make("cover_needs", team="t", competency="old", level=2, minimum=3, target=3, together="g", hours_per_year=9.0),
        make("cover_needs", team="t", competency="new", level=2, minimum=1, target=5, criticality=4),
        make("cover_needs", team="t", competency="old", level=3, minimum=1),
        make("equivalences", competency="old", level=2, counts_as="top", as_level=1),
        make("equivalences", competency="old", level=2, counts_as="new", as_level=1),
        make("orientation_items", id="i", label="I", offset_days=1, competency="old"),
    ]
    return Snapshot({}).with_changes(put=rows)


def retire(*takers: Taker, table: str = "competencies", old: str = "old") -> Snapshot:
    state = build_state()
    change = plan_retirement(state, table, old, takers, "Gone.", DAY)
    return state.with_changes(change.put, change.remove)


def test_a_replaced_competency_hands_on_all_that_names_it() -> None:
    after = retire(Taker("new"))
    assert after.retired.competencies["old"].retired_on == DAY
    assert [(row.old, row.new, row.carry, row.reason) for row in after.get_replacements(("competencies", "old"))] == [
        ("old", "new", "same", "Gone.")
    ]
    both, alone = after.get_record("requirements", ("both", "new")), after.get_record("requirements", ("alone", "new"))
    assert (both.level, both.entry_level, both.unsupervised_level) == (3, 2, 3)
    assert (both.weight, both.necessity, both.remark) == (5.0, "blocking", "By hand.")
    assert (both.measured_level, both.learned_on_job) == (None, None)
    assert (alone.level, alone.weight, alone.learned_on_job) == (3, 2.0, False)
    (outcome,) = after.get_outcomes("k")
    assert (outcome.competency, outcome.level, outcome.renews) == ("new", 3, False)
    assert [(one.competency, one.level) for one in after.get_entry_conditions("k")] == [("new", 1)]
    merged, moved = after.get_cover_needs("t")
    assert (merged.competency, merged.level, merged.minimum, merged.target, merged.criticality) == ("new", 2, 3, 5, 4)
    assert (merged.together, merged.hours_per_year) == ("g", 9.0)
    assert (moved.competency, moved.level, moved.minimum) == ("new", 3, 1)
    assert after.competencies["below"].broader == ("new",)
    assert after.competencies["tied"].holds_while == ("new",)
    assert [(row.competency, row.counts_as) for row in after.get_table("equivalences").values()] == [("new", "top")]
    assert after.orientation_items["i"].competency == "new"


def test_what_is_wider_than_what_takes_the_place_is_not_put_under_it() -> None:
    after = retire(Taker("deep"))
    assert after.competencies["below"].broader == ("top",)
    assert after.competencies["deep"].broader == ("below",)


def test_each_part_of_what_is_split_is_asked_taught_and_needed() -> None:
    after = retire(Taker("new"), Taker("part", "none"))
    assert [(row.new, row.carry) for row in after.get_replacements(("competencies", "old"))] == [
        ("new", "declared"),
        ("part", "none"),
    ]
    assert [(row.role, row.competency, row.level) for row in after.get_table("requirements").values()] == [
        ("alone", "new", 3),
        ("alone", "part", 3),
        ("both", "new", 3),
        ("both", "part", 3),
    ]
    assert {one.competency for one in after.get_outcomes("k")} == {"new", "part"}
    assert {(one.competency, one.level) for one in after.get_cover_needs("t")} == {
        (one, level) for one in ("new", "part") for level in (2, 3)
    }
    assert after.competencies["below"].broader == ("top",)
    # which part is meant, a person must say
    assert after.competencies["tied"].holds_while == ("old",)
    assert len(after.get_table("equivalences")) == 2
    assert after.orientation_items["i"].competency == "old"


def test_what_names_a_competency_that_nothing_replaces_goes_with_it() -> None:
    after = retire()
    assert list(after.get_table("requirements")) == [("both", "new")]
    assert [one.competency for one in after.get_outcomes("k")] == ["new"]
    assert after.get_entry_conditions("k") == ()
    assert [one.competency for one in after.get_cover_needs("t")] == ["new"]
    assert after.competencies["below"].broader == ("top",)
    assert after.competencies["tied"].holds_while == ()
    assert not after.get_table("equivalences")
    assert after.orientation_items["i"].competency == ""


def test_a_role_and_a_course_keep_what_hangs_on_them() -> None:
    after = retire(Taker("alone"), table="roles", old="both")
    assert {key[0] for key in after.retired.get_table("requirements")} == {"both"}
    assert [row.competency for row in after.get_requirements("alone")] == ["old"]
    after = retire(table="courses", old="k")
    assert [row.competency for row in after.retired.get_table("outcomes").values()] == ["new", "old"]


@pytest.mark.parametrize(
    ("takers", "old", "parameter"),
    [
        ((Taker("old"),), "old", "replaced_by"),
        ((Taker("new"), Taker("new")), "old", "replaced_by"),
        ((Taker("nowhere"),), "old", "replaced_by"),
        ((Taker("new", "half"),), "old", "replaced_by"),
        ((), "nowhere", "id"),
    ],
)
def test_what_cannot_be_retired_so_is_refused_by_its_name(takers: tuple[Taker, ...], old: str, parameter: str) -> None:
    with pytest.raises(InputError) as error:
        retire(*takers, old=old)
    assert error.value.context["parameter"] == parameter


def test_needs_of_two_groups_do_not_become_one() -> None:
    state = build_state()
    need = make("cover_needs", team="t", competency="new", level=2, minimum=1, together="h")
    state = state.with_changes(put=[need])
    with pytest.raises(InputError, match="two groups"):
        plan_retirement(state, "competencies", "old", [Taker("new")], "", DAY)
