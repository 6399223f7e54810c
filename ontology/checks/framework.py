"""Our own rules over a Snapshot: the whole framework, or one changed record and what hangs on it.

None of these is a rule of a standard, and every finding says so.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Any, Final

from ontology.checks.dependents import iterate_dependents
from ontology.checks.rules import (
    agreements,
    belonging,
    contents,
    dated,
    demands,
    framework_itself,
    hanging,
    hierarchy,
    level_maps,
    levels,
    mappings,
    people,
    retiring,
    sessions,
    teams,
    translations,
    values,
)
from ontology.checks.rules.base import Problem, Rule, name_rule
from ontology.checks.rules.hierarchy import HierarchyRule
from ontology.errors import Finding
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

RULES: Final[tuple[Rule, ...]] = tuple(
    rule
    for room in (
        values,
        levels,
        level_maps,
        contents,
        hanging,
        mappings,
        teams,
        people,
        belonging,
        demands,
        sessions,
        agreements,
        retiring,
        framework_itself,
        translations,
    )
    for rule in room.RULES
)
HIERARCHY_RULES: Final[tuple[HierarchyRule, ...]] = hierarchy.RULES


_Grouped = Mapping[str, Sequence[Rule]]


@lru_cache(maxsize=2)
def _group_rules(today: date | None) -> _Grouped:
    groups: defaultdict[str, list[Rule]] = defaultdict(list)
    for rule in (*RULES, *(dated.build_dated_rules(today) if today else ())):
        groups[rule.table].append(rule)
    return dict(groups)


def list_rule_names() -> frozenset[str]:
    """Return the names of all rules."""
    rules: Iterable[Rule | HierarchyRule] = (*RULES, *HIERARCHY_RULES, *dated.build_dated_rules(date.min))
    return frozenset(rule.name for rule in rules)


def check_framework(snapshot: Snapshot, today: date | None = None) -> list[Finding]:
    """Return every finding of our own rules.

    Parameters
    ----------
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


def check_records(
    snapshot_after: Snapshot, touched: Iterable[tuple[str, Any]], today: date | None = None
) -> list[Finding]:
    """Return the findings of our own rules that some changed (or removed) records can cause.

    Parameters
    ----------
    snapshot_after : Snapshot
        The state with the change made.
    touched : iterable of (table name, record)
        What was put or removed; a record that `snapshot_after` does not hold counts as removed.
    today
        As in `check_framework`.

    Notes
    -----
    O(what hangs on the records): their own rules, those of their dependents, and cycles above them.
    """
    rules = _group_rules(today)
    found: list[Finding] = []
    put: defaultdict[str, list[str]] = defaultdict(list)
    for name, record in touched:
        key = TABLES[name].get_key(record)
        is_removed = key not in snapshot_after.get_all(name)
        is_used = key in snapshot_after.get_table(name)
        if not is_removed:
            found += _check_one(snapshot_after, name, record, rules)
        if is_used:
            put[name].append(str(key[0]))
        for other, dependent in iterate_dependents(snapshot_after, name, record, is_removed=not is_used):
            found += _check_one(snapshot_after, other, dependent, rules)
    for rule in HIERARCHY_RULES:
        cycles = rule.check(snapshot_after, put[rule.table]) if rule.table in put else ()
        found += [_build(rule, (record_id,), problem) for record_id, problem in cycles]
    return list(dict.fromkeys(found))


def check_record(snapshot: Snapshot, table_name: str, record: Any, today: date | None = None) -> list[Finding]:
    """Return what the rules find on one record as it stands, and on nothing else; `today` as in `check_framework`.

    Cycles are not looked for: no store holds one.
    """
    return list(dict.fromkeys(_check_one(snapshot, table_name, record, _group_rules(today))))


def _check_one(snapshot: Snapshot, table_name: str, record: Any, rules: _Grouped) -> Iterable[Finding]:
    key = TABLES[table_name].get_key(record)
    is_aside = bool(snapshot.retired) and key in snapshot.retired.get_table(table_name)
    for rule in (r for r in retiring.RETIRED_RULES if r.table == table_name) if is_aside else rules.get(table_name, ()):
        for problem in rule.check(snapshot, record):
            yield _build(rule, key, problem)


def _build(rule: Rule | HierarchyRule, key: Key, problem: Problem) -> Finding:
    about = (rule.table, *(str(part) for part in key))
    return Finding(rule.severity, name_rule(rule.name), 0, problem.column, problem.value, problem.reason, about)
