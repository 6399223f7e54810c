"""Depth and state of cover needs: who counts, where, and which state comes first."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from small_company import ON
from small_team import assess, build_team, build_team_rows

from ontology.analysis.cover.chance import compute_chance_of_cover, compute_chance_of_cover_at_rates
from ontology.analysis.cover.coverage import CoverageRow, compute_coverage
from ontology.errors import InputError, UnknownIdError

DAY = timedelta(days=1)


def need(competency: str = "a", level: int = 2, **more: Any) -> dict[str, Any]:
    return {"team": "t", "competency": competency, "level": level} | more


def get_row(rows: dict[str, Any], away: frozenset[str] = frozenset(), **more: Any) -> CoverageRow:
    (row,) = compute_coverage(build_team(rows, **more), "t", ON, away).needs
    return row


@pytest.mark.parametrize(
    ("qualified", "minimum", "target", "away", "state"),
    [
        (0, 1, 1, 0, "short"),
        (2, 3, 3, 0, "short"),
        (1, 1, 1, 0, "sole-holder"),
        (3, 1, 3, 2, "sole-holder"),
        (2, 2, 2, 0, "no-reserve"),
        (2, 1, 3, 0, "below-target"),
        (3, 1, 3, 0, "covered"),
        (3, 1, 3, 1, "covered"),
    ],
)
def test_first_state_that_holds_is_given(qualified: int, minimum: int, target: int, away: int, state: str) -> None:
    people = [f"p{n}" for n in range(qualified)]
    rows = build_team_rows(other={"a": 1}, **{p: {"a": 2} for p in people})
    row = get_row(rows, frozenset(people[:away]), cover_needs=[need(minimum=minimum, target=target)])
    assert row.state == state
    assert row.depth == qualified - away
    assert row.qualified == tuple(people)
    assert row.present == tuple(people[away:])


def test_only_who_has_started_not_ended_and_is_not_absent_is_present() -> None:
    rows = build_team_rows(**{p: {"a": 2} for p in ("gone", "here", "last", "new", "off", "soon")})
    rows["people"] = [
        {"id": "here", "name": "n", "team": "t"},
        {"id": "new", "name": "n", "team": "t", "start_date": ON},
        {"id": "soon", "name": "n", "team": "t", "start_date": ON + DAY},
        {"id": "last", "name": "n", "team": "t", "end_date": ON},
        {"id": "gone", "name": "n", "team": "t", "end_date": ON - DAY},
        {"id": "off", "name": "n", "team": "t"},
    ]
    absences = [
        {"person": "off", "from_date": ON - DAY, "to_date": ON},
        {"person": "here", "from_date": ON + DAY, "to_date": ON + DAY},
    ]
    row = get_row(rows, cover_needs=[need()], absences=absences)
    assert row.present == ("here", "last", "new")
    assert row.qualified == ("here", "last", "new", "off")


def test_absent_are_those_recorded_and_those_taken_as_away() -> None:
    rows = build_team_rows(off={"a": 2}, out={"a": 2}, there={"a": 2})
    absences = [{"person": "off", "from_date": ON, "to_date": ON}]
    result = compute_coverage(build_team(rows, absences=absences), "t", ON, frozenset({"out"}))
    assert (result.absent, result.away) == (("off", "out"), ("out",))


def test_lapsed_certificate_does_not_count_and_review_due_skill_does() -> None:
    rows = build_team_rows(p={})
    rows["competencies"][0] |= {"kind": "certificate", "expiry": "hard"}
    old = {"valid_until": ON - DAY}
    rows["assessments"] = [assess("p", "a", 2) | old | {"source": "certificate"}, assess("p", "b", 2) | old]
    result = compute_coverage(build_team(rows, cover_needs=[need("a"), need("b")]), "t", ON)
    assert [row.depth for row in result.needs] == [0, 1]


def test_declared_levels_never_count() -> None:
    rows = build_team_rows(p={"a": 5})
    rows["assessments"][0]["source"] = "self"
    assert get_row(rows, cover_needs=[need()]).depth == 0


def test_members_of_a_part_do_not_count_in_the_whole() -> None:
    rows = build_team_rows(p={"a": 2})
    rows["teams"].append({"id": "part", "label": "Part", "part_of": "t"})
    rows["people"].append({"id": "q", "name": "q", "team": "part"})
    rows["assessments"].append(assess("q", "a", 5))
    assert get_row(rows, cover_needs=[need()]).qualified == ("p",)


def build_shifts() -> dict[str, Any]:
    rows = build_team_rows(early1={"a": 2}, early2={"a": 2}, late1={"a": 2}, nobody={"a": 2})
    rows["shifts"] = [{"id": s, "team": "t", "label": s} for s in ("early", "late", "night")]
    for person in rows["people"]:
        if person["id"] != "nobody":
            person["shift"] = person["id"][:-1]
    return rows


def test_each_shift_need_is_one_row_with_its_worst_shift() -> None:
    row = get_row(build_shifts(), cover_needs=[need(applies="each-shift")])
    assert (row.applies, row.shift, row.depth, row.state) == ("each-shift", "night", 0, "short")
    assert [(s.shift, s.depth, s.state) for s in row.shifts] == [
        ("early", 2, "covered"),
        ("late", 1, "sole-holder"),
        ("night", 0, "short"),
    ]


def test_need_of_one_shift_counts_its_people_and_team_need_everyone() -> None:
    needs = [need(applies="early"), need("a", 1)]
    result = compute_coverage(build_team(build_shifts(), cover_needs=needs), "t", ON)
    assert [(row.shift, row.depth, row.shifts) for row in result.needs] == [(None, 4, ()), ("early", 2, ())]


def test_each_shift_need_without_shifts_is_short_with_a_remark() -> None:
    rows = build_team_rows(p={"a": 2})
    result = compute_coverage(build_team(rows, cover_needs=[need(applies="each-shift")]), "t", ON)
    assert (result.needs[0].depth, result.needs[0].state, result.needs[0].shift) == (0, "short", None)
    assert "no shifts" in result.remarks[0]


def test_equally_deep_shifts_give_the_worse_state_then_the_smaller_id() -> None:
    rows = build_shifts()
    rows["people"] += [{"id": p, "name": p, "team": "t", "shift": s} for p, s in (("l", "late"), ("n", "night"))]
    rows["people"].append({"id": "n2", "name": "n2", "team": "t", "shift": "night"})
    rows["assessments"] += [assess(p, "a", 2) for p in ("l", "n", "n2")]
    row = get_row(rows, cover_needs=[need(applies="each-shift")])
    assert (row.shift, row.depth, row.state) == ("early", 2, "covered")
    rows["people"].append({"id": "e3", "name": "e3", "team": "t", "shift": "early"})
    rows["people"].append({"id": "n3", "name": "n3", "team": "t", "shift": "night"})
    rows["assessments"] += [assess(p, "a", 2) for p in ("e3", "n3")]
    away = frozenset({"e3", "n3"})
    row = get_row(rows, away, cover_needs=[need(applies="each-shift", target=3)])
    assert (row.shift, row.depth, row.state) == ("late", 2, "below-target")


def test_deeper_shift_below_target_is_told_in_a_remark() -> None:
    rows = build_shifts()
    rows["shifts"] = rows["shifts"][:2]
    more = [("e3", "early"), ("e4", "early"), ("l2", "late"), ("l3", "late")]
    rows["people"] += [{"id": p, "name": p, "team": "t", "shift": s} for p, s in more]
    rows["assessments"] += [assess(p, "a", 2) for p, _ in more]
    cover = [need(applies="each-shift", target=4)]
    result = compute_coverage(build_team(rows, cover_needs=cover), "t", ON, frozenset({"e3", "e4"}))
    assert (result.needs[0].shift, result.needs[0].state) == ("early", "covered")
    assert "shift late" in result.remarks[0]


def test_unknown_ids_are_refused_by_name() -> None:
    snapshot = build_team(build_team_rows(p={"a": 2}))
    with pytest.raises(UnknownIdError, match="nosuch"):
        compute_coverage(snapshot, "t", ON, frozenset({"nosuch"}))
    with pytest.raises(UnknownIdError, match="nosuch"):
        compute_coverage(snapshot, "nosuch", ON)


def test_one_snapshot_asked_again_for_other_people_and_days_answers_as_a_new_one() -> None:
    """Absent by record, away by question, on days when that differs: what is kept of a day never mixes them."""
    rows = build_team_rows(**{p: {"a": 2, "b": n % 3} for n, p in enumerate(("off", "p1", "p2", "p3"))})
    absences = [{"person": "off", "from_date": ON, "to_date": ON}]
    more = {"absences": absences, "cover_needs": [need(), need("b", 1, minimum=2)]}
    snapshot = build_team(rows, **more)
    for on in (ON, ON + DAY, ON):
        for away in (frozenset({"p1"}), frozenset[str](), frozenset({"off", "p2"}), frozenset({"p1", "p3"})):
            kept = compute_coverage(snapshot, "t", on, away)
            assert kept == compute_coverage(build_team(rows, **more), "t", on, away)
            gone = away | ({"off"} if on == ON else set())
            assert kept.needs[0].present == tuple(p for p in ("off", "p1", "p2", "p3") if p not in gone)
            assert kept.needs[0].qualified == ("off", "p1", "p2", "p3")


def test_someone_of_another_team_who_is_away_changes_nothing() -> None:
    rows = build_team_rows(p={"a": 2})
    rows["people"].append({"id": "stranger", "name": "s"})
    result = compute_coverage(build_team(rows, cover_needs=[need()]), "t", ON, frozenset({"stranger"}))
    assert (result.needs[0].depth, result.away, result.absent) == (1, ("stranger",), ())


@pytest.mark.parametrize(("n", "minimum", "chance"), [(0, 0, 1.0), (0, 1, 0.0), (2, 3, 0.0), (2, 2, 0.25)])
def test_chance_of_cover_at_the_edges(n: int, minimum: int, chance: float) -> None:
    assert compute_chance_of_cover(n, minimum, 0.5) == chance


@pytest.mark.parametrize(("n", "minimum", "rate"), [(-1, 1, 0.1), (1, -1, 0.1), (1, 1, 1.5), (1, 1, float("nan"))])
def test_impossible_chances_are_refused(n: int, minimum: int, rate: float) -> None:
    with pytest.raises(InputError):
        compute_chance_of_cover(n, minimum, rate)
    if n > 0 and minimum > 0:
        with pytest.raises(InputError):
            compute_chance_of_cover_at_rates([rate], minimum)


@pytest.mark.parametrize(("rate", "chance"), [(0.0, 1.0), (1.0, 0.0)])
def test_rates_of_nobody_and_everybody_absent_are_allowed(rate: float, chance: float) -> None:
    assert compute_chance_of_cover(3, 2, rate) == chance
    assert compute_chance_of_cover_at_rates([rate, rate], 1) == chance


@pytest.mark.parametrize(("begin", "end", "is_there"), [(-2, -1, True), (-1, 0, False), (0, 1, False), (1, 2, True)])
def test_first_and_last_day_of_an_absence_count(begin: int, end: int, is_there: bool) -> None:
    absences = [{"person": "p", "from_date": ON + begin * DAY, "to_date": ON + end * DAY}]
    row = get_row(build_team_rows(p={"a": 2}), cover_needs=[need()], absences=absences)
    assert row.present == (("p",) if is_there else ())
