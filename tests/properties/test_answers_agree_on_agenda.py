"""An agenda holds what the answers about obligations, newcomers and bookings say, and nothing else; a team's is its
people's."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta

import newcomers
import obligation_companies
import pytest

from ontology.analysis.agenda.agenda import AgendaRow, build_person_agenda, build_team_agenda
from ontology.analysis.obligations.due_lists import find_person_obligations, find_team_obligations
from ontology.analysis.orientation.open_orientation import find_open_orientation
from ontology.analysis.sessions.seat_lists import find_bookings
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

_SEEDS = 80


def iterate_companies(first: int) -> Iterator[tuple[Snapshot, date, int]]:
    for seed in range(first, first + _SEEDS // 2):
        rng = random.Random(seed)
        for snapshot, on in (
            (obligation_companies.build_company(seed), obligation_companies.ON),
            (newcomers.build(newcomers.draw_newcomers(seed)), newcomers.ON),
        ):
            yield appoint(snapshot, on, rng), on, rng.choice([0, 14, 90, 366])


def appoint(snapshot: Snapshot, on: date, rng: random.Random) -> Snapshot:
    """Return a company with appointments, some of which end soon."""
    rows = [
        TABLES["appointments"].build(
            person=person,
            competency=rng.choice(list(snapshot.competencies)),
            from_date=date(2026, 1, 5),
            to_date=rng.choice([None, on + timedelta(days=rng.randint(-2, 100))]),
        )
        for person in snapshot.people
    ]
    return snapshot.with_changes([("appointments", row) for row in rows], ())


def expect(snapshot: Snapshot, person_id: str, on: date, until: date) -> list[tuple[object, ...]]:
    """Return the rows as the other answers tell them."""
    if (snapshot.people[person_id].end_date or date.max) < on:
        return []
    rows = (row for row in iterate_expected(snapshot, person_id, on) if row[0] <= until)
    return sorted(rows)


def iterate_expected(snapshot: Snapshot, person_id: str, on: date) -> Iterator[tuple[date, str, str, str, bool]]:
    for row in find_person_obligations(snapshot, person_id, on=on).rows:
        if row.state in ("overdue", "within-30", "within-60", "within-90"):
            act = row.last_day_to_act
            day = act if act is not None and act >= on else row.due or on
            yield day, "obligation", person_id, row.competency, row.is_late
    for owner in find_open_orientation(snapshot, on).owners:
        for item in owner.items:
            if item.person == person_id:
                yield item.due, "orientation", person_id, item.item, item.state == "overdue"
    for seat in find_bookings(snapshot, person_id, on).rows:
        if seat.state == "booked" and seat.status == "confirmed" and seat.last_day >= on:
            yield seat.first_day, "session", person_id, seat.session, False
    for appointment in snapshot.get_table("appointments").values():
        if appointment.person == person_id and appointment.to_date and appointment.to_date >= on:
            yield appointment.to_date, "appointment", person_id, appointment.competency, False


def tell(rows: tuple[AgendaRow, ...]) -> list[tuple[object, ...]]:
    return [(row.day, row.kind, row.person, row.id, row.is_late) for row in rows]


@pytest.mark.parametrize("first", range(0, _SEEDS, _SEEDS // 2))
def test_an_agenda_is_what_the_other_answers_say(first: int) -> None:
    kinds = set()
    for snapshot, on, days in iterate_companies(first):
        for person_id in snapshot.people:
            rows = build_person_agenda(snapshot, person_id, on, days=days).rows
            assert sorted(tell(rows)) == expect(snapshot, person_id, on, on + timedelta(days=days))
            assert list(rows) == sorted(rows, key=lambda r: (r.day, r.kind, r.person, r.id, r.level or 0))
            kinds |= {row.kind for row in rows}
    assert kinds == {"appointment", "obligation", "orientation", "session"}


@pytest.mark.parametrize("first", range(0, _SEEDS, _SEEDS // 2))
def test_a_team_has_the_agenda_of_its_people(first: int) -> None:
    for snapshot, on, days in iterate_companies(first):
        for team in snapshot.teams:
            rows = build_team_agenda(snapshot, team, on, days=days).rows
            people = dict.fromkeys(row.person for row in rows)
            each = [row for person in people for row in build_person_agenda(snapshot, person, on, days=days).rows]
            assert sorted(tell(rows)) == sorted(tell(tuple(each)))
            obliged = {r.person for r in find_team_obligations(snapshot, team, on=on).rows}
            assert {row.person for row in rows if row.kind == "obligation"} <= obliged
