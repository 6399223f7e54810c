"""Small companies on which the rules on what is to mend speak, or do not."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from small_company import ON, build_scale, build_snapshot

from ontology.analysis.health.faults import Limits
from ontology.analysis.health.to_mend import list_to_mend
from ontology.analysis.health.word_lists import get_own_lists

__all__ = ["COURSE", "CREW", "NEED", "ROLE", "TEAM", "Rows", "ask", "assess", "find", "name"]

Rows = Mapping[str, Sequence[Mapping[str, Any]]]
DAY = {"date": dt.date(2026, 1, 1), "source": "assessor"}


def find(rule: str, rows: Rows, **limits: Any) -> list[tuple[str, str | None, str | None]]:
    """Return what a rule says of a company with one scale: table, id, other."""
    rows = {"scales": build_scale(), **rows}
    found = list_to_mend(build_snapshot(**rows), ON, limits=Limits(**limits), words=get_own_lists(), rules=(rule,))
    assert {one.fault.rule for one in found.rows} <= {rule}
    return [(one.fault.table, one.fault.id, one.fault.other) for one in found.rows]


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
