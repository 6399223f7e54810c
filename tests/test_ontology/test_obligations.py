"""The worked example of obligations, by hand: what is due, by which act, and the last day to begin with it."""

from __future__ import annotations

from datetime import date

import pytest
from first_aid import ON, build

from ontology.analysis.obligations.due_lists import find_person_obligations, find_team_obligations
from ontology.analysis.obligations.rows import ObligationRow
from ontology.snapshot.snapshot import Snapshot

D = date


def get_row(snapshot: Snapshot, person: str, on: date = ON) -> ObligationRow:
    (row,) = find_person_obligations(snapshot, person, on=on).rows
    return row


@pytest.mark.parametrize(
    ("person", "state", "due", "act", "last_day", "is_late"),
    [
        ("ends", "within-60", D(2026, 12, 20), "renew", D(2026, 12, 12), False),
        ("hired", "overdue", D(2026, 11, 2), "learn", D(2026, 10, 16), True),
        ("starts", "within-30", D(2026, 12, 1), "learn", D(2026, 11, 14), True),
        ("away", "within-30", D(2026, 12, 14), "renew", D(2026, 12, 6), False),
    ],
)
def test_worked_example(person: str, state: str, due: date, act: str, last_day: date, is_late: bool) -> None:
    """The worked example of the page on obligations, each figure by hand."""
    row = get_row(build(), person)
    told = (row.state, row.due, row.first_act, row.last_day_to_act, row.is_late)
    assert told == (state, due, act, last_day, is_late)
    assert row.days_left == (due - ON).days
    assert (row.obligations, row.legal_basis) == (("aid",), ("house rule 7",))


def test_team_tells_the_worst_first() -> None:
    result = find_team_obligations(build(), "crew", on=ON)
    assert [row.person for row in result.rows] == ["hired", "starts", "away", "ends"]
    assert (result.counts.overdue, result.counts.within_30, result.counts.within_60) == (1, 2, 1)
    assert (result.people, result.people_overdue) == (4, 1)


def test_reason_says_what_is_missing_since_when_and_what_to_do() -> None:
    snapshot = build()
    assert [get_row(snapshot, person).reason for person in ("ends", "hired", "starts", "away")] == [
        "First aid is held until 2026-12-20; renew it by First aid refresher.",
        "First aid has had to be held since 2026-11-02 and no certificate of it is recorded; "
        "learn it by First aid course.",
        "First aid must be held from 2026-12-01 on and no certificate of it is recorded; learn it by First aid course.",
        "First aid is no longer held: the last valid day was 2026-08-01, due on 2026-12-14, the first day back; "
        "renew it by First aid refresher.",
    ]
