"""What the history keeps of people who were erased: how many are missing from which states, and what went from commits.

Nothing of it tells who they were: spans of revisions, numbers of rows, and a key that only its maker can compare.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.store.commit_text import ERASED_COUNT, ERASED_KEY, ERASED_PERSON, REMOVED_RECORDS, get_commit_node
from ontology.store.questions import StoreQuestions

__all__ = ["Erasures", "GoneRows", "describe", "describe_count", "describe_years", "read_erasures"]


@dataclass(frozen=True, slots=True)
class GoneRows:
    """How many rows of a table that a commit added, removed and changed went from its patch."""

    table: str
    added: int
    removed: int
    changed: int


@dataclass(frozen=True, slots=True)
class Erasures:
    """All erasures of a store.

    Attributes
    ----------
    spans : for each person the revision that made them, and the first without them
    gone : revision of a commit -> rows that went from it
    keys : what stands for each person
    removed : (revision, table, year, how many) of records whose time to be kept had passed
    """

    spans: tuple[tuple[int, int], ...] = ()
    gone: Mapping[int, tuple[GoneRows, ...]] | None = None
    keys: frozenset[str] = frozenset()
    removed: tuple[tuple[int, str, int, int], ...] = ()

    def list_removed_after(self, revision: int) -> tuple[str, ...]:
        """Return the tables some of whose records were removed from a revision, since their time had passed."""
        return tuple(sorted({table for at, table, _, _ in self.removed if at > revision}))

    def count_missing(self, revision: int) -> int:
        """Return how many people there were at a revision who have been erased since."""
        return sum(first <= revision < last for first, last in self.spans)

    def get_gone(self, revision: int) -> tuple[GoneRows, ...]:
        """Return the rows that went from a commit."""
        return (self.gone or {}).get(revision, ())


def describe(revision: int, spans: Sequence[tuple[int, int]], keys: Sequence[str]) -> Iterator[Quad]:
    """Yield what the entry of an erasure tells beside who, when and why; `spans` as in `Erasures`."""
    node = get_commit_node(revision)
    for number, (first, last) in enumerate(spans, 1):
        yield (ns.GRAPH_HISTORY, node, ERASED_PERSON, ns.text_term(f"{number} {first} {last}"))
    for key in keys:
        yield (ns.GRAPH_HISTORY, node, ERASED_KEY, ns.text_term(key))


def describe_count(commit: int, revision: int, gone: GoneRows) -> Quad:
    """Return what tells of a commit how many rows of a table an erasure, itself a revision, took from it."""
    told = f"{revision} {gone.table} {gone.added} {gone.removed} {gone.changed}"
    return (ns.GRAPH_HISTORY, get_commit_node(commit), ERASED_COUNT, ns.text_term(told))


def describe_years(revision: int, years: Mapping[tuple[str, int], int]) -> Iterator[Quad]:
    """Yield how many records of which year (of a table) a commit removed from every state."""
    for (table, year), number in sorted(years.items()):
        told = ns.text_term(f"{table} {year} {number}")
        yield (ns.GRAPH_HISTORY, get_commit_node(revision), REMOVED_RECORDS, told)


def read_erasures(store: StoreQuestions) -> Erasures:
    """Return the erasures of a store: one query."""
    values = f"{ERASED_PERSON} {ERASED_COUNT} {ERASED_KEY} {REMOVED_RECORDS}"
    query = f"SELECT ?s ?p ?o WHERE {{ GRAPH <{ns.GRAPH_HISTORY}> {{ VALUES ?p {{ {values} }} ?s ?p ?o }} }}"
    told: defaultdict[str, list[tuple[str, str]]] = defaultdict(list)
    for subject, predicate, text in store.select(query):
        told[ns.iri_term(predicate)].append((subject.removeprefix(ns.HISTORY), text))
    gone: defaultdict[int, list[GoneRows]] = defaultdict(list)
    for commit, text in sorted(told[ERASED_COUNT]):
        _, table, *numbers = text.split()
        gone[int(commit)].append(GoneRows(table, *map(int, numbers)))
    spans = tuple(_read_spans(text for _, text in told[ERASED_PERSON]))
    keys = frozenset(text for _, text in told[ERASED_KEY])
    removed = tuple(_read_removed(told[REMOVED_RECORDS]))
    return Erasures(spans, {commit: tuple(rows) for commit, rows in gone.items()}, keys, removed)


def _read_removed(told: Iterable[tuple[str, str]]) -> Iterator[tuple[int, str, int, int]]:
    for commit, text in sorted(told):
        table, year, number = text.split()
        yield int(commit), table, int(year), int(number)


def _read_spans(texts: Iterable[str]) -> Iterator[tuple[int, int]]:
    for text in sorted(texts):
        _, first, last = map(int, text.split())
        yield first, last
