"""Who assesses whom: a worked example, what is due and why, who may, what is left out; against plain loops."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from brute_round_rows import list_rows
from drawn_rounds import draw_assessed_rows
from small_company import build_competencies, build_scale
from small_company import build_snapshot as build_rows

from ontology.analysis.assessing.assessment_round import AssessmentRound, plan_assessment_round
from ontology.analysis.assessing.round_rows import Double, RoundAsked
from ontology.analysis.assessing.round_rows import build_rows as find_rows
from ontology.errors import InputError, UnknownIdError
from ontology.snapshot.snapshot import Snapshot

ON = date(2026, 11, 24)
DAY = timedelta(days=1)


def build(**more: list[dict[str, Any]]) -> Snapshot:
    """Two people who were never seen welding (two hours, safety), one of them in the log; x, y and c may assess."""
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": build_scale(n=3),
        "competencies": [
            *build_competencies("weld", assessment_hours=2.0, safety=True),
            *build_competencies("log"),
            *build_competencies("paper", kind="certificate"),
        ],
        "roles": [{"id": i, "label": i} for i in ("welder", "lead")],
        "requirements": [
            {"role": role, "competency": competency, "level": 2}
            for role, competency in (("welder", "weld"), ("lead", "weld"), ("lead", "log"), ("lead", "paper"))
        ],
        "teams": [{"id": i, "label": i} for i in ("t", "u")],
        "people": [
            {"id": "a", "name": "A", "team": "t", "role": "welder"},
            {"id": "b", "name": "B", "team": "t", "role": "lead"},
            *({"id": i, "name": i.upper(), "team": "u"} for i in "cxy"),
        ],
        "assessments": [{"person": "c", "competency": "weld", "level": 3, "date": ON, "source": "assessor"}],
        "assessors": [
            {"person": "x", "competencies": ("weld",), "hours_per_round": 4.0},
            {"person": "y", "competencies": ("log", "weld"), "hours_per_round": 5.0},
            {"person": "c", "hours_per_round": 2.0},
        ],
    }
    return build_rows(**rows | more)


def tell(found: AssessmentRound) -> dict[tuple[str, str], list[str]]:
    told: dict[tuple[str, str], list[str]] = {}
    for row in found.assignment:
        told.setdefault((row.person, row.competency), []).append(row.assessor)
    return told


def test_the_worked_example_of_three_rows_and_three_assessors() -> None:
    """a weld c, x; b weld x, y; b log y: largest load 240 minutes, 4 pairs.

    Worked out by hand beforehand, checked by enumeration; common practice, no source.
    """
    found = plan_assessment_round(build(), ON)
    assert tell(found) == {("a", "weld"): ["c", "x"], ("b", "log"): ["y"], ("b", "weld"): ["x", "y"]}
    assert (found.status, found.lower_bound, found.unproved_aim) == ("optimal", None, None)
    assert (found.rows, found.unserved, found.missing) == (3, 0, 0)
    assert (found.largest_load_minutes, found.pairs) == (240, 4)
    assert [(row.assessor, row.minutes, row.capacity_minutes, row.rows, row.people) for row in found.loads] == [
        ("c", 120, 120, 1, 1),
        ("x", 240, 240, 2, 2),
        ("y", 180, 300, 2, 1),
    ]
    assert {(row.reason, row.by) for row in found.assignment} == {("not-assessed", ON)}
    assert (found.left_out, len(found.remarks)) == ((), 1)


@pytest.mark.parametrize(("double", "wanted"), [("none", (1, 1, 1)), ("safety", (2, 1, 2)), ("all", (2, 2, 2))])
def test_two_assess_what_is_asked(double: Double, wanted: tuple[int, ...]) -> None:
    rows = find_rows(build(), RoundAsked(ON, ON, double=double))
    assert tuple(row.wanted for row in rows) == wanted


@pytest.mark.parametrize(
    ("seen", "why"),
    [
        ({"date": ON}, None),
        ({"date": date(2024, 11, 24)}, None),  # two years to the day
        ({"date": date(2024, 11, 23)}, "old"),
        ({"date": date(2024, 11, 23), "valid_until": ON - DAY}, "review-due"),
        ({"date": date(2026, 11, 1), "valid_until": ON - DAY}, "review-due"),
        ({"date": date(2026, 11, 1), "valid_until": ON}, None),
        ({"date": date(2026, 11, 1), "source": "self"}, "not-assessed"),
        ({"date": ON + DAY}, "not-assessed"),
        ({"date": ON, "withdrawn_on": ON}, "not-assessed"),
        ({"date": ON, "level": 0}, None),
        ({"date": date(2024, 11, 23), "level": 0}, "old"),
    ],
)
def test_a_row_stands_where_something_is_to_be_seen_again(seen: dict[str, Any], why: str | None) -> None:
    seen = {"person": "a", "competency": "weld", "level": 2, "source": "manager"} | seen
    rows = {row.person: row.why for row in find_rows(build(assessments=[seen]), RoundAsked(ON, ON))}
    assert rows.get("a") == why


def test_what_lapses_for_good_is_lapsed_and_what_is_suspended_is_judged_by_its_age() -> None:
    hard = build_competencies("weld log", expiry="hard") + build_competencies("paper", kind="certificate")
    seen = {"person": "a", "competency": "weld", "level": 2, "date": date(2024, 1, 1), "source": "assessor"}
    lapsed = build(competencies=hard, assessments=[seen | {"valid_until": ON - DAY}])
    assert [row.why for row in find_rows(lapsed, RoundAsked(ON, ON)) if row.person == "a"] == ["lapsed"]
    hanging = build_competencies("weld", holds_while=("log",)) + hard[1:]
    for day, why in ((date(2026, 1, 1), []), (date(2024, 1, 1), ["old"])):
        snapshot = build(competencies=hanging, assessments=[seen | {"date": day}])
        assert [row.why for row in find_rows(snapshot, RoundAsked(ON, ON)) if row.person == "a"] == why


def test_older_than_is_counted_in_whole_months() -> None:
    seen = {"person": "a", "competency": "weld", "level": 2, "date": date(2026, 8, 31), "source": "assessor"}
    for on, expected in ((date(2026, 11, 30), False), (date(2026, 12, 1), True)):
        rows = find_rows(build(assessments=[seen]), RoundAsked(on, on, older_than_months=3))
        assert any(row.person == "a" for row in rows) == expected


def test_an_equivalence_rests_on_the_assessment_behind_it() -> None:
    seen = {"person": "a", "competency": "log", "level": 2, "source": "assessor"}
    counts = [{"competency": "log", "counts_as": "weld", "level": 2, "as_level": 2}]
    for day, why in ((ON, []), (date(2020, 1, 1), ["old"])):
        snapshot = build(assessments=[seen | {"date": day}], equivalences=counts)
        assert [row.why for row in find_rows(snapshot, RoundAsked(ON, ON)) if row.person == "a"] == why


def test_only_what_a_role_needs_of_people_employed_that_day_is_assessed() -> None:
    people = [
        {"id": "a", "name": "A", "team": "t", "role": "welder", "end_date": ON - DAY},
        {"id": "b", "name": "B", "team": "t", "role": "welder", "start_date": ON},
        {"id": "n", "name": "N", "team": "t"},
        {"id": "x", "name": "X", "team": "u"},
    ]
    wanted = [{"role": "welder", "competency": "weld", "level": 2}]
    wanted += [{"role": "welder", "competency": "log", "level": 2, "necessity": "desirable"}]
    lent = [{"person": "n", "from_date": ON, "team": "u", "role": "welder"}]
    snapshot = build(people=people, requirements=wanted, memberships=lent, assessments=[], assessors=[])
    rows = find_rows(snapshot, RoundAsked(ON, ON))
    assert [(row.person, row.competency) for row in rows] == [("b", "weld"), ("n", "weld")]
    rows = find_rows(snapshot, RoundAsked(ON, ON, team="u"))
    assert [(row.person, row.competency) for row in rows] == [("n", "weld")]


@pytest.mark.parametrize(
    ("assessor", "by", "may"),
    [
        ({}, ON, ["c"]),  # holds welding at level 3, and the log at none
        ({"competencies": ("log",)}, ON, []),
        ({"competencies": ("weld",)}, ON, ["c"]),
        ({"teams": ("u",)}, ON, []),
        ({"teams": ("t", "u")}, ON, ["c"]),
        ({"from_date": ON + DAY}, ON, []),
        ({"from_date": ON + DAY}, ON + DAY, ["c"]),
        ({"to_date": ON}, ON, ["c"]),
        ({"to_date": ON}, ON + DAY, []),
    ],
)
def test_who_may_assess(assessor: dict[str, Any], by: date, may: list[str]) -> None:
    snapshot = build(assessors=[{"person": "c"} | assessor])
    row = next(row for row in find_rows(snapshot, RoundAsked(ON, by)) if row.person == "a")
    assert list(row.able) == may


def test_who_names_no_competency_must_hold_the_full_level_on_the_day_asked_about() -> None:
    for level, day, may in ((1, ON, []), (2, ON, ["c"]), (2, ON + DAY, [])):
        seen = {"person": "c", "competency": "weld", "level": level, "date": day, "source": "assessor"}
        snapshot = build(assessments=[seen], assessors=[{"person": "c"}])
        row = next(row for row in find_rows(snapshot, RoundAsked(ON, ON + DAY)) if row.person == "a")
        assert list(row.able) == may


def test_nobody_assesses_themselves_nor_who_has_left_by_the_day_of_the_round() -> None:
    people = [
        {"id": "a", "name": "A", "team": "t", "role": "welder"},
        {"id": "b", "name": "B", "team": "t", "role": "welder", "end_date": ON},
    ]
    named = [{"person": i, "competencies": ("weld",)} for i in "ab"]
    snapshot = build(people=people, assessors=named, assessments=[])
    assert [row.able for row in find_rows(snapshot, RoundAsked(ON, ON))] == [("b",), ("a",)]
    assert [row.able for row in find_rows(snapshot, RoundAsked(ON, ON + DAY))] == [(), ("a",)]


def test_in_one_round_nobody_assesses_who_assesses_them() -> None:
    people = [{"id": i, "name": i, "team": "t", "role": "welder"} for i in "ab"]
    named = [{"person": i, "competencies": ("weld",)} for i in "ab"]
    found = plan_assessment_round(build(people=people, assessors=named, assessments=[]), ON, double="none")
    assert tell(found) == {("a", "weld"): ["b"]}
    assert [(row.person, row.missing, row.reason) for row in found.left_out] == [
        ("b", 1, "a may assess it, but b assesses them in this round")
    ]


def test_what_lacks_an_assessor_says_why() -> None:
    assessors = [{"person": "x", "competencies": ("weld",), "hours_per_round": 3.0}]
    found = plan_assessment_round(build(assessors=assessors), ON)
    assert tell(found) == {("a", "weld"): ["x"]}
    assert (found.unserved, found.missing, found.pairs) == (2, 4, 1)
    assert [(row.person, row.competency, row.missing, row.able) for row in found.left_out] == [
        ("a", "weld", 1, ("x",)),
        ("b", "log", 1, ()),
        ("b", "weld", 2, ("x",)),
    ]
    assert [row.reason for row in found.left_out] == [
        "two are wanted, and only x may assess it",
        "nobody may assess it: no assessor in force, of that team, names it or holds it at the full level",
        "the 120 minutes are more than is left of the hours of x",
    ]


def test_hours_unknown_are_one_and_hours_of_a_round_are_eight() -> None:
    found = plan_assessment_round(build(assessors=[{"person": "y", "competencies": ("log",)}]), ON)
    assert [(row.competency, row.minutes) for row in found.assignment] == [("log", 60)]
    assert [(row.minutes, row.capacity_minutes) for row in found.loads] == [(60, 480)]


def test_nothing_due_is_a_round_of_nothing() -> None:
    found = plan_assessment_round(build(people=[{"id": "x", "name": "X"}], assessors=[], assessments=[]), ON)
    assert (found.status, found.rows, found.unserved, found.pairs, found.loads) == ("optimal", 0, 0, 0, ())


def test_wrong_wishes_are_refused_by_name() -> None:
    with pytest.raises(UnknownIdError):
        plan_assessment_round(build(), ON, team="none")
    for asked, parameter in (({"by": ON - DAY}, "by"), ({"older_than_months": -1}, "older_than_months")):
        with pytest.raises(InputError) as caught:
            plan_assessment_round(build(), ON, **asked)  # type: ignore[arg-type]
        assert caught.value.context["parameter"] == parameter


@pytest.mark.parametrize("seed", range(150))
def test_rows_and_who_may_assess_them_are_those_of_plain_loops(seed: int) -> None:
    rows = draw_assessed_rows(seed)
    by, months = ON + timedelta(days=seed % 8), (0, 6, 24)[seed % 3]
    double: Double = ("none", "safety", "all")[seed % 3]  # type: ignore[assignment]
    team = ("", "t")[seed % 2]
    found = find_rows(build_rows(**rows), RoundAsked(ON, by, team, months, double))
    told = [(row.person, row.competency, row.why, row.minutes, row.wanted, list(row.able)) for row in found]
    assert told == list_rows(rows, ON, by, team, months, double)
