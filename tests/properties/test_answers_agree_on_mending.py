"""What is to mend agrees with the findings, the review of the framework, and a plain recount; it names nobody."""

from __future__ import annotations

import json
import re
from collections import Counter
from datetime import date

from asking import find, tell
from drawn_companies import draw_rows
from effort import draws
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from rich_companies import draw_rich_rows
from scenario import SCENARIO
from small_company import ON

from api.desk.question import COMPANY, Subject
from api.questions.framework.to_mend import AskToMend, compute
from loaders.pipeline import load_state
from loaders.report import sort_findings
from ontology.analysis.profiles.belonging import get_person_on
from ontology.checks.broken_rules import find_broken_rules
from ontology.checks.changes import check_everything
from ontology.errors import RULE_SOURCE, FindingsError
from ontology.live.live_graph import LiveGraph
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

SEEDS = st.integers(0, 2_000)
MANY = 100_000


def build(seed: int) -> Snapshot:
    rows = draw_rich_rows(seed) if seed % 2 else draw_rows(seed)
    return Snapshot({name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}, store_id="x")


@given(SEEDS)
@settings(max_examples=draws(25), deadline=None)
def test_findings_are_those_of_the_check(seed: int) -> None:
    snapshot = build(seed)
    findings = find(snapshot, "findings", COMPANY, "", on=ON, limit=MANY).findings
    rows = find(snapshot, "to-mend", COMPANY, "", on=ON, rule="findings", limit=MANY).rows
    told = Counter((row.rule, row.severity, row.table, row.id) for row in rows)
    assert told == Counter(
        (one.rule, one.severity, one.table, one.id) for one in findings if one.table not in PERSONAL_TABLES
    ) + Counter({(one.rule, one.severity, one.table, None) for one in findings if one.table in PERSONAL_TABLES})


@given(SEEDS)
@settings(max_examples=6, deadline=None)
def test_of_a_store_nothing_more_is_found_by_the_shapes_and_conditions_of_skos(seed: int) -> None:
    """What breaks these is an error, and nothing with an error is stored: `newel check` tells the rows of the list."""
    graph = LiveGraph.in_memory()
    drawn = build(seed)
    try:
        graph.load({name: list(drawn.get_table(name).values()) for name in TABLES}, who="x", why="x")
    except FindingsError:
        assume(False)
    snapshot = graph.get_snapshot()
    whole = sort_findings(check_everything(graph.store, snapshot, is_full=False, today=ON))
    rules = find_broken_rules(snapshot, ON, limit=MANY).findings
    assert Counter(one.source for one in whole) == Counter(f'{RULE_SOURCE}"{one.rule}"' for one in rules)
    graph.close()


@given(SEEDS)
@settings(max_examples=draws(15), deadline=None)
def test_what_nothing_teaches_the_review_calls_untaught(seed: int) -> None:
    snapshot = build(seed)
    review = find(snapshot, "framework-review", COMPANY, "", on=ON, preparation_limit=0.0)
    untaught = {row.competency for row in review.untaught_levels}
    told = {row.id for row in find(snapshot, "to-mend", COMPANY, "", on=ON, rule="taught by none").rows}
    by_roles = {
        row.competency
        for row in snapshot.get_table("requirements").values()
        if not snapshot.is_learned_on_job(row) and row.level > find_taught(snapshot, row.competency)
    }
    needed = {
        row.competency
        for row in snapshot.get_table("cover_needs").values()
        if row.level > find_taught(snapshot, row.competency)
    }
    assert told == by_roles | needed
    assert by_roles <= untaught


