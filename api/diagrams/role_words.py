"""A role's competency model in words: order, families, legend, description. Imports style, text and the snapshot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.old_cards import Key, build_ruler_keys, format_levels
from api.diagrams.text import format_count
from ontology.graph.snapshot import Snapshot
from ontology.records import Requirement, Role

_ORDER: Final = {"blocking": 0, "essential": 1, "desirable": 2}
NO_FAMILY: Final = "Without a broader competency"


def rank_requirement(snapshot: Snapshot, requirement: Requirement) -> tuple[int, float, str, str]:
    """Return the sort key: necessity, weight, label, id."""
    label = snapshot.competencies[requirement.competency].label
    return (_ORDER[requirement.necessity], -requirement.weight, label, requirement.competency)


def group_by_family(snapshot: Snapshot, ranked: Sequence[Requirement]) -> list[tuple[str, list[Requirement]]]:
    """Group by the first broader competency, families in the order of their foremost requirement."""
    groups: defaultdict[str, list[Requirement]] = defaultdict(list)
    for requirement in ranked:
        broader = snapshot.competencies[requirement.competency].broader
        groups[broader[0] if broader else ""].append(requirement)
    return list(groups.items())


def build_keys(shown: Sequence[Requirement]) -> list[list[Key]]:
    """Return the legend."""
    present = {r.necessity for r in shown}
    words = {
        "blocking": "blocking: law or safety, nothing begins without it",
        "essential": "essential",
        "desirable": "desirable (dashed)",
    }
    necessities = [Key(style.NECESSITIES[n].colour, words[n]) for n in _ORDER if n in present]
    return [necessities, build_ruler_keys()] if shown else []


def _count_necessities(requirements: Sequence[Requirement]) -> str:
    counts = [(sum(r.necessity == n for r in requirements), n) for n in _ORDER]
    return ", ".join(f"{count} {name}" for count, name in counts if count)


def build_subtitle(role: Role, requirements: Sequence[Requirement], left_out: Sequence[Requirement]) -> str:
    """Return what the role asks, counted."""
    if not requirements:
        return "This role has no requirements yet."
    words = f"asks for {format_count(len(requirements), 'competency', 'competencies')}: "
    words += _count_necessities(requirements) + "."
    if left_out:
        words += f" Not drawn: the {len(left_out)} least weighty ones; the role's list has them all."
    return words[0].upper() + words[1:]


def build_description(
    snapshot: Snapshot,
    role: Role,
    families: Sequence[tuple[str, Sequence[Requirement]]],
    left_out: Sequence[Requirement],
) -> str:
    """Return the model in words, family by family."""
    drawn = [r for _, group in families for r in group]
    sentences = [build_subtitle(role, [*drawn, *left_out], left_out)]
    for family, requirements in families:
        label = snapshot.competencies[family].label if family in snapshot.competencies else family or NO_FAMILY
        parts = [
            f"{snapshot.competencies[r.competency].label} ({r.necessity}, "
            + format_levels(r.level, r.entry_level, r.unsupervised_level)
            + ")"
            for r in requirements
        ]
        sentences.append(f"{label}: {'; '.join(parts)}.")
    return " ".join(sentences)
