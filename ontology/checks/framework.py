"""Our own rules over a Snapshot: the whole framework, or one changed record and what hangs on it.

Imports the rules, the snapshot, tables and errors. None of these is a rule of a standard, and every finding says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any, Final

from ontology.checks.rules import contents, hierarchy, levels, people, teams, values
from ontology.checks.rules.base import Problem, Rule, name_rule
from ontology.checks.rules.hierarchy import HierarchyRule
from ontology.errors import Finding
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

RULES: Final[tuple[Rule, ...]] = (*values.RULES, *levels.RULES, *contents.RULES, *teams.RULES, *people.RULES)
HIERARCHY_RULES: Final[tuple[HierarchyRule, ...]] = hierarchy.RULES


_Grouped = Mapping[str, Sequence[Rule]]


@lru_cache(maxsize=2)
def _group_rules(today: date | None) -> _Grouped:
    groups: defaultdict[str, list[Rule]] = defaultdict(list)
    for rule in (*RULES, *(people.build_dated_rules(today) if today else ())):
        groups[rule.table].append(rule)
    return dict(groups)


def check_framework(snapshot: Snapshot, today: date | None = None) -> list[Finding]:
    """Return every finding of our own rules.

    Parameters
    ----------
    snapshot : Snapshot
    today : date, optional
        The present day: what is dated after it is remarked. Nothing is without it.

    Returns
    -------
    list[Finding]
        Errors and remarks in the order of tables, keys and rules: `source` is 'Rule "<name>"', `column` the
        table's column, `about` the table and the parts of the record's key.

    Notes
    -----
    O(n + m) for n records and m hierarchy links, apart from the shortest cycle of each knot.
    """
    found: list[Finding] = []
    rules = _group_rules(today)
    for name, record in snapshot.iterate_records():
        found += _check_one(snapshot, name, record, rules)
    for rule in HIERARCHY_RULES:
        for record_id, problem in rule.check(snapshot):
            found.append(_build(rule, (record_id,), problem))
    return list(dict.fromkeys(found))


def check_record(snapshot_after: Snapshot, table_name: str, record: Any, today: date | None = None) -> list[Finding]:
    """Return the findings of our own rules that one changed (or removed) record can cause.

    Parameters
    ----------
    snapshot_after : Snapshot
        The state with the change made.
    table_name, record
        What was put or removed; a record that `snapshot_after` does not hold counts as removed.
    today
        As in `check_framework`.

    Notes
    -----
    O(what hangs on the record): its own rules, those of its dependents, and cycles above it.
    """
    table = TABLES[table_name]
    key = table.get_key(record)
    is_removed = key not in snapshot_after.get_table(table_name)
    rules = _group_rules(today)
    found: list[Finding] = []
    if not is_removed:
        found += _check_one(snapshot_after, table_name, record, rules)
        for rule in HIERARCHY_RULES:
            if rule.table == table_name:
                found += [_build(rule, (i,), problem) for i, problem in rule.check(snapshot_after, str(key[0]))]
    for name, dependent in iterate_dependents(snapshot_after, table_name, record, is_removed=is_removed):
        found += _check_one(snapshot_after, name, dependent, rules)
    return list(dict.fromkeys(found))


def iterate_dependents(
    snapshot: Snapshot, table_name: str, record: Any, *, is_removed: bool = False
) -> Iterator[tuple[str, Any]]:
    """Yield (table, record) of what must be looked at again when `record` changes or is removed."""
    if table_name == "scales":
        levels_left = snapshot.scales.get(record.scale, ())
        yield from (("scales", level) for level in levels_left)
        for competency in snapshot.competencies.values():
            if competency.scale == record.scale:
                yield "competencies", competency
                yield from iterate_dependents(snapshot, "competencies", competency)
    elif table_name == "competencies":
        yield from (("requirements", r) for r in snapshot.get_requirements_of_competency(record.id))
        yield from (("outcomes", o) for o in snapshot.get_outcomes_of_competency(record.id))
        for name in ("entry_conditions", "assessments", "cover_needs"):
            yield from _filter(snapshot, name, "competency", record.id)
        yield from (("competencies", snapshot.competencies[i]) for i in snapshot.get_narrower(record.id))
    elif table_name == "requirements":
        yield from _find(snapshot.roles, "roles", record.role)
    elif table_name == "outcomes":
        yield from _find(snapshot.courses, "courses", record.course)
    elif table_name == "entry_conditions":
        outcomes = snapshot.get_outcomes(record.course)
        yield from (("outcomes", o) for o in outcomes if o.competency == record.competency)
    elif table_name == "shifts":
        yield from _filter(snapshot, "people", "shift", record.id)
        yield from _filter(snapshot, "places", "shift", record.id)
        yield from (("cover_needs", n) for n in snapshot.get_table("cover_needs").values() if n.applies == record.id)
        yield from (("cover_needs", n) for n in snapshot.get_cover_needs(record.team))
    elif table_name == "assessments":
        same = snapshot.get_assessments(record.person, record.competency)
        yield from (("assessments", other) for other in same if other.date == record.date)
    elif table_name == "people" and not is_removed:
        yield from (("assessments", own) for own in snapshot.get_assessments(record.id))
    elif is_removed:
        yield from _iterate_referrers(snapshot, table_name, TABLES[table_name].get_key(record)[0])


def _iterate_referrers(snapshot: Snapshot, table_name: str, record_id: str) -> Iterator[tuple[str, Any]]:
    for name, table in TABLES.items():
        for column in table.columns:
            if column.refers_to == table_name and name != "scales":
                yield from _filter(snapshot, name, column.attribute, record_id)


def _filter(snapshot: Snapshot, table_name: str, attribute: str, value: str) -> Iterator[tuple[str, Any]]:
    for record in snapshot.get_table(table_name).values():
        if getattr(record, attribute) == value:
            yield table_name, record


def _find(index: Mapping[str, Any], table_name: str, record_id: str) -> Iterator[tuple[str, Any]]:
    if record_id in index:
        yield table_name, index[record_id]


def _check_one(snapshot: Snapshot, table_name: str, record: Any, rules: _Grouped) -> Iterable[Finding]:
    for rule in rules.get(table_name, ()):
        for problem in rule.check(snapshot, record):
            yield _build(rule, TABLES[table_name].get_key(record), problem)


def _build(rule: Rule | HierarchyRule, key: Key, problem: Problem) -> Finding:
    about = (rule.table, *(str(part) for part in key))
    return Finding(rule.severity, name_rule(rule.name), 0, problem.column, problem.value, problem.reason, about)
