"""What the words mean: every kind of record and what is said of it, in the vocabulary's own words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from api.desk.names import count
from api.pages.page import Page
from loaders.tables.explanations import TABLE_MEANINGS
from ontology.model.columns import Column, Table
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns

__all__ = ["Word", "WordsSection", "WordsView", "build_words_view", "describe_words"]

#: Where the tables stand on the page, in the order of the tables.
_THEMES: Final = {
    ns.GRAPH_FRAMEWORK: ("the-framework", "The framework"),
    ns.GRAPH_OFFERS: ("offers", "Courses and sessions"),
    ns.GRAPH_TEAMS: ("teams", "Teams, places and what they need"),
    ns.GRAPH_PEOPLE: ("people", "People"),
}
#: What is no table and stands before them.
_BEFORE: Final = {ns.GRAPH_FRAMEWORK: (ns.NW + "Scale",)}
#: IRI -> label and meaning.
_Meanings = Mapping[str, tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Word:
    """A word, what it means, the column it heads, and the words that are said of it."""

    label: str
    meaning: str
    anchor: str
    column: str = ""
    parts: tuple[Word, ...] = ()


@dataclass(frozen=True, slots=True)
class WordsSection:
    """The words of one theme."""

    anchor: str
    title: str
    words: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class WordsView:
    """All words; `lead` says how many."""

    lead: str
    sections: tuple[WordsSection, ...]


@cache
def build_words_view() -> WordsView:
    """Return every word of the tables by theme, in the order of tables and columns; then the words of the store."""
    from ontology.rdf.vocabulary_terms import get_meanings  # brings the reader of Turtle

    meanings = get_meanings()
    sections = []
    for theme, (anchor, title) in _THEMES.items():
        tables = [table for table in TABLES.values() if table.graph == theme]
        words = [Word(*meanings[iri], iri.removeprefix(ns.NW)) for iri in _BEFORE.get(theme, ())]
        sections.append(WordsSection(anchor, title, (*words, *(_build_word(meanings, table) for table in tables))))
    told = {table.class_iri for table in TABLES.values()} | {iri for before in _BEFORE.values() for iri in before}
    told |= {column.iri for table in TABLES.values() for column in table.columns}
    rest = tuple(_iterate_rest(meanings, told))
    sections.append(WordsSection("store", "The data as a whole, and their history", rest))
    n_kinds = sum(len(section.words) for section in sections[:-1])
    n_words = sum(len(word.parts) for section in sections for word in section.words)
    lead = f"{count(n_kinds, 'kind')} of records, and {count(n_words, 'word')} for what is said of them."
    return WordsView(lead, tuple(sections))


def _build_word(meanings: _Meanings, table: Table) -> Word:
    label, meaning = meanings.get(table.class_iri, ("", ""))
    anchor = table.segment
    parts = tuple(_build_part(meanings, column, f"{anchor}-{column.name}") for column in table.columns)
    words = label or table.segment.replace("-", " ")
    return Word(words, meaning or TABLE_MEANINGS[table.name], anchor, table.name, parts)


def _build_part(meanings: _Meanings, column: Column, anchor: str) -> Word:
    name = column.name
    label, meaning = meanings.get(column.iri, ("", ""))
    # a term of another vocabulary has the meaning that it has there: what it is for here stands with the column
    is_own = column.iri.startswith(ns.NW)
    words = label if is_own and label else name.replace("_", " ")
    return Word(words, meaning if is_own else column.about, anchor, name)


def _iterate_rest(meanings: _Meanings, told: Iterable[str]) -> Iterator[Word]:
    """Yield our own terms that no table has, by label."""
    own = {iri for iri in meanings if iri.startswith(ns.NW)} - set(told)
    for iri in sorted(own, key=lambda one: (meanings[one][0].casefold(), one)):
        label, meaning = meanings[iri]
        if label:
            yield Word(label, meaning, iri.removeprefix(ns.NW))


def describe_words() -> Page:
    """Return the page of all words."""
    return Page("words.html", {"view": build_words_view()}, is_private=False)
