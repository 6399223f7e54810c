"""What an export is of, and what it is: a state under its release, and statements with what they leave out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final

from ontology.model.framework_itself import MAIN_LANGUAGE, THIS, Framework
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import is_safe_iri
from ontology.snapshot.languages import list_languages
from ontology.snapshot.snapshot import Snapshot

__all__ = ["UNTITLED", "Edition", "Export", "Statements", "count_left_out"]

#: What a framework is called that says no title of its own.
UNTITLED: Final = "Competency framework"


@dataclass(frozen=True, slots=True)
class Edition:
    """A state that is written out: the release that names it, "" where none does, and when it was made."""

    snapshot: Snapshot
    moment: datetime
    version: str = ""

    @property
    def framework(self) -> Framework:
        """What is said of the framework, with every default where nothing is."""
        said = self.snapshot.framework.get(THIS)
        made: Framework = said or TABLES["framework"].build(id=THIS, title=UNTITLED)
        return made

    @property
    def language(self) -> str:
        """The language of its own texts, in lower case."""
        return (self.framework.language or MAIN_LANGUAGE).lower()

    @property
    def languages(self) -> tuple[str, ...]:
        """The main language and those of its translations."""
        return (self.language, *list_languages(self.snapshot))

    @property
    def stamp(self) -> str:
        """When it was made, to the second (RFC 3339)."""
        return self.moment.replace(microsecond=0).isoformat()


@dataclass(frozen=True, slots=True)
class Export:
    """Statements, and how many of what they leave out; what nothing is left out of is not named."""

    quads: tuple[Quad, ...]
    left_out: Mapping[str, int] = field(default_factory=dict)


class Statements:
    """Gathers statements of one graph; what is empty is not stated."""

    def __init__(self, language: str) -> None:
        self._language = language
        self._quads: list[Quad] = []

    def add(self, subject: str, predicate: str, *terms: str) -> None:
        """State terms (N-Triples text) of a subject; both IRIs without brackets."""
        self._quads += [("", ns.iri_term(subject), ns.iri_term(predicate), term) for term in terms]

    def add_iri(self, subject: str, predicate: str, *iris: str) -> None:
        """State IRIs of a subject."""
        self.add(subject, predicate, *map(ns.iri_term, iris))

    def add_text(self, subject: str, predicate: str, *texts: str, tagged: bool = True) -> None:
        """State texts of a subject, in the main language unless they are in none."""
        tag = f"@{self._language}" if tagged else ""
        self.add(subject, predicate, *(ns.text_term(text) + tag for text in texts if text))

    def add_address(self, subject: str, predicate: str, text: str) -> None:
        """State an address of a subject; as words where it is none."""
        self.add(
            subject, predicate, *([ns.iri_term(text) if is_safe_iri(text) else ns.text_term(text)] if text else [])
        )

    def add_translations(self, edition: Edition, subject: str, table: str, key: str, **properties: str) -> None:
        """State the texts of a record in other languages: of some columns, each by its property."""
        for row in edition.snapshot.get_translations((table, key)):
            if row.column in properties:
                texts = (f"{ns.text_term(text)}@{row.language}" for text in row.texts)
                self.add(subject, properties[row.column], *texts)

    def finish(self) -> tuple[Quad, ...]:
        """Return the statements, sorted, each once."""
        return tuple(sorted(set(self._quads)))


def count_left_out(counts: Iterable[tuple[str, Iterable[Any]]]) -> dict[str, int]:
    """Return what is left out with how many of it, without what there is none of."""

    def measure() -> Iterator[tuple[str, int]]:
        for what, records in counts:
            yield what, sum(1 for _ in records)

    return {what: n for what, n in measure() if n}