def find_taught(snapshot: Snapshot, competency: str) -> int:
    """Return the highest level of a competency that a course teaches, or something that always counts as it."""
    taught = [(one.competency, one.level) for one in snapshot.get_table("outcomes").values() if not one.renews]
    levels = [level for one, level in taught if one == competency]
    for row in snapshot.get_equivalences_to(competency):
        hangs = snapshot.competencies[row.competency].holds_while
        if (
            row.from_date is row.to_date is None
            and not hangs
            and (row.competency, row.level)
            <= max((pair for pair in taught if pair[0] == row.competency), default=("", 0))
        ):
            levels.append(row.as_level)
    return max(levels, default=0)


@given(SEEDS)
@settings(max_examples=draws(25), deadline=None)
def test_people_and_rows_are_those_of_a_plain_recount_and_stand_in_order(seed: int) -> None:
    snapshot = build(seed)
    rows = compute(snapshot, Subject(COMPANY), AskToMend(on=ON, least_people=2, limit=MANY)).rows
    for row in rows:
        ids = [one for one in (row.id, row.other) if one]
        people = sum(any(rests_on(snapshot, person, row.table, i) for i in ids) for person in snapshot.people)
        assert row.effect.people == (people if people >= 2 else None), row
        assert row.effect.rows == sum(names_any(name, record, row.table, ids) for name, record in list_rows(snapshot))
    order = [(row.severity != "error", -(row.effect.people or 0), -row.effect.rows) for row in rows]
    assert order == sorted(order)


def rests_on(snapshot: Snapshot, person_id: str, table: str, record_id: str) -> bool:
    """Whether someone is employed, and their role, or a need or place of their team, rests on a record."""
    person = get_person_on(snapshot, person_id, ON)
    if not (person.start_date or ON) <= ON <= (person.end_date or ON) or table in PERSONAL_TABLES:
        return False
    roles = {person.role} | {place.role for place in snapshot.get_places(person.team)}
    asked = {row.competency for role in roles for row in snapshot.get_requirements(role)}
    asked |= {need.competency for need in snapshot.get_cover_needs(person.team)}
    first, *rest = record_id.split("~")
    if table in ("competencies", "courses", "scales", "roles", "requirements"):
        return bool(
            {
                "competencies": asked & {first},
                "courses": asked & {row.competency for row in snapshot.get_outcomes(first)},
                "scales": asked & {one.id for one in snapshot.get_competencies_of_scale(first)},
                "roles": roles & {first},
                "requirements": roles & {first},
            }[table]
        )
    if table in ("cover_needs", "places"):
        return person.team == (first if table == "cover_needs" else snapshot.places[first].team)
    key = next(key for key in snapshot.get_table(table) if [*map(str, key)] == [first, *rest])
    record = snapshot.get_record(table, key)
    return any(
        rests_on(snapshot, person_id, to, one)
        for to in ("scales", "competencies", "roles", "courses")
        for one in list_named(table, record, to)
    )


def list_rows(snapshot: Snapshot) -> list[tuple[str, object]]:
    return [(name, record) for name, record in snapshot.iterate_records() if name not in PERSONAL_TABLES]


def names_any(name: str, record: object, table: str, ids: list[str]) -> bool:
    wanted = {one.partition("~")[0] if table == "scales" else one for one in ids}
    is_named = table in ("scales", "competencies", "roles", "courses")
    return is_named and bool(wanted & set(list_named(name, record, table)))


def list_named(name: str, record: object, to: str) -> list[str]:
    found: list[str] = []
    for field in get_reference_fields(name, to):
        value = getattr(record, field)
        if isinstance(value, tuple):
            found += value
        elif is_referring(name, record, to, field):
            found.append(value)
    return found


def test_nobody_is_in_it() -> None:
    snapshot, _, _ = load_state(SCENARIO)
    for on in (ON, date(2027, 6, 1)):
        answer = tell(snapshot, "to-mend", COMPANY, "", on=on, limit=MANY)
        text = json.dumps(answer, default=str)
        assert answer["rows_total"] > 40
        assert [
            one.id for one in snapshot.people.values() if re.search(rf"\b{one.id}\b", text) or one.name in text
        ] == []
