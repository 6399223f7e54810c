"""What is retired is in no table, and nothing is lost of it; what took its place is found, and holds what was held."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from ontology.analysis.profiles.gap import compute_gap
from ontology.analysis.profiles.levels import get_level
from ontology.checks.framework import check_framework
from ontology.errors import FindingsError
from ontology.live.live_graph import Change, LiveGraph
from ontology.live.patch import patch_snapshot
from ontology.mapping.reader import read_records
from ontology.mapping.writer import build_quads
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors

ON, DAY = date(2026, 11, 24), date(2026, 10, 1)


def make(what: str, **values: Any) -> tuple[str, Any]:
    return what, TABLES[what].build(**values)


def build_rows() -> list[tuple[str, Any]]:
    """Return a role that asks pumps and valves, people assessed in them, a course and a crane certificate."""
    rows = [make("scales", scale="craft", rank=rank, label=f"Step {rank}") for rank in (1, 2, 3)]
    rows += [make("competencies", id=i, label=i.title(), scale="craft") for i in ("pump", "winch", "hoist")]
    rows += [make("competencies", id=i, label=i, scale="craft", kind="certificate") for i in ("crane", "lift")]
    rows += [make("roles", id=i, label=i.title()) for i in ("operator", "rigger")]
    rows += [
        make("requirements", role="operator", competency="pump", level=2),
        make("requirements", role="operator", competency="hoist", level=3),
        make("requirements", role="rigger", competency="winch", level=1),
        make("courses", id="hoisting", label="Hoisting", hours=8.0),
        make("outcomes", course="hoisting", competency="hoist", level=2),
        make("teams", id="works", label="Works"),
        make("people", id="p1", name="Ada Example", team="works", role="operator"),
    ]
    return rows + [
        make("assessments", person="p1", competency=i, level=level, date=date(2026, 5, day), source="assessor")
        for i, level, day in (("winch", 2, 1), ("hoist", 1, 2), ("pump", 3, 3))
    ]


def build_state(*more: tuple[str, Any]) -> Snapshot:
    return Snapshot({}).with_changes(put=build_rows()).with_changes(put=more)


def retire(state: Snapshot, table: str, record_id: str) -> tuple[str, Any]:
    return table, replace(state.get_record(table, (record_id,)), retired_on=DAY)


def replaced(old: str, new: str, carry: str = "same") -> tuple[str, Any]:
    return make("replacements", table="competencies", old=old, new=new, carry=carry)


def test_a_retired_role_and_what_it_asks_are_in_no_table_and_all_is_there() -> None:
    state = build_state()
    after = state.with_changes(put=[retire(state, "roles", "rigger")])
    assert "rigger" not in after.roles
    assert after.get_requirements_of_competency("winch") == ()
    assert after.get_requirements("rigger") == ()
    assert after.retired.roles["rigger"].label == "Rigger"
    assert list(after.retired.get_table("requirements")) == [("rigger", "winch")]
    assert after.get_all("requirements") == state.get_table("requirements")
    assert after.get_record("requirements", ("rigger", "winch")).level == 1


@pytest.mark.parametrize(
    ("table", "record_id"), [("roles", "rigger"), ("courses", "hoisting"), ("competencies", "winch")]
)
def test_retired_and_brought_back_a_state_is_as_it_was(table: str, record_id: str) -> None:
    state = build_state()
    for name in ("roles", "get_requirements", "get_outcomes_of_competency", "competencies"):
        getattr(state, name)  # indexes that are carried over
    after = state.with_changes(put=[retire(state, table, record_id)])
    afresh = Snapshot({name: after.get_all(name).values() for name in TABLES})
    for name in TABLES:
        assert after.get_table(name) == afresh.get_table(name)
        assert after.retired.get_table(name) == afresh.retired.get_table(name)
    back = after.with_changes(put=[(table, state.get_record(table, (record_id,)))])
    assert not back.retired
    assert back == state
    assert [*back.get_requirements("rigger"), *back.get_outcomes("hoisting")] == [
        *state.get_requirements("rigger"),
        *state.get_outcomes("hoisting"),
    ]


def test_what_was_held_of_what_is_replaced_is_held_of_what_took_its_place() -> None:
    state = build_state()
    after = state.with_changes(put=[retire(state, "competencies", "hoist"), replaced("hoist", "winch")])
    known = get_level(after, "p1", after.competencies["winch"], ON)
    # the later of the two assessments counts, as of any competency
    assert (known.level, known.carried_from) == (1, "hoist")
    early = get_level(after, "p1", after.competencies["winch"], date(2026, 5, 1))
    assert (early.level, early.carried_from) == (2, "")
    row = next(row for row in compute_gap(after, "rigger", person_id="p1", on=ON).gaps if row.competency == "winch")
    assert (row.have, row.carried_from) == (1, "hoist")


def test_levels_read_as_declared_are_shown_and_never_counted() -> None:
    state = build_state(make("competencies", id="tackle", label="Tackle", scale="craft"))
    after = state.with_changes(put=[retire(state, "competencies", "hoist"), replaced("hoist", "tackle", "declared")])
    known = get_level(after, "p1", after.competencies["tackle"], ON)
    assert (known.level, known.declared, known.state) == (None, 1, "not-assessed")
    after = after.with_changes(put=[replaced("hoist", "tackle", "none")])
    assert get_level(after, "p1", after.competencies["tackle"], ON).declared is None


def test_chains_are_followed_by_the_least_they_carry() -> None:
    more = [make("competencies", id=i, label=i, scale="craft") for i in ("a", "b")]
    state = build_state(*more)
    rows = [retire(state, "competencies", i) for i in ("hoist", "a")]
    after = state.with_changes(put=[*rows, replaced("hoist", "a"), replaced("a", "b")])
    assert get_level(after, "p1", after.competencies["b"], ON).level == 1
    assert [(one.id, one.carry) for one in find_successors(after, "competencies", "hoist")] == [("b", "same")]
    after = after.with_changes(put=[replaced("a", "b", "declared")])
    assert get_level(after, "p1", after.competencies["b"], ON).level is None
    assert get_level(after, "p1", after.competencies["b"], ON).declared == 1


def test_a_certificate_is_carried_to_a_certificate_only() -> None:
    held = make("assessments", person="p1", competency="crane", level=2, date=date(2026, 5, 9), source="certificate")
    state = build_state(held)
    after = state.with_changes(put=[retire(state, "competencies", "crane"), replaced("crane", "lift")])
    assert get_level(after, "p1", after.competencies["lift"], ON).level == 2
    after = state.with_changes(put=[retire(state, "competencies", "crane"), replaced("crane", "winch")])
    assert get_level(after, "p1", after.competencies["winch"], ON).basis == state.get_assessments("p1", "winch")[0]


def tell(state: Snapshot) -> list[tuple[str, str, tuple[str, ...]]]:
    return sorted(
        (found.severity, found.source, found.about)
        for found in check_framework(state)
        if "retired" in found.source or "took the place" in found.source or "replaced" in found.source
    )


def test_what_names_something_retired_is_an_error_and_what_hangs_on_it_is_not() -> None:
    state = build_state()
    after = state.with_changes(put=[retire(state, "competencies", "winch"), retire(state, "roles", "operator")])
    assert tell(after) == [
        ("error", 'Rule "nothing names what is retired"', ("people", "p1")),
        ("error", 'Rule "nothing names what is retired"', ("requirements", "rigger", "winch")),
        ("remark", 'Rule "retired while people hold it"', ("competencies", "winch")),
    ]
    reasons = [found.reason for found in check_framework(after) if found.column == "competency"]
    assert reasons == [
        "requirement rigger~winch names winch, which is retired; "
        "nothing took its place: name another one, or remove this"
    ]


def test_replacements_that_lead_nowhere_are_errors() -> None:
    state = build_state(make("scales", scale="other", rank=1, label="Does"))
    other = make("competencies", id="other", label="Other", scale="other")
    rows = [retire(state, "competencies", i) for i in ("winch", "hoist")]
    after = state.with_changes(
        put=[*rows, other]
        + [replaced(old, new) for old, new in (("winch", "hoist"), ("hoist", "winch"), ("x", "x"), ("x", "gone"))]
        + [replaced("y", "other"), replaced("hoist", "other"), replaced("pump", "lift")]
    )
    assert [(severity, about[2:]) for severity, _, about in tell(after) if about[0] == "replacements"] == [
        ("error", ("hoist", "other")),
        ("error", ("hoist", "winch")),
        ("error", ("winch", "hoist")),
        ("error", ("x", "gone")),
        ("error", ("x", "x")),
        ("remark", ("pump", "lift")),
    ]
    last = state.with_changes(put=[retire(state, "competencies", "hoist"), replaced("x", "hoist")])
    assert ("error", 'Rule "what took the place is there"', ("replacements", "competencies", "x", "hoist")) in tell(
        last
    )


def test_a_store_keeps_what_is_retired_and_refuses_what_names_it() -> None:
    graph = LiveGraph.in_memory()
    graph.apply(Change(put=tuple(build_rows())), who="t", why="t")
    state = graph.get_snapshot()
    with pytest.raises(FindingsError):
        graph.apply(Change(put=(retire(state, "competencies", "winch"),)), who="t", why="t")
    moved = make("requirements", role="rigger", competency="hoist", level=1)
    change = Change(
        (retire(state, "competencies", "winch"), replaced("winch", "hoist"), moved),
        (("requirements", ("rigger", "winch")),),
    )
    assert graph.apply(change, who="t", why="t").remarks == ()
    after = graph.get_snapshot()
    assert Snapshot(read_records(graph.store)) == after
    assert after.retired.get_table("assessments")
    late = make("assessments", person="p1", competency="winch", level=1, date=ON, source="assessor")
    with pytest.raises(FindingsError, match="1 error"):
        graph.apply(Change(put=(late,)), who="t", why="t")
    # taken back quad by quad, everything is in use again
    old, new = state.get_record("competencies", ("winch",)), after.get_record("competencies", ("winch",))
    table = TABLES["competencies"]
    gone = set(build_quads(table, new)) - set(build_quads(table, old))
    back = patch_snapshot(after, (), gone)
    assert back.competencies["winch"] == old
    assert not back.retired
