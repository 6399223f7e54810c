"""Our own rules: each told with severity, table, column, value and record; a sound company has none."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from agreement_cases import AGREEMENT_CASES, SOUND
from framework_cases import CASES, DAY, JUNE, build_company, tell
from hypothesis import given
from hypothesis import strategies as st
from retiring_cases import RETIRING_CASES
from small_company import build_scale, build_snapshot
from translation_cases import TRANSLATION_CASES
from work_cases import WORK_CASES

from ontology.checks.framework import HIERARCHY_RULES, RULES, check_framework, check_records
from ontology.checks.rules.hierarchy import find_cycle_through, find_knot_of, find_knots
from ontology.model.tables import TABLES

LATER = DAY + timedelta(days=10)
ALL = [*CASES, *WORK_CASES, *AGREEMENT_CASES, *RETIRING_CASES, *TRANSLATION_CASES]


def test_sound_company_has_no_findings() -> None:
    assert check_framework(build_company()) == []
    assert check_framework(build_company(**SOUND), LATER) == []


@pytest.mark.parametrize(("changes", "expected", "words"), ALL, ids=[f"{c[1][0]}-{n}" for n, c in enumerate(ALL)])
def test_fault_is_told_once_with_its_address(
    changes: dict[str, Any], expected: tuple[str, str, str, str], words: str
) -> None:
    findings = check_framework(build_company(**changes))
    assert expected in tell(findings)
    assert {told[0] for told in tell(findings)} == {expected[0]}
    assert any(words in finding.reason for finding in findings)
    assert len(set(findings)) == len(findings)


def test_id_that_is_only_a_part_of_the_name_is_neutral_enough() -> None:
    assert check_framework(build_company(more_people=[{"id": "tarn", "name": "Bo Tarn"}])) == []


@pytest.mark.parametrize(
    ("source", "assessor", "is_wrong"),
    [
        ("manager", "p1", True),
        ("certificate", "P1", True),
        ("unstated", "ada  QUILL", True),
        ("self", "p1", False),
        ("self", "Ada Quill", False),
        ("assessor", "p2", False),
        ("assessor", "", False),
    ],
)
def test_nobody_assesses_themselves_but_as_self(source: str, assessor: str, is_wrong: bool) -> None:
    seen = {"person": "p1", "competency": "read", "level": 1, "date": DAY, "source": source, "assessor": assessor}
    found = tell(check_framework(build_company(more_assessments=[seen])))
    assert found == ({("assessor is not the person", "error", "assessments", "assessor")} if is_wrong else set())


def test_what_is_dated_after_today_is_remarked_where_today_is_given() -> None:
    snapshot = build_company(
        more_assessments=[
            {"person": "p1", "competency": "read", "level": 1, "date": DAY, "source": "self", "recorded_on": LATER},
            {"person": "p1", "competency": "read", "level": 2, "date": LATER, "source": "self"},
        ]
    )
    assert check_framework(snapshot) == check_framework(snapshot, LATER) == []
    found = check_framework(snapshot, LATER - timedelta(days=1))
    assert [(f.severity, f.column, f.value) for f in found] == [
        ("remark", "recorded_on", str(LATER)),
        ("remark", "date", str(LATER)),
    ]
    (record,) = (r for r in snapshot.get_assessments("p1", "read") if r.date == LATER)
    assert set(check_records(snapshot, [("assessments", record)], LATER - timedelta(days=1))) <= set(found)


def test_every_rule_has_a_case() -> None:
    told = {case[1][0] for case in ALL} | {"cycle in broader", "cycle in holds_while", "certificate learned on the job"}
    told |= {"agreed plan to a role that asks for something"}
    assert told == {rule.name for rule in (*RULES, *HIERARCHY_RULES)}


def test_certificate_cannot_be_learned_on_the_job() -> None:
    requirement = {"role": "fitter", "competency": "licence", "level": 1, "learned_on_job": True}
    findings = check_framework(build_company(requirements=[requirement]))
    assert tell(findings) == {("certificate learned on the job", "remark", "requirements", "learned_on_job")}


def test_jump_is_measured_from_the_entry_condition_in_that_competency() -> None:
    def count(outcome: int, condition: int | None, **more: Any) -> int:
        conditions = [] if condition is None else [{"course": "k1", "competency": "weld", "level": condition}]
        outcomes = [{"course": "k1", "competency": "weld", "level": outcome, **more}]
        snapshot = build_company(outcomes=outcomes, entry_conditions=conditions)
        return sum(finding.source == 'Rule "jump of levels"' for finding in check_framework(snapshot))

    assert [count(2, None), count(3, None), count(4, 1), count(4, 2), count(5, 2)] == [0, 1, 1, 0, 1]
    assert count(5, None, renews=True) == 0


def test_cycle_in_broader_is_a_remark_with_its_nodes_that_says_it_is_ours() -> None:
    competencies = [
        {"id": "a", "label": "A", "scale": "s5", "broader": ("b",)},
        {"id": "b", "label": "B", "scale": "s5", "broader": ("c",)},
        {"id": "c", "label": "C", "scale": "s5", "broader": ("a",)},
        {"id": "self", "label": "Self", "scale": "s5", "broader": ("self",)},
        {"id": "leaf", "label": "Leaf", "scale": "s5", "broader": ("a",)},
    ]
    findings = check_framework(build_snapshot(scales=build_scale(), competencies=competencies))
    assert [(f.severity, f.value) for f in findings] == [("remark", "a > b > c > a"), ("remark", "self > self")]
    assert all("SKOS allows it, this rule is ours" in finding.reason for finding in findings)


def test_knot_of_several_cycles_is_told_once_with_all_its_nodes() -> None:
    parents = {"a": ("b",), "b": ("a", "c"), "c": ("d",), "d": ("b",)}
    assert find_knots(parents) == [["a", "b", "c", "d"]]
    competencies = [{"id": i, "label": i, "scale": "s5", "broader": up} for i, up in parents.items()]
    (finding,) = check_framework(build_snapshot(scales=build_scale(), competencies=competencies))
    assert finding.value == "a > b > a"
    assert "knotted with them: c, d" in finding.reason


node = st.sampled_from("abcdef")
hierarchies = st.dictionaries(node, st.lists(node, min_size=1, max_size=3, unique=True).map(tuple))


@given(hierarchies)
def test_knots_found_one_by_one_are_those_found_at_once(parents: dict[str, tuple[str, ...]]) -> None:
    knots = find_knots(parents)
    nodes = set(parents) | {parent for group in parents.values() for parent in group}
    for name in nodes:
        expected = [knot for knot in knots if name in knot]
        assert find_knot_of(parents, name) == (expected[0] if expected else [])
        if expected:
            cycle = [*find_cycle_through(parents, name), name]
            assert cycle[0] == name
            assert all(above in parents[below] for below, above in pairwise(cycle))


def test_cycle_in_holds_while_is_an_error_also_of_a_competency_with_itself() -> None:
    hangs_on = {"a": ("b",), "b": ("c",), "c": ("a",), "self": ("self",), "leaf": ("a",)}
    competencies = [{"id": i, "label": i, "scale": "s5", "holds_while": others} for i, others in hangs_on.items()]
    findings = check_framework(build_snapshot(scales=build_scale(), competencies=competencies))
    assert [(f.severity, f.column, f.value) for f in findings] == [
        ("error", "holds_while", "a > b > c > a"),
        ("error", "holds_while", "self > self"),
    ]


def test_two_that_count_as_each_other_are_no_circle() -> None:
    pair = [{"competency": "weld", "counts_as": "read"}, {"competency": "read", "counts_as": "weld"}]
    assert check_framework(build_company(more_equivalences=pair)) == []


def test_what_is_open_or_in_the_future_is_told_where_today_is_given() -> None:
    snapshot = build_company(
        more_duties=[{"person": "p1", "place": "bench", "from_date": DAY + timedelta(days=i)} for i in (1, 5)],
        more_practices=[{"person": "p1", "competency": "weld", "date": LATER}],
        more_sessions=[
            {"id": "past", "course": "k1", "from_date": DAY, "state": "confirmed"},
            {"id": "early", "course": "k1", "from_date": LATER, "state": "held"},
        ],
        more_orientation_items=[{"id": "o", "label": "O"}],
        more_orientation_done=[{"person": "p1", "item": "o", "date": DAY, "recorded_on": LATER}],
        more_assessments=[
            {"person": "p1", "competency": "read", "level": 1, "date": DAY, "withdrawn_on": LATER, "source": "manager"}
        ],
        appointments=[{"person": "p1", "competency": "licence", "from_date": DAY}],
    )
    assert check_framework(snapshot) == []
    found = check_framework(snapshot, DAY + timedelta(days=5))
    assert {f.severity for f in found} == {"remark"}
    assert [(f.about[0], f.about[-1] if f.about[0] == "duties" else f.column, f.value) for f in found] == [
        ("assessments", "withdrawn_on", str(LATER)),
        ("duties", str(DAY + timedelta(days=1)), ""),
        ("appointments", "recorded_on", ""),
        ("practices", "date", str(LATER)),
        ("sessions", "state", "held"),
        ("sessions", "state", "confirmed"),
        ("orientation_done", "recorded_on", str(LATER)),
    ]


def test_what_is_still_open_for_someone_who_has_left_is_told_where_today_is_given() -> None:
    gone = {"id": "p1", "name": "Ada Quill", "role": "fitter", "end_date": JUNE}
    left = {"people": [gone], "memberships": [], "bookings": [], "duties": [], "places": [], "appointments": []}
    assert check_framework(build_company(**SOUND, **left), JUNE) == []
    found = tell(check_framework(build_company(**SOUND, **left), JUNE + timedelta(days=1)))
    assert {told for told in found if told[0] == "open for someone employed"} == {
        ("open for someone employed", "remark", table, "person") for table in ("requests", "assessors", "agreed_plans")
    }


def test_a_plan_to_a_role_that_asks_for_nothing_is_told_also_when_the_role_loses_what_it_asked() -> None:
    snapshot = build_company(**SOUND, requirements=[])
    told = ("agreed plan to a role that asks for something", "remark", "agreed_plans", "role")
    assert told in tell(check_framework(snapshot))
    gone = TABLES["requirements"].build(role="fitter", competency="weld", level=3)
    assert told in tell(check_records(snapshot, [("requirements", gone)]))


day = st.integers(0, 12)
spans = st.lists(st.tuples(day, st.none() | day), max_size=6, unique_by=lambda span: span[0])


@given(spans)
def test_days_shared_by_two_memberships_are_found_as_day_by_day(rows: list[tuple[int, int | None]]) -> None:
    memberships = [
        {"person": "p1", "team": "north", "from_date": DAY + timedelta(days=first)}
        | ({} if last is None else {"to_date": DAY + timedelta(days=last)})
        for first, last in rows
    ]
    held = [{n for n in range(30) if first <= n and (last is None or n <= last)} for first, last in rows]
    late = {
        str(DAY + timedelta(days=max(rows[a][0], rows[b][0])))
        for a in range(len(rows))
        for b in range(a)
        if held[a] & held[b]
    }
    found = check_framework(build_company(memberships=memberships))
    assert {f.value for f in found if "one membership" in f.source} == late
