"""Definitions that are missing, and those that say no more than the label. Pure."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from ontology.analysis.health.faults import Fault, HealthRule, Looked
from ontology.analysis.likeness.labels import normalise
from ontology.plurals import format_count

__all__ = ["RULES"]

_MISSING: Final = "definition missing"
_EMPTY: Final = "definition says nothing"
_DEFINED: Final = ("competencies", "roles")
#: So many words of so many letters that are not in the label say something.
_LEAST_WORDS: Final = 3
_LEAST_LETTERS: Final = 4


def _find_missing(looked: Looked) -> Iterator[Fault]:
    snapshot = looked.snapshot
    needs: defaultdict[str, int] = defaultdict(int)
    for need in snapshot.get_table("cover_needs").values():
        needs[need.competency] += 1
    for competency in snapshot.competencies.values():
        n_roles, n_needs = len(snapshot.get_requirements_of_competency(competency.id)), needs[competency.id]
        if not competency.definition.strip() and (n_roles or n_needs):
            asked = [format_count(n_roles, "role")] if n_roles else []
            asked += [format_count(n_needs, "cover need")] if n_needs else []
            verb = "ask" if n_roles + n_needs > 1 else "asks"
            reason = f"{' and '.join(asked)} {verb} for it, and nothing says what it means: its levels are guessed."
            yield Fault(_MISSING, "competencies", competency.id, competency.label, reason)


def _find_empty(looked: Looked) -> Iterator[Fault]:
    for table in _DEFINED:
        records = {one.id: one for one in getattr(looked.snapshot, table).values() if one.definition.strip()}
        words = {i: normalise(one.definition).split() for i, one in records.items()}
        labels = {i: normalise(one.label).split() for i, one in records.items()}
        for i, record in records.items():
            n = _count_own(words[i], labels[i])
            if n < _LEAST_WORDS:
                said = f"only {format_count(n, 'longer word')}" if n else "nothing"
                reason = f"Its definition adds {said} to the label. It should say what is done."
                yield Fault(_EMPTY, table, i, record.label, reason)
        for one, other in _find_circles(words, labels):
            reason = "Each is defined by naming the other. One of them should say what is done."
            yield Fault(_EMPTY, table, one, _join(records[one], records[other]), reason, other=other)


def _count_own(words: Sequence[str], label: Sequence[str]) -> int:
    """Return how many different words of some letters are not in the label; more than enough are not counted."""
    found: set[str] = set()
    for word in words:
        if word not in label and sum(map(str.isalpha, word)) >= _LEAST_LETTERS:
            found.add(word)
            if len(found) == _LEAST_WORDS:
                break
    return len(found)


def _find_circles(words: Mapping[str, Sequence[str]], labels: Mapping[str, Sequence[str]]) -> list[tuple[str, str]]:
    """Return pairs of ids whose definitions each hold the other's label, of two words or more, as a run of words."""
    ids: defaultdict[tuple[str, ...], list[str]] = defaultdict(list)
    for i, label in labels.items():
        if len(label) > 1:
            ids[tuple(label)].append(i)
    lengths: defaultdict[str, set[int]] = defaultdict(set)
    for label in ids:
        lengths[label[0]].add(len(label))
    held: dict[str, set[str]] = {}
    for i, text in words.items():
        runs = (tuple(text[at : at + n]) for at, word in enumerate(text) if word in lengths for n in lengths[word])
        held[i] = {other for run in runs for other in ids.get(run, ())}
    return [
        (one, other) for one, named in held.items() for other in sorted(named) if one < other and one in held[other]
    ]


def _join(one: Any, other: Any) -> str:
    return f"{one.label} / {other.label}"


RULES: Final = (HealthRule(_MISSING, _find_missing), HealthRule(_EMPTY, _find_empty))
