"""What a rotation can be asked: dates and intervals, who takes part, and what contradicts itself."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from rotation_cases import place, rotate
from small_company import ON
from small_team import build_team_rows

from ontology.analysis.rotation.rotation_asked import RotationAsked, get_dates
from ontology.errors import InputError, UnknownIdError


def test_team_without_places_has_nothing_to_do() -> None:
    result = rotate(build_team_rows(p={"a": 3}), "relieve-strain")
    assert (result.status, result.rows, result.moves) == ("nothing-to-do", (), 0)
    assert len(result.intervals) == 6


def test_place_whose_role_asks_for_nothing_is_for_nobody() -> None:
    result = rotate(build_team_rows(p={"a": 3}), "relieve-strain", {"places": [place("x", "rnone")]}, intervals=1)
    assert (result.status, result.reasons[0].places, result.reasons[0].people) == ("infeasible", ("x",), ())
    assert "no requirements" in result.remarks[0]


def test_dates_of_intervals_follow_each_other_and_the_last_day_cuts_the_last() -> None:
    start = date(2026, 12, 1)
    dates = get_dates(RotationAsked("learn", ON, start, until=date(2027, 1, 1), interval_weeks=2))
    assert dates == (
        (date(2026, 12, 1), date(2026, 12, 14)),
        (date(2026, 12, 15), date(2026, 12, 28)),
        (date(2026, 12, 29), date(2027, 1, 1)),
    )
    assert len(get_dates(RotationAsked("learn", ON, start, until=start))) == 1


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"intervals": 2, "until": ON}, "not both"),
        ({"until": ON - timedelta(days=1)}, "before it starts"),
        ({"until": date(9999, 1, 1)}, "not between"),
        ({"start": date(9999, 12, 1)}, "beyond the calendar"),
        ({"minimum_stay": 7}, "does not fit"),
        ({"minimum_stay": 3, "maximum_stay": 2}, "below the minimum"),
        ({"purpose": "relieve-strain", "learners": frozenset({("q", None)})}, "the purpose is"),
        ({"purpose": "relieve-strain", "practice": 1}, "Practice is asked for"),
        ({"learners": frozenset({("p", "x")})}, "able for it already"),
        ({"learners": frozenset({("q", "w")})}, "no place of team"),
        ({"learners": frozenset({("q", "z")})}, "asks for nothing"),
        ({"learners": frozenset({("q", "y")})}, "another shift"),
        ({"learners": frozenset({("q", "x")}), "people": frozenset({"p"})}, "does not take part"),
        ({"people": frozenset({"u"})}, "no member"),
        ({"places": frozenset({"w"})}, "no place of team"),
    ],
)
def test_question_that_contradicts_itself_or_the_team_is_refused(asked: dict[str, Any], words: str) -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 1})
    rows["teams"].append({"id": "o", "label": "Other"})
    rows["people"].append({"id": "u", "name": "u", "team": "o"})
    rows["shifts"] = [{"id": "early", "team": "t", "label": "early"}]
    places = [place("x"), place("y", shift="early"), place("z", "rnone")]
    with pytest.raises(InputError, match=words):
        rotate(rows, asked.pop("purpose", "learn"), {"places": places}, **asked)


def test_unknown_ids_are_refused_and_so_is_too_large_a_question() -> None:
    rows = build_team_rows(p={"a": 3})
    with pytest.raises(UnknownIdError):
        rotate(rows, people=frozenset({"nosuch"}))
    with pytest.raises(UnknownIdError):
        rotate(rows, away=frozenset({"nosuch"}))
    many = build_team_rows(**{f"p{n}": {} for n in range(60)})
    with pytest.raises(InputError, match="too many"):
        rotate(many, more={"places": [place(f"x{n}") for n in range(20)]}, intervals=60)


def test_only_the_people_and_places_asked_for_take_part() -> None:
    rows = build_team_rows(p={"a": 3}, q={"a": 3}, r={"b": 2})
    places = [place("x"), place("y", "rb"), place("z")]
    asked = {"people": frozenset({"q", "r"}), "places": frozenset({"x", "y"}), "intervals": 1}
    result = rotate(rows, "relieve-strain", {"places": places}, **asked)
    assert [(row.place, row.person) for row in result.rows] == [("x", "q"), ("y", "r")]
    gone = rotate(rows, "relieve-strain", {"places": places}, away=frozenset({"q"}), **asked)
    assert (gone.status, gone.away, gone.reasons[0].places) == ("infeasible", ("q",), ("x",))


def test_period_may_reach_to_the_end_of_the_calendar() -> None:
    (dates,) = get_dates(RotationAsked("learn", ON, date.max - timedelta(days=28), intervals=1))
    assert dates == (date.max - timedelta(days=28), date.max - timedelta(days=1))
