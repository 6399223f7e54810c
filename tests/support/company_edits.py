"""Random edits of a small company, of every table: the records of another one of its kind in place of its own."""

from __future__ import annotations

import random
from collections.abc import Collection
from datetime import timedelta

from rich_companies import draw_rich_rows
from small_company import ON

from ontology.checks.broken_rules import RuleFinding, find_broken_rules
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_rich_company", "edit_company", "find_errors"]


def build_rich_company(seed: int) -> Snapshot:
    """Return a company with every feature that the analyses of levels, cover and paths know."""
    rows = draw_rich_rows(seed)
    rng = random.Random(f"sessions {seed}")
    for course in rows["courses"][::2]:
        first = ON + timedelta(rng.choice([-3, 0, 10, 40]))
        session = {"id": f"s-{course['id']}", "course": course["id"], "from_date": first}
        rows["sessions"].append(session | {"to_date": first + timedelta(rng.choice([0, 4])), "state": "confirmed"})
        for person in rng.sample(rows["people"], min(3, len(rows["people"]))):
            booking = {"session": session["id"], "person": person["id"], "state": rng.choice(["booked", "waiting"])}
            rows["bookings"].append(booking)
    return Snapshot({name: [TABLES[name].build(**row) for row in rows[name]] for name in rows}, 1, "test")


def edit_company(rng: random.Random, company: Snapshot, n: int, tables: Collection[str]) -> Snapshot:
    """Return a company after up to n edits of some tables: records made, replaced and removed, no reference broken."""
    pool = build_rich_company(rng.randrange(10_000))
    after, left = company, n
    errors = find_errors(company)
    for _ in range(20 * n):
        if not left:
            break
        name = rng.choice(sorted(tables))
        here, there = after.get_table(name), pool.get_table(name)
        if there and (not here or rng.random() < 0.7):
            edited = after.with_changes(put=[(name, rng.choice(list(there.values())))])
        elif here:
            edited = after.with_changes(remove=[(name, rng.choice(list(here)))])
        else:
            continue
        if edited != after and find_errors(edited) <= errors:
            after, left = edited, left - 1
    return after


def find_errors(company: Snapshot) -> set[RuleFinding]:
    """Return the errors that the rules find in a company."""
    found = find_broken_rules(company, ON, limit=1_000).findings
    return {finding for finding in found if finding.severity == "error"}
