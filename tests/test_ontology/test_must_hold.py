"""On which days something must be held: runs, grace, changes of role, places, what a competency holds together with."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.obligations.must_hold import find_must_hold
from ontology.analysis.obligations.rows import ObligationRow
from ontology.analysis.obligations.spans import BEFORE, LAST
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)
Span = tuple[date | None, date | None]
CERTIFICATE = {"scale": "held", "kind": "certificate"}
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": build_scale("held", 2),
    "competencies": [
        {"id": "mask", "label": "Mask", **CERTIFICATE},
        {"id": "rescue", "label": "Rescue", **CERTIFICATE, "holds_while": ("mask",)},
        {"id": "lead", "label": "Rescue lead", **CERTIFICATE, "holds_while": ("rescue",)},
        {"id": "crane", "label": "Crane", **CERTIFICATE},
    ],
    "roles": [{"id": i, "label": i} for i in ("rigger", "clerk")],
    "sites": [{"id": i, "label": i} for i in ("north", "south")],
    "teams": [
        {"id": "works", "label": "Works", "site": "north"},
        {"id": "crew", "label": "Crew", "part_of": "works"},
        {"id": "office", "label": "Office", "site": "south"},
    ],
    "places": [{"id": "hook", "team": "crew", "role": "rigger"}],
    "people": [{"id": "p", "name": "P", "team": "crew", "role": "clerk", "start_date": D(2026, 1, 1)}],
}


def obligation(row_id: str, competency: str = "crane", **more: Any) -> dict[str, Any]:
    return {"id": row_id, "label": row_id, "competency": competency} | more


def build(*obligations: dict[str, Any], **more: Any) -> Snapshot:
    return build_snapshot(**(ROWS | {"obligations": list(obligations)} | more))


def find_spans(snapshot: Snapshot, competency: str = "crane", level: int = 1) -> list[Span]:
    """Return the days on which it must be held; None for a beginning that is not known, or no end."""
    must = find_must_hold(snapshot, "p").get((competency, level))
    days = must.days if must else ()
    return [(None if a == BEFORE else D.fromordinal(a), None if b == LAST else D.fromordinal(b)) for a, b in days]


def get_rows(snapshot: Snapshot, on: date = ON) -> dict[str, ObligationRow]:
    return {row.competency: row for row in find_person_obligations(snapshot, "p", on=on).rows}


@pytest.mark.parametrize(
    ("rule", "of", "bound"),
    [
        ("everyone", "", True),
        ("role", "clerk", True),
        ("role", "rigger", False),
        ("team", "crew", True),
        ("team", "works", True),
        ("team", "office", False),
        ("site", "north", True),
        ("site", "south", False),
        ("place", "hook", False),
    ],
)
def test_rule_binds_those_it_names(rule: str, of: str, bound: bool) -> None:
    assert find_spans(build(obligation("o", rule=rule, of=of))) == ([(D(2026, 1, 1), None)] if bound else [])


def test_obligation_binds_from_its_first_day_to_its_last() -> None:
    snapshot = build(obligation("o", from_date=D(2026, 3, 1), to_date=D(2026, 3, 31)))
    assert find_spans(snapshot) == [(D(2026, 3, 1), D(2026, 3, 31))]


def test_duty_at_a_place_binds_on_its_days_and_touching_duties_are_one_run() -> None:
    duty = {"person": "p", "place": "hook"}
    duties = [
        duty | {"from_date": D(2026, 5, 1), "to_date": D(2026, 5, 3)},
        duty | {"from_date": D(2026, 5, 4), "to_date": D(2026, 5, 4)},
        duty | {"from_date": D(2026, 6, 1), "to_date": D(2026, 6, 9)},
    ]
    snapshot = build(obligation("o", rule="place", of="hook", days_after=2), duties=duties)
    assert find_spans(snapshot) == [(D(2026, 5, 3), D(2026, 5, 4)), (D(2026, 6, 3), D(2026, 6, 9))]


def test_days_of_grace_are_counted_from_the_first_day_of_the_run() -> None:
    assert find_spans(build(obligation("o", days_after=30))) == [(D(2026, 1, 31), None)]
    assert find_spans(build(obligation("o", days_after=30, to_date=D(2026, 1, 20)))) == []


def test_run_without_a_known_beginning_has_no_grace() -> None:
    people = [{"id": "p", "name": "P", "team": "crew", "role": "clerk"}]
    snapshot = build(obligation("o", days_after=30), people=people)
    assert find_spans(snapshot) == [(None, None)]
    row = get_rows(snapshot)["crane"]
    assert (row.state, row.due, row.days_left, row.is_late) == ("overdue", None, None, True)
    # it begins with the obligation where that has a first day
    begun = build(obligation("o", days_after=30, from_date=D(2026, 11, 1)), people=people)
    assert find_spans(begun) == [(D(2026, 12, 1), None)]


def test_grace_of_a_second_obligation_opens_no_hole_behind_the_first() -> None:
    """Trap 3: a union of obligations is a set of days, not the earliest due of each."""
    first = obligation("a", to_date=D(2026, 6, 30))
    behind = obligation("b", days_after=60, from_date=D(2026, 7, 1))
    assert find_spans(build(first, behind)) == [(D(2026, 1, 1), None)]
    # begun on the same day as the first, which ends within its grace
    beside = obligation("b", days_after=365)
    assert find_spans(build(first, beside)) == [(D(2026, 1, 1), None)]
    # a day between them, and the grace is there
    later = obligation("b", days_after=60, from_date=D(2026, 7, 2))
    assert find_spans(build(first, later)) == [(D(2026, 1, 1), D(2026, 6, 30)), (D(2026, 8, 31), None)]


def test_grace_is_none_only_at_the_same_level() -> None:
    first = obligation("a", level=2, to_date=D(2026, 6, 30))
    second = obligation("b", days_after=60, from_date=D(2026, 7, 1))
    assert find_spans(build(first, second)) == [(D(2026, 8, 30), None)]


def test_obligation_in_its_grace_is_named_where_it_takes_over() -> None:
    first = obligation("a", to_date=ON)
    second = obligation("b", days_after=900, from_date=ON.replace(day=17))
    waiting = obligation("c", competency="mask", days_after=900, from_date=ON)
    rows = get_rows(build(first, second, waiting))
    assert rows["crane"].obligations == ("a", "b")
    assert "mask" not in rows


def test_obligation_that_asks_on_none_of_the_days_of_the_year_is_not_named() -> None:
    always = obligation("a")
    after = obligation("b", from_date=D(2027, 11, 17))
    assert get_rows(build(always, after))["crane"].obligations == ("a",)
    # in its grace it asks where it had to be held the day before: not on the first such day
    last = obligation("a", from_date=D(2027, 11, 16))
    assert get_rows(build(last, obligation("b", from_date=ON, days_after=900)))["crane"].obligations == ("a",)


def test_what_it_holds_together_with_is_bound_with_it_at_level_one() -> None:
    snapshot = build(obligation("o", competency="lead", level=2), obligation("mask-2", competency="mask", level=2))
    rows = find_person_obligations(snapshot, "p", on=ON).rows
    assert {(row.competency, row.level): row.obligations for row in rows} == {
        ("lead", 2): ("o",),
        ("rescue", 1): ("o",),
        ("mask", 1): ("o",),
        ("mask", 2): ("mask-2",),
    }


def test_change_of_role_is_shown_ahead_and_ends_what_was_asked_before() -> None:
    """The old ones end the day before the first day in the new role; all that was earned counts."""
    moves = [{"person": "p", "from_date": D(2026, 12, 1), "team": "crew", "role": "rigger"}]
    held = {"person": "p", "competency": "crane", "level": 1, "date": D(2026, 2, 1), "source": "certificate"}
    old = obligation("old", competency="mask", rule="role", of="clerk")
    new = obligation("new", rule="role", of="rigger")
    snapshot = build(old, new, memberships=moves)
    assert find_spans(snapshot, "mask") == [(D(2026, 1, 1), D(2026, 11, 30))]
    assert find_spans(snapshot) == [(D(2026, 12, 1), None)]
    row = get_rows(snapshot)["crane"]
    assert (row.state, row.due, row.days_left) == ("within-30", D(2026, 12, 1), 15)
    assert get_rows(build(old, new, memberships=moves, assessments=[held]))["crane"].state == "current"
    assert "mask" not in get_rows(snapshot, D(2026, 12, 1))


def test_row_stands_for_who_must_hold_it_within_a_year() -> None:
    last = D(2027, 11, 16)  # 365 days on
    assert (last - ON).days == 365
    assert "crane" in get_rows(build(obligation("o", from_date=last)))
    assert "crane" not in get_rows(build(obligation("o", from_date=D(2027, 11, 17))))
    assert "crane" in get_rows(build(obligation("o", to_date=ON)))
    assert "crane" not in get_rows(build(obligation("o", to_date=D(2026, 11, 15))))


def test_nobody_is_bound_before_the_first_day_or_after_the_last() -> None:
    people = [{"id": "p", "name": "P", "start_date": D(2026, 2, 1), "end_date": D(2026, 12, 24)}]
    assert find_spans(build(obligation("o"), people=people)) == [(D(2026, 2, 1), D(2026, 12, 24))]
    assert get_rows(build(obligation("o"), people=people), D(2026, 12, 25)) == {}
