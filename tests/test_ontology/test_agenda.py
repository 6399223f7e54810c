"""Everything dated of a person and of a team's people, each row and their order by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.agenda.agenda import build_person_agenda, build_team_agenda
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

D = date
ON = D(2026, 11, 16)


def build(**more: Any) -> Snapshot:
    """Return a crew: a must renew first aid soon, b starts soon, c is late and booked; d belongs to another team.

    The course takes 16 hours, 0.4 weeks, with 2 weeks of lead: 2.4 weeks are 17 days.
    """
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": [*build_scale("s1", 1), *build_scale("s3", 3)],
        "competencies": [
            {"id": "aid", "label": "First aid", "scale": "s1", "kind": "certificate"},
            {"id": "hoist", "label": "Hoists", "scale": "s3", "appointment": True},
        ],
        "courses": [
            {"id": "course", "label": "First aid course", "hours": 16.0, "lead_weeks": 2.0},
            {"id": "talk", "label": "Safety talk", "hours": 1.0},
        ],
        "outcomes": [{"course": "course", "competency": "aid", "level": 1}],
        "teams": [{"id": "crew", "label": "Crew"}, {"id": "office", "label": "Office"}],
        "people": [
            {"id": "a", "name": "A", "team": "crew"},
            {"id": "b", "name": "B", "team": "crew", "start_date": D(2026, 11, 20)},
            {"id": "c", "name": "C", "team": "crew"},
            {"id": "d", "name": "D", "team": "office"},
            {"id": "left", "name": "Left", "team": "crew", "end_date": D(2026, 11, 15)},
        ],
        "assessments": [
            {"person": person, "competency": "aid", "level": 1, "date": D(2025, 1, 1), "source": "certificate"}
            | {"valid_until": until}
            for person, until in (("a", D(2026, 12, 10)), ("c", D(2026, 11, 2)), ("d", D(2027, 2, 1)))
        ],
        "obligations": [{"id": "all", "label": "All", "competency": "aid"}],
        "sessions": [
            {"id": "s1", "course": "talk", "from_date": D(2026, 11, 15), "to_date": D(2026, 11, 16), "where": "Hall"},
            {"id": "s2", "course": "talk", "from_date": D(2026, 11, 15)},
            {"id": "s3", "course": "talk", "from_date": D(2026, 11, 30)},
            {"id": "s4", "course": "talk", "from_date": D(2026, 12, 1)},
            {"id": "s5", "course": "talk", "from_date": D(2026, 11, 25), "state": "cancelled"},
            {"id": "s6", "course": "talk", "from_date": D(2026, 11, 20)},
        ],
        "bookings": [
            *({"session": f"s{n}", "person": "a"} for n in range(1, 6)),
            {"session": "s6", "person": "a", "state": "waiting"},
            {"session": "s3", "person": "left"},
        ],
        "orientation_items": [
            {"id": "badge", "label": "Badge", "offset_days": -7},
            {"id": "tour", "label": "Tour", "offset_days": 3},
            {"id": "later", "label": "Later", "offset_days": 60},
        ],
        "appointments": [
            {"person": "a", "competency": "hoist", "from_date": D(2026, 1, 1), "to_date": ON, "level": 2},
            {"person": "c", "competency": "hoist", "from_date": D(2026, 1, 1), "to_date": D(2026, 11, 15)},
            {"person": "b", "competency": "hoist", "from_date": D(2026, 11, 20)},
        ],
    }
    return build_snapshot(**{name: [*some, *more.get(name, ())] for name, some in rows.items()})


def test_agenda_of_a_team_for_two_weeks() -> None:
    """What is past first.

    c is overdue since 2 November. b needs it from 20 November on: 17 days before lie in the past, so that day. a's ends
    on 10 December: 23 November is the last day to act. Sessions that are over, cancelled, later or only waited for are
    none; nor are appointments that have ended or have no end, and whoever has left.
    """
    result = build_team_agenda(build(), "crew", ON)
    assert result.until == D(2026, 11, 30)
    assert [(row.day, row.kind, row.person, row.id, row.is_late) for row in result.rows] == [
        (D(2026, 11, 2), "obligation", "c", "aid", True),
        (D(2026, 11, 13), "orientation", "b", "badge", True),
        (D(2026, 11, 15), "session", "a", "s1", False),
        (ON, "appointment", "a", "hoist", False),
        (D(2026, 11, 20), "obligation", "b", "aid", True),
        (D(2026, 11, 23), "obligation", "a", "aid", False),
        (D(2026, 11, 23), "orientation", "b", "tour", False),
        (D(2026, 11, 30), "session", "a", "s3", False),
    ]
    told = {(row.kind, row.person): row for row in result.rows}
    assert told["obligation", "a"].what == "First aid: learn it by First aid course, due 2026-12-10"
    assert told["obligation", "a"].due == D(2026, 12, 10)
    assert (told["appointment", "a"].level, told["appointment", "a"].what) == (2, "Hoists: the appointment ends")
    first = build_team_agenda(build(), "crew", ON, days=0).rows
    assert [row.day for row in first] == [D(2026, 11, 2), D(2026, 11, 13), D(2026, 11, 15), ON]


def test_agenda_of_a_person_for_ninety_days() -> None:
    def tell(person: str, **asked: int) -> list[tuple[date, str, str]]:
        return [(row.day, row.kind, row.id) for row in build_person_agenda(build(), person, ON, **asked).rows]

    assert tell("b") == [
        (D(2026, 11, 13), "orientation", "badge"),
        (D(2026, 11, 20), "obligation", "aid"),
        (D(2026, 11, 23), "orientation", "tour"),
        (D(2027, 1, 19), "orientation", "later"),
    ]
    # held until 1 February 2027: 77 days ahead, 15 January is the last day to act
    assert tell("d") == [(D(2027, 1, 15), "obligation", "aid")]
    assert tell("d", days=59) == []
    assert tell("left") == []


def test_what_is_not_due_within_ninety_days_is_on_no_agenda() -> None:
    until = {"person": "e", "competency": "aid", "level": 1, "date": D(2025, 1, 2), "source": "certificate"}
    for end, days in ((D(2027, 2, 14), 90), (D(2027, 2, 15), 91)):
        snapshot = build(people=[{"id": "e", "name": "E", "team": "crew"}], assessments=[until | {"valid_until": end}])
        rows = build_person_agenda(snapshot, "e", ON, days=366).rows
        assert (len(rows), (end - ON).days) == (1 if days == 90 else 0, days)


def test_a_seat_taken_stands_at_the_due_day_with_its_session() -> None:
    """Booked: no last day to act. And where nobody knows since when it must be held, it stands at the day asked."""
    session = {"id": "r1", "course": "course", "from_date": D(2026, 12, 1)}
    snapshot = build(
        sessions=[session],
        bookings=[{"session": "r1", "person": "a"}, {"session": "r1", "person": "f"}],
        people=[{"id": "f", "name": "F", "team": "crew"}],
    )
    told = {(r.person, r.kind, r.id): r for r in build_team_agenda(snapshot, "crew", ON, days=30).rows}
    row = told["a", "obligation", "aid"]
    assert (row.day, row.is_late) == (D(2026, 12, 10), False)
    assert row.what == "First aid: learn it by First aid course, booked for 2026-12-01, due 2026-12-10"
    row = told["f", "obligation", "aid"]
    assert (row.day, row.due, row.is_late) == (ON, None, True)
    assert told["a", "session", "r1"].day == D(2026, 12, 1)


def test_at_the_end_of_the_calendar_the_agenda_ends_too() -> None:
    assert build_person_agenda(build(), "a", D(9999, 12, 20)).until == date.max


@pytest.mark.parametrize("ask", [build_person_agenda, build_team_agenda])
def test_unknown_ids_are_told(ask: Any) -> None:
    with pytest.raises(UnknownIdError):
        ask(build(), "nobody", ON)
