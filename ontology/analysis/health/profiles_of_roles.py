"""Roles that ask for the same, and roles that ask for too few or too many competencies. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations
from typing import Any, Final

from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.plurals import format_count

__all__ = ["ROLES_ALIKE", "TOO_FEW", "TOO_MANY"]


def _find_alike(looked: Looked) -> Iterator[Fault]:
    groups: defaultdict[frozenset[Any], list[str]] = defaultdict(list)
    for role_id in looked.snapshot.roles:
        rows = looked.snapshot.get_requirements(role_id)
        asked = frozenset((r.competency, r.level, r.entry_level, r.unsupervised_level, r.necessity) for r in rows)
        if asked:
            groups[asked].append(role_id)
    for asked, ids in groups.items():
        n = format_count(len(asked), "competency", "competencies")
        reason = f"Both ask for the same {n} at the same levels: one of them is one too many."
        for one, other in combinations(ids, 2):
            label = f"{looked.snapshot.roles[one].label} / {looked.snapshot.roles[other].label}"
            yield Fault("roles alike", "roles", one, label, reason, other=other)


def _find_few(looked: Looked) -> Iterator[Fault]:
    fewest = looked.limits.fewest_requirements
    for role in looked.snapshot.roles.values():
        n = len(looked.snapshot.get_requirements(role.id))
        if n < fewest:
            asked = format_count(n, "competency", "competencies") if n else "nothing"
            reason = f"It asks for {asked}; fewer than {fewest} make no profile."
            yield Fault("too few", "roles", role.id, role.label, reason)


def _find_many(looked: Looked) -> Iterator[Fault]:
    most = looked.limits.most_requirements
    for role in looked.snapshot.roles.values():
        n = len(looked.snapshot.get_requirements(role.id))
        if n > most:
            reason = f"It asks for {n} competencies; more than {most} cannot all be assessed."
            yield Fault("too many", "roles", role.id, role.label, reason)


ROLES_ALIKE: Final = HealthRule("roles alike", _find_alike)
TOO_FEW: Final = HealthRule("too few", _find_few)
TOO_MANY: Final = HealthRule("too many", _find_many)
