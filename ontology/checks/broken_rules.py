"""Which rules the stored data break on a day, by table: how often each, and where. Pure.

The rules of one revision, as each change is checked by them. The shapes and the SKOS conditions are kept by the store
itself: nothing that breaks them is stored.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Literal

from ontology.checks.framework import check_framework
from ontology.errors import RULE_SOURCE, Finding
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["BrokenRule", "BrokenRules", "RuleFinding", "find_broken_rules"]


@dataclass(frozen=True, slots=True)
class BrokenRule:
    """How often one rule is broken by the records of one table."""

    severity: Annotated[Literal["error", "remark"], "error: nothing that breaks it is stored; remark: stored past."]
    rule: Annotated[str, "The name of the rule."]
    table: Annotated[str, "The table whose records break it."]
    findings: Annotated[int, "How often."]


@dataclass(frozen=True, slots=True)
class RuleFinding:
    """One place where a rule is broken."""

    severity: Annotated[Literal["error", "remark"], "error: nothing that breaks it is stored; remark: stored past."]
    rule: Annotated[str, "The name of the rule."]
    table: Annotated[str, "The table of the record."]
    id: Annotated[str, "Id of the record, the parts of its key joined by a tilde."]
    column: Annotated[str, "The column."]
    value: Annotated[str, "What it says."]
    reason: Annotated[str, "What is wrong, and what would be right."]


@dataclass(frozen=True, slots=True)
class BrokenRules:
    """What breaks a rule; errors first, then in the order of tables, rules and records."""

    on: Annotated[date, "The day: what is dated after it is remarked."]
    error_count: Annotated[int, "Findings that are errors."]
    remark_count: Annotated[int, "Findings that are remarks."]
    rules: Annotated[tuple[BrokenRule, ...], "Each rule that is broken, by table."]
    findings: Annotated[tuple[RuleFinding, ...], "The findings, up to the limit asked for."]


def find_broken_rules(snapshot: Snapshot, on: date, *, limit: int) -> BrokenRules:
    """Return which rules are broken on a day, with at most `limit` findings named. As `check_framework`, O(n + m)."""
    order = {name: place for place, name in enumerate(TABLES)}
    found = sorted(
        check_framework(snapshot, on), key=lambda one: (one.severity != "error", order[one.about[0]], one.source)
    )
    numbers = Counter((one.severity, _get_rule(one), one.about[0]) for one in found)
    n_errors = sum(one.severity == "error" for one in found)
    return BrokenRules(
        on=on,
        error_count=n_errors,
        remark_count=len(found) - n_errors,
        rules=tuple(BrokenRule(*rule, number) for rule, number in numbers.items()),
        findings=tuple(_build(one) for one in found[:limit]),
    )


def _get_rule(finding: Finding) -> str:
    return finding.source.removeprefix(RULE_SOURCE).strip('"')


def _build(finding: Finding) -> RuleFinding:
    table, *key = finding.about
    record_id = key[0] if table == "scales" else "~".join(key)
    own = f"{TABLES[table].word} {'~'.join(key)}"
    reason = finding.reason.removeprefix(f"{own}: ").removeprefix(f"{own} ")
    return RuleFinding(finding.severity, _get_rule(finding), table, record_id, finding.column, finding.value, reason)
