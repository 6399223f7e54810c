"""What a leave would break: by hand on a small crew, and against asking every single day."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from agreeing_companies import draw_rows
from small_company import ON, build_scale

from ontology.analysis.cover.presence import get_presence
from ontology.analysis.outlook.leave_check import check_leave
from ontology.analysis.outlook.leave_rows import LeaveBreak, LeaveCheckResult
from ontology.analysis.places.holding import find_broken
from ontology.analysis.places.stand_ins import find_stand_ins
from ontology.errors import InputError, UnknownIdError
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

DAY = timedelta(days=1)


def compile_rows(rows: dict[str, list[dict[str, Any]]]) -> Snapshot:
    return Snapshot({name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()})


def build_crew(**more: list[dict[str, Any]]) -> Snapshot:
    """A night crew: a and b are able, the place takes one; b is away 2026-12-07..12-11; c stands in from another team.

    The days and people are made up: common practice, no source.
    """
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale("s3", 3),
        "competencies": [{"id": "run", "label": "Running the plant", "scale": "s3"}],
        "roles": [{"id": "operator", "label": "Operator"}],
        "requirements": [{"role": "operator", "competency": "run", "level": 2}],
        "teams": [{"id": "night", "label": "Night"}, {"id": "day", "label": "Day"}],
        "people": [{"id": i, "name": i.upper(), "team": "night"} for i in "ab"]
        + [{"id": i, "name": i.upper(), "team": "day"} for i in "cd"],
        "assessments": [
            {"person": i, "competency": "run", "level": 2, "date": date(2026, 1, 5), "source": "assessor"}
            for i in "abc"
        ],
        "absences": [{"person": "b", "from_date": date(2026, 12, 7), "to_date": date(2026, 12, 11)}],
        "places": [{"id": "desk", "team": "night", "role": "operator"}],
        "cover_needs": [{"team": "night", "competency": "run", "level": 2, "minimum": 1, "target": 2}],
    }
    return compile_rows(rows | more)


def check(snapshot: Snapshot, first: date, last: date, **more: Any) -> LeaveCheckResult:
    return check_leave(snapshot, "night", ON, person_id="a", from_date=first, to_date=last, **more)


def test_what_breaks_is_told_with_its_days_and_the_nearest_free_days() -> None:
    result = check(build_crew(), date(2026, 12, 5), date(2026, 12, 9))
    assert [(row.kind, row.place, row.competency, row.from_date, row.to_date) for row in result.breaks] == [
        ("need", None, "run", date(2026, 12, 7), date(2026, 12, 9)),
        ("place", "desk", None, date(2026, 12, 7), date(2026, 12, 9)),
    ]
    assert (result.days, result.days_breaking) == (5, 3)
    assert result.free_before is not None
    assert result.free_after is not None
    # five days in a row that end before the 7th, or begin after the 11th
    assert (result.free_before.from_date, result.free_before.to_date) == (date(2026, 12, 2), date(2026, 12, 6))
    assert (result.free_after.from_date, result.free_after.to_date) == (date(2026, 12, 12), date(2026, 12, 16))


def test_stand_ins_come_with_their_days_and_what_they_leave_behind() -> None:
    away = [
        {"person": "b", "from_date": date(2026, 12, 7), "to_date": date(2026, 12, 11)},
        {"person": "c", "from_date": date(2026, 12, 8), "to_date": date(2026, 12, 8)},
    ]
    need = {"team": "day", "competency": "run", "level": 2}
    result = check(
        build_crew(absences=away, cover_needs=[{"team": "night", "competency": "run", "level": 2}]),
        date(2026, 12, 7),
        date(2026, 12, 9),
    )
    for row in result.breaks:
        assert [(one.person, one.team, one.from_date, one.to_date) for one in row.stand_ins] == [
            ("c", "day", date(2026, 12, 7), date(2026, 12, 7)),
            ("c", "day", date(2026, 12, 9), date(2026, 12, 9)),
        ]
        assert all(not one.leaves_needs for one in row.stand_ins)
    missed = check(
        build_crew(cover_needs=[{"team": "night", "competency": "run", "level": 2}, need]),
        date(2026, 12, 7),
        date(2026, 12, 7),
    )
    (one,) = missed.breaks[0].stand_ins
    assert [fallen.competency for fallen in one.leaves_needs] == ["run"]


def test_duties_within_the_leave_are_told_also_those_that_are_watched_over() -> None:
    duties = [
        {"person": "a", "place": "desk", "from_date": date(2026, 12, 1), "to_date": date(2026, 12, 6)},
        {"person": "b", "place": "desk", "from_date": date(2026, 12, 6), "supervised_by": "a"},
        {"person": "a", "place": "desk", "from_date": date(2026, 12, 20)},
    ]
    result = check(build_crew(duties=duties), date(2026, 12, 5), date(2026, 12, 9))
    assert [(row.person, row.supervised_by, row.from_date, row.to_date) for row in result.duties] == [
        ("a", None, date(2026, 12, 5), date(2026, 12, 6)),
        ("b", "a", date(2026, 12, 6), date(2026, 12, 6)),
    ]


def test_days_on_which_they_are_away_already_break_nothing_and_are_told() -> None:
    absences = [{"person": i, "from_date": date(2026, 12, 7), "to_date": date(2026, 12, 11)} for i in "ab"]
    result = check(build_crew(absences=absences), date(2026, 12, 7), date(2026, 12, 9))
    assert result.breaks == ()
    assert "from 2026-12-07 to 2026-12-09 already" in result.remarks[0]


def test_other_days_are_looked_for_within_the_weeks_alone_and_not_before_the_day_asked_about() -> None:
    # b is gone for good: every day breaks
    gone = [{"id": "a", "name": "A", "team": "night"}, {"id": "b", "name": "B", "team": "night", "end_date": ON}]
    result = check(
        build_crew(
            people=gone,
            absences=[],
            assessments=[
                {"person": i, "competency": "run", "level": 2, "date": date(2026, 1, 5), "source": "assessor"}
                for i in "ab"
            ],
        ),
        ON + 3 * DAY,
        ON + 4 * DAY,
    )
    assert (result.free_before, result.free_after) == (None, None)
    two = check(build_crew(), date(2026, 12, 7), date(2026, 12, 7), weeks=0)
    assert (two.free_before, two.free_after) == (None, None)


@pytest.mark.parametrize(
    ("first", "last", "parameter"),
    [(date(2026, 12, 5), date(2026, 12, 4), "to"), (date(2026, 12, 5), date(2027, 12, 6), "to")],
)
def test_a_leave_that_is_none_is_refused(first: date, last: date, parameter: str) -> None:
    with pytest.raises(InputError) as caught:
        check(build_crew(), first, last)
    assert caught.value.context["parameter"] == parameter


def test_who_is_no_member_or_unknown_is_refused() -> None:
    for person, error in (("c", InputError), ("nobody", UnknownIdError)):
        with pytest.raises(error):
            check_leave(build_crew(), "night", ON, person_id=person, from_date=ON, to_date=ON)


# ---- against asking every day -----------------------------------------------------------------------------------


def list_fallen(snapshot: Snapshot, team: str, person: str, day: date) -> Counter[tuple[Any, ...]]:
    fallen = find_broken(get_presence(snapshot, team, day), {person})
    items: Counter[tuple[Any, ...]] = Counter(
        {("need", n.competency, n.level, n.applies, n.shift): 1 for n in fallen.needs}
    )
    items.update(("place", place) for place in fallen.places)
    for need in fallen.together:
        items["together", need.competency, need.level, need.applies, need.shift] += need.slots
    return items


def get_key(row: LeaveBreak) -> tuple[Any, ...]:
    if row.kind == "place":
        return "place", row.place
    return row.kind, row.competency, row.level, row.applies, row.shift


def list_stand_ins(
    snapshot: Snapshot, team: str, person: str, day: date, row: LeaveBreak
) -> set[tuple[Any, ...]] | None:
    """Ask who could stand in on one day, by the question of its own; None for a place it does not tell of.

    That question tells of the places its person can fill; a leave also empties one that another leaves for theirs.
    """
    away = frozenset({person})
    if row.kind == "place":
        answer = find_stand_ins(snapshot, team, day, person_id=person, away=away)
        found = [one for one in answer.places if one.place == row.place]
        if not found:
            return None
        people = [one for one in found[0].stand_ins if not one.is_same_slot]
    else:
        answer = find_stand_ins(snapshot, team, day, competency_id=row.competency, level=row.level, away=away)
        (need,) = [n for n in answer.needs if (n.competency, n.level, n.applies, n.shift) == get_key(row)[1:]]
        is_need = row.kind == "need"
        people = [one for one in need.stand_ins if not (one.counts_already if is_need else one.is_same_slot)]
    return {(one.person, one.team, one.leaves_needs, one.leaves_places, one.leaves_together) for one in people}


@pytest.mark.parametrize("seed", range(40))
def test_every_day_says_what_coverage_staffing_and_stand_ins_say_of_it(seed: int) -> None:
    snapshot = compile_rows(draw_rows(seed))
    first, last, weeks = ON + (seed % 9) * DAY, ON + (seed % 9 + 3 + seed % 17) * DAY, 2
    asked = 0
    for person in snapshot.people.values():
        try:
            result = check_leave(
                snapshot, person.team, ON, person_id=person.id, from_date=first, to_date=last, weeks=weeks
            )
        except InputError:
            continue
        asked += 1
        for n in range((last - first).days + 1):
            day = first + n * DAY
            rows = [row for row in result.breaks if row.from_date <= day <= row.to_date]
            told = Counter({get_key(row): row.slots for row in rows})
            assert told == list_fallen(snapshot, person.team, person.id, day), (person.id, day)
            for row in rows:
                there = {
                    (one.person, one.team, one.leaves_needs, one.leaves_places, one.leaves_together)
                    for one in row.stand_ins
                    if one.from_date <= day <= one.to_date
                }
                assert list_stand_ins(snapshot, person.team, person.id, day, row) in (None, there), (person.id, day)
        length = (last - first).days + 1

        def is_free(begin: date, person_id: str = person.id, team: str = person.team, length: int = length) -> bool:
            return not any(list_fallen(snapshot, team, person_id, begin + n * DAY) for n in range(length))

        before = [first - n * DAY for n in range(1, 7 * weeks + 1) if first - n * DAY >= ON]
        after = [first + n * DAY for n in range(1, 7 * weeks + 1)]
        for span, days in ((result.free_before, before), (result.free_after, after)):
            assert (span.from_date if span else None) == next((day for day in days if is_free(day)), None)
    assert asked
