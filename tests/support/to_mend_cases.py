"""Small companies on which the rules on what is to mend speak, or do not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from small_company import ON, build_scale, build_snapshot

from ontology.analysis.health.faults import Fault, Limits
from ontology.analysis.health.to_mend import RULE_NAMES, list_to_mend
from ontology.analysis.health.word_lists import get_own_lists
from ontology.snapshot.snapshot import Snapshot

__all__ = ["COURSE", "CREW", "NEED", "ROLE", "TEAM", "Rows", "ask", "assess", "find", "find_faults", "name"]

Rows = Mapping[str, Sequence[Mapping[str, Any]]]
DAY = {"date": dt.date(2026, 1, 1), "source": "assessor"}


def find(rule: str, rows: Rows, **limits: Any) -> list[tuple[str, str | None, str | None]]:
    """Return what a rule says of a company with one scale: table, id, other."""
    rows = {"scales": build_scale(), **rows}
    found = find_faults(rule, build_snapshot(**rows), limits=Limits(**limits))
    return [(one.table, one.id, one.other) for one in found]


def find_faults(rule: str, snapshot: Snapshot, **more: Any) -> list[Fault]:
    """Return what a rule says of a company, with our word lists where no others are given."""
    assert rule in RULE_NAMES
    found = list_to_mend(snapshot, ON, **{"words": get_own_lists(), **more})
    return [one.fault for one in found.rows if one.fault.rule == rule]


def name(*labels: str, **more: Any) -> list[dict[str, Any]]:
    """Return competencies a, b, c ... of these labels."""
    return [{"id": i, "label": label, "scale": "s5"} | more for i, label in zip("abcdef", labels, strict=False)]


def ask(role: str, *competencies: str, **more: Any) -> list[dict[str, Any]]:
    """Return what a role asks."""
    return [{"role": role, "competency": one, "level": 2} | more for one in competencies]


ROLE = [{"id": "r", "label": "R"}]
NEED = {"team": "t", "competency": "a", "level": 2, "minimum": 1}
TEAM = [{"id": "t", "label": "T"}]
COURSE = [{"id": "k", "label": "K", "hours": 1}]
CREW = [{"id": f"p{n}", "name": f"P{n}", "team": "t", "role": "r"} for n in range(5)]


def assess(level: int, *people: str) -> list[dict[str, Any]]:
    return [{"person": one, "competency": "a", "level": level} | DAY for one in people]
