"""Levels of a scale that nothing describes, and levels whose descriptions are alike. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Final

from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.analysis.likeness.labels import normalise, rate_words

__all__ = ["RULES"]

_BLANK: Final = "level not described"
_ALIKE: Final = "levels alike"


def _find_blank(looked: Looked) -> Iterator[Fault]:
    for scale, levels in looked.snapshot.scales.items():
        for level in levels:
            if not level.description.strip():
                reason = (
                    f"Nothing says what is seen at level {level.rank}, {level.label}: assessors judge by themselves."
                )
                yield Fault(_BLANK, "scales", f"{scale}~{level.rank}", f"{scale} {level.rank}, {level.label}", reason)


def _find_alike(looked: Looked) -> Iterator[Fault]:
    for scale, levels in looked.snapshot.scales.items():
        texts = {level.rank: normalise(level.description) for level in levels}
        for one, other in combinations(levels, 2):
            first, second = texts[one.rank], texts[other.rank]
            if rate_words(first, second) >= looked.limits.levels_alike / 100:
                reason = f"Levels {one.rank} and {other.rank} are described alike: assessors cannot tell them apart."
                label = f"{scale} {one.rank}, {one.label} / {other.rank}, {other.label}"
                yield Fault(_ALIKE, "scales", f"{scale}~{one.rank}", label, reason, other=f"{scale}~{other.rank}")


RULES: Final = (HealthRule(_BLANK, _find_blank), HealthRule(_ALIKE, _find_alike))
