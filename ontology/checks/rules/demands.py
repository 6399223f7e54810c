"""Rules on obligations and orientation items: what their rule names, whom it reaches, days that fit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.checks.rules.base import Problem, Rule, describe
from ontology.checks.rules.belonging import make_order_rule
from ontology.model.references import RULE_TABLES
from ontology.model.work_records import Obligation, OrientationItem
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.workplaces import get_site_of_team

#: Teams without a site that a remark names; the rest is counted.
_NAMED_TEAMS: Final = 3


def _make_named_rule(table_name: str) -> Rule:
    def check(snapshot: Snapshot, record: Obligation | OrientationItem) -> Iterator[Problem]:
        table = RULE_TABLES.get(record.rule, "")
        if table and record.of not in getattr(snapshot, table) and not snapshot.retired.has(table, record.of):
            named = f"names {record.of!r}, but {table} has no row with this id" if record.of else "names nothing"
            reason = (
                f"{describe(table_name, record)} has the rule {record.rule} and {named}; of must be an id of {table}"
            )
            yield Problem("of", record.of, reason)

    return Rule("what the rule names exists", "error", table_name, check)


def _make_everyone_rule(table_name: str) -> Rule:
    def check(snapshot: Snapshot, record: Obligation | OrientationItem) -> Iterator[Problem]:
        if record.rule == "everyone" and record.of:
            reason = (
                f"{describe(table_name, record)} is for everyone, so {record.of!r} is passed over; "
                f"leave of empty, or give the rule it belongs to: {', '.join(RULE_TABLES)}"
            )
            yield Problem("of", record.of, reason)

    return Rule("a rule for everyone names nothing", "remark", table_name, check)


def _check_site(snapshot: Snapshot, record: Obligation) -> Iterator[Problem]:
    if record.rule != "site" or record.of not in snapshot.sites:
        return
    sites = {team: get_site_of_team(snapshot, team) for team in snapshot.teams}
    without = [team for team, site in sites.items() if not site]
    if record.of not in sites.values():
        reason = f"{describe('obligations', record)} binds nobody: no team works at site {record.of}"
        yield Problem("of", record.of, f"{reason}; give the teams their site")
    elif without:
        more = f" and {len(without) - _NAMED_TEAMS} more" if len(without) > _NAMED_TEAMS else ""
        teams = ", ".join(without[:_NAMED_TEAMS]) + more
        reason = (
            f"{describe('obligations', record)} binds those at site {record.of}; of {teams} no site is known, so that "
            "it does not bind their people; give these teams their site"
        )
        yield Problem("of", record.of, reason)


def _check_offset(snapshot: Snapshot, record: OrientationItem) -> Iterator[Problem]:
    if record.before_work and record.offset_days > 0:
        reason = (
            f"{describe('orientation_items', record)} must be done before work begins, but is planned for "
            f"{record.offset_days} days after the start; it is due on the start day: write 0 or less"
        )
        yield Problem("offset_days", str(record.offset_days), reason)


RULES: Final = (
    make_order_rule("obligations"),
    *(_make_named_rule(name) for name in ("obligations", "orientation_items")),
    *(_make_everyone_rule(name) for name in ("obligations", "orientation_items")),
    Rule("site that no team works at", "remark", "obligations", _check_site),
    Rule("before work means before the start", "remark", "orientation_items", _check_offset),
)
