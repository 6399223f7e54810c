"""What competencies are called, language by language, as names are compared. Pure.

Names are compared as they are written first, and then in every language that both frameworks have.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ontology.analysis.likeness.grams import GramIndex
from ontology.analysis.likeness.labels import normalise
from ontology.model.records import Competency
from ontology.snapshot.languages import get_main_language, get_texts, list_common_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Called", "NamesByLetters", "get_called", "get_index", "join_labels", "list_language_pairs"]


@dataclass(frozen=True, slots=True)
class Called:
    """The names of a record in one language, normalised: its label, "" where it has none, and its other names."""

    label: str
    others: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """All of them, the label first."""
        return (self.label, *self.others) if self.label else self.others


@dataclass(frozen=True)
class NamesByLetters:
    """Every name of a framework's competencies in one language, one list; those of one stand together.

    `called` are the names of each that has any, by id; `first` the position of the first of them.
    """

    index: GramIndex
    owners: tuple[str, ...]
    called: Mapping[str, Called]
    first: Mapping[str, int]


def list_language_pairs(snapshot: Snapshot, outside: Snapshot) -> list[tuple[str, str]]:
    """Return in which language of each framework names are compared: the main ones, then what both have, by tag."""
    common = list_common_languages(snapshot, outside)
    return [(get_main_language(snapshot), get_main_language(outside)), *((one, one) for one in common)]


def get_called(snapshot: Snapshot, record: Competency, language: str) -> Called:
    """Return what a competency is called in a language."""
    label, others = (
        [name for name in map(normalise, get_texts(snapshot, "competencies", record, column, language)) if name]
        for column in ("label", "alt_labels")
    )
    return Called("".join(label), tuple(others))


def get_index(outside: Snapshot, language: str) -> NamesByLetters:
    """Return the names of a framework in a language; built once for a Snapshot. O(characters)."""
    return outside.keep(("names by letters", language), lambda: _build_index(outside, language))


def _build_index(outside: Snapshot, language: str) -> NamesByLetters:
    called = {one.id: get_called(outside, one, language) for one in outside.competencies.values()}
    texts: list[str] = []
    owners: list[str] = []
    first = {}
    for one, own in called.items():
        first[one] = len(texts)
        texts += own.names
        owners += [one] * len(own.names)
    return NamesByLetters(
        GramIndex(texts), tuple(owners), {one: own for one, own in called.items() if own.names}, first
    )


def join_labels(snapshot: Snapshot, ids: Iterable[str], language: str) -> str:
    """Return the labels of some competencies in a language, one behind the other."""
    known = [snapshot.competencies[one] for one in ids if one in snapshot.competencies]
    return " ".join(text for one in known for text in get_texts(snapshot, "competencies", one, "label", language))
