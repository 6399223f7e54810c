"""Descriptions and definitions that say nothing one could see someone do. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.analysis.health.word_lists import find_lists
from ontology.analysis.likeness.labels import normalise
from ontology.snapshot.languages import get_main_language

__all__ = ["RULES"]

_NAME: Final = "no observable act"


def _find(looked: Looked) -> Iterator[Fault]:
    lists = find_lists(looked.words, get_main_language(looked.snapshot))
    if lists is None:
        return
    for table, record_id, label, what, text in _iterate_texts(looked):
        words = normalise(text).split()
        vague = lists.vague.find(words)
        if vague and not lists.acts.find(words):
            reason = f"Its {what} says “{vague}”, which nobody can see, and nothing that is done."
            yield Fault(_NAME, table, record_id, label, reason)


def _iterate_texts(looked: Looked) -> Iterator[tuple[str, str, str, str, str]]:
    """Yield table, id, label, what the text is, and the text."""
    snapshot = looked.snapshot
    for scale, levels in snapshot.scales.items():
        for level in levels:
            label = f"{scale} {level.rank}, {level.label}"
            yield "scales", f"{scale}~{level.rank}", label, "description", level.description
    for one in snapshot.competencies.values():
        yield "competencies", one.id, one.label, "definition", one.definition
    for role in snapshot.roles.values():
        yield "roles", role.id, role.label, "definition", role.definition


RULES: Final = (HealthRule(_NAME, _find),)
