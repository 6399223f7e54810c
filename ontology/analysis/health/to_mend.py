"""All that is to mend in a framework, in the order in which it should be read. Pure.

Errors first, then what touches most people, then what most rows name, then in the order of the rules.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.analysis.health import (
    asked_for,
    definitions,
    met_requirements,
    near_labels,
    profiles_of_roles,
    scale_levels,
    seen_acts,
    untranslated,
)
from ontology.analysis.health.effect import Effects
from ontology.analysis.health.faults import Fault, HealthRule, Limits, Looked
from ontology.analysis.health.word_lists import WordLists
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["FINDINGS", "RULES", "RULE_NAMES", "ToMend", "WeighedFault", "list_to_mend"]

#: Stands for all findings of checks, each of which has a name of its own.
FINDINGS: Final = "findings"
#: In the order in which they are told where nothing else decides; findings come before them.
RULES: Final[tuple[HealthRule, ...]] = (
    *near_labels.RULES,
    *definitions.RULES,
    *scale_levels.RULES,
    *seen_acts.RULES,
    asked_for.NEEDED_BY_NONE,
    asked_for.TAUGHT_BY_NONE,
    met_requirements.HELD_BY_NONE,
    met_requirements.MET_BY_ALL,
    met_requirements.MET_BY_NONE,
    profiles_of_roles.ROLES_ALIKE,
    profiles_of_roles.TOO_FEW,
    profiles_of_roles.TOO_MANY,
    asked_for.NO_PURPOSE,
    *untranslated.RULES,
)
RULE_NAMES: Final = frozenset(rule.name for rule in RULES)
_PLACES: Final = {rule.name: place for place, rule in enumerate(RULES, 1)}
_TABLE_PLACES: Final = {name: place for place, name in enumerate(TABLES)}


@dataclass(frozen=True, slots=True)
class WeighedFault:
    """A fault with its effect: the employed people who rest on its record, None where they are few, and the rows."""

    fault: Fault
    people: int | None
    rows: int


@dataclass(frozen=True, slots=True)
class ToMend:
    """What is to mend, in order."""

    rows: tuple[WeighedFault, ...]


def list_to_mend(
    snapshot: Snapshot,
    on: date,
    findings: Iterable[Fault] = (),
    *,
    limits: Limits | None = None,
    words: Mapping[str, WordLists],
) -> ToMend:
    """Return what is to mend.

    Parameters
    ----------
    on : date
        The day on which people, their roles and levels are taken.
    findings : iterable of Fault
        What the checks found, on records that are not about people.
    limits : Limits, optional
    words : Mapping of language to WordLists

    Notes
    -----
    All pairs of labels of a table of n records: O(n^2) at worst, but only labels of nearly equal length are compared.
    Everything else is O(records), and O(k log k) for what was found.
    """
    looked = Looked(snapshot, on, limits or Limits(), words)
    found = [*findings, *(fault for rule in RULES for fault in rule.find(looked))]
    effects = Effects(snapshot, on)
    weighed = [_weigh(fault, effects, looked.limits.least_people) for fault in found]
    return ToMend(tuple(sorted(weighed, key=_get_place)))


def _weigh(fault: Fault, effects: Effects, least: int) -> WeighedFault:
    people = effects.count_people(fault)
    return WeighedFault(fault, people if people >= least else None, effects.count_rows(fault))


def _get_place(one: WeighedFault) -> tuple[object, ...]:
    fault = one.fault
    # few people are none here: the order must not tell what the figure does not
    weight = (fault.severity != "error", -(one.people or 0), -one.rows)
    record = (_TABLE_PLACES[fault.table], fault.id or "", fault.other or "")
    return (*weight, _PLACES.get(fault.rule, 0), *record, fault.rule, fault.reason)
