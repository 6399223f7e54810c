"""People taken out of a store and out of its past. Their records go from every state, and who reads the history is told
how many people are missing; where they assessed or signed for others, "erased" stands in their place.

The store is written anew, so that no byte of the old files is left. Who has an account is no matter of this module.
"""

from __future__ import annotations

import re
import uuid
from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import datetime
from itertools import count
from types import MappingProxyType
from typing import Any, Final

from ontology.errors import NotFoundError
from ontology.history.rows import count_rows
from ontology.live.live_graph import LiveGraph
from ontology.model.references import PEOPLE_AS_TEXT
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.plurals import format_count
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_plain_value
from ontology.store import erasures
from ontology.store.bulk_history import parse_patch_file
from ontology.store.commit_text import CommitEntry, parse_patch_graph
from ontology.store.history import read_commits
from ontology.store.rewriting import Revise, RewritableStore, Rewriting
from ontology.traces import Traces, find_everyone, find_traces, get_person_node

__all__ = ["ERASED", "build_revise", "erase_people", "remove_records"]

#: What stands where a person did who is named elsewhere.
ERASED: Final = "erased"
_AUTHOR: Final = ns.iri_term(ns.NW + "author")
_WHY: Final = ns.iri_term(ns.NW + "why")
_TITLE: Final = ns.iri_term(ns.DCTERMS + "title")
#: Graphs that tell who did something, and why: commits, releases, drafts and their edits.
_TOLD: Final = (ns.GRAPH_HISTORY, ns.GRAPH_STORE, ns.GRAPH_DRAFTS)
_PERSONAL: Final = {TABLES[name].segment: TABLES[name] for name in PERSONAL_TABLES}
_NAMING: Final = frozenset(
    ns.iri_term(column.iri) for table in TABLES.values() for column in table.columns if column.name in PEOPLE_AS_TEXT
)
#: Of records in whose key a text names someone: segment -> its place there.
_KEY_PLACES: Final = {
    table.segment: place for table in TABLES.values() for place, name in enumerate(table.key) if name in PEOPLE_AS_TEXT
}
_KEY_PREDICATES: Final = sorted(
    {
        ns.iri_term(table.get_column(name).iri)
        for table in TABLES.values()
        for name in table.key
        if name in PEOPLE_AS_TEXT
    }
)
_RECORD: Final = f"<{ns.ID}"
_ERASED_TERM: Final = ns.text_term(ERASED)
#: A text by itself, not a part of a longer word or id.
_BY_ITSELF: Final = r"(?<![\w-])(?:{})(?![\w-])"


def erase_people(
    graph: LiveGraph, people: Collection[str], *, who: str, make_key: Callable[[str], str]
) -> tuple[Traces, ...]:
    """Take people out of an open store for good and return what it held of them, the ids in order.

    Parameters
    ----------
    people : collection of str
        Ids, of people who are there or were at any time.
    who : str
        As the history names whoever did it.
    make_key : callable
        Id -> what stands for it in the history: tells nobody who it was.

    Raises
    ------
    NotFoundError
        The store never knew one of them.
    StorageFullError
        There is no room to write it anew; nothing is changed.

    Notes
    -----
    O(quads of the store and of its history). A process that is killed leaves all of them, or none.
    """
    with graph.store.lock:
        traces = []
        for person in sorted(set(people)):
            found = find_traces(graph.store, person)
            if found is None:
                raise NotFoundError(f"There is no person {person!r}, and never was.")
            traces.append(found)
        if traces:
            graph.store.rewrite(_build(graph.store, traces, who, make_key))
            graph.reload()
        return tuple(traces)


def remove_records(graph: LiveGraph, records: Collection[tuple[str, Any]], *, who: str, why: str) -> None:
    """Take records of people, each with its table, out of an open store and out of its past.

    The history tells how many went from which commit, and of which years they were.

    Raises
    ------
    StorageFullError
        There is no room to write it anew; nothing is changed.

    Notes
    -----
    As `erase_people`.
    """
    if not records:
        return
    with graph.store.lock:
        eraser = _Eraser(graph.store, [], {ns.iri_term(TABLES[name].get_iri(one)): name for name, one in records})
        years = Counter((name, one.date.year) for name, one in records)

        def finish(revision: int, moment: datetime) -> Iterator[Quad]:
            entry = CommitEntry(revision, uuid.uuid4().hex, who, why)
            yield from entry.describe(0, eraser.n_present, moment, is_bulk=False)
            yield from erasures.describe_years(revision, years)
            yield from eraser.tell_counts(revision)

        graph.store.rewrite(Rewriting(eraser.wanted, eraser.change, finish))
        graph.reload()


def build_revise(is_erased: Callable[[str], bool], who: str, make_key: Callable[[str], str]) -> Revise:
    """Return what takes people who were erased out of a backup before it is put back."""

    def revise(store: RewritableStore) -> Rewriting | None:
        found = (find_traces(store, person) for person in sorted(filter(is_erased, find_everyone(store))))
        traces = [one for one in found if one is not None]
        return _build(store, traces, who, make_key) if traces else None

    return revise


def _build(store: RewritableStore, traces: list[Traces], who: str, make_key: Callable[[str], str]) -> Rewriting:
    eraser = _Eraser(store, traces)

    def finish(revision: int, moment: datetime) -> Iterator[Quad]:
        told = f"erased {format_count(len(traces), 'person', 'people')}"
        entry = CommitEntry(revision, uuid.uuid4().hex, who, told)
        yield from entry.describe(0, eraser.n_present, moment, is_bulk=False)
        spans = [(one.first, revision if one.last is None else one.last) for one in traces]
        yield from erasures.describe(revision, spans, [make_key(one.person) for one in traces])
        yield from eraser.tell_counts(revision)

    return Rewriting(eraser.wanted, eraser.change, finish)


class _Eraser:
    """What becomes of each quad; afterwards, how many went from the present, and from which commits."""

    def __init__(
        self, store: RewritableStore, traces: list[Traces], records: Mapping[str, str] = MappingProxyType({})
    ) -> None:
        self._records = records
        self._people = {one.person for one in traces}
        self._nodes = {get_person_node(one.person) for one in traces}
        self._plans = {plan for one in traces for plan in one.plans}
        self._is_bulk = {commit.revision for commit in read_commits(store) if commit.is_bulk}
        self._texts = {text for one in traces for text in one.texts}
        # a number is more often something else in a sentence
        spoken = sorted((text for text in self._texts if not text.isdecimal()), key=len, reverse=True)
        self._spoken = re.compile(_BY_ITSELF.format("|".join(map(re.escape, spoken))) if spoken else r"(?!)")
        # of many records what their nodes have in common
        tables = {f"<{ns.ID}{TABLES[name].segment}/" for name in records.values()}
        needles = {*tables, *self._texts, *map(_quote, self._texts | self._plans), *map(_escape, self._texts)}
        self.wanted = re.compile(b"|".join(re.escape(text.encode()) for text in sorted(needles)))
        self._aliases = _choose_aliases(store, traces, self._is_own)
        self.n_present = 0
        self._gone: defaultdict[int, dict[bool, list[Quad]]] = defaultdict(lambda: {True: [], False: []})

    def change(self, quad: Quad, file: str) -> Quad | None:
        """Return what takes the place of a quad; None: nothing."""
        graph, subject, predicate, term = quad
        if self._is_own(subject) or term in self._nodes:
            self._take_down(quad, file)
            return None
        if graph in _TOLD and predicate == _AUTHOR:
            return (graph, subject, predicate, _ERASED_TERM if get_plain_value(term) in self._texts else term)
        if graph in _TOLD and predicate in (_WHY, _TITLE):
            return (graph, subject, predicate, ns.text_term(self._spoken.sub(ERASED, get_plain_value(term))))
        if graph.startswith(ns.PERSONAL_HISTORY) and predicate == _WHY:
            return None  # of several people perhaps, and none of it is needed
        named = self._aliases.get(get_plain_value(term)) if predicate in _NAMING and term[0] == '"' else None
        return (graph, _rename(subject, self._aliases), predicate, ns.text_term(named) if named else term)

    def tell_counts(self, revision: int) -> Iterator[Quad]:
        """Yield how many rows of which tables went from patches, so that commits go on telling what they changed."""
        for commit, gone in sorted(self._gone.items()):
            for one in count_rows(gone[True], gone[False]).tables:
                rows = erasures.GoneRows(one.table, one.added, one.removed, one.changed)
                yield erasures.describe_count(commit, revision, rows)

    def _is_own(self, subject: str) -> bool:
        if subject in self._records:
            return True
        segment, key = _split(subject)
        table = _PERSONAL.get(segment)
        if table is None or len(key) != len(table.key):
            return False
        if table.name in ("agreed_plans", "agreed_courses"):
            return key[0] in self._plans
        return key[0 if table.name == "people" else table.key.index("person")] in self._people

    def _take_down(self, quad: Quad, file: str) -> None:
        target = parse_patch_file(file) if file else parse_patch_graph(quad[0])
        if target is None:
            self.n_present += quad[0] in ns.DATA_GRAPHS
        elif self._is_own(quad[1]) and (file or target[0] not in self._is_bulk):
            graph = quad[0] if file else target[1]
            self._gone[target[0]][target[2]].append((graph, *quad[1:]))


def _choose_aliases(store: RewritableStore, traces: Iterable[Traces], is_own: Callable[[str], bool]) -> dict[str, str]:
    """Return what stands for each text that names someone: such that no two records become one."""
    aliases: dict[str, str] = {}
    taken: set[str] = set()
    for one in traces:
        nodes = [node for node in _find_keyed(store, one.texts) if not is_own(node)]
        for alias in (ERASED if n == 1 else f"{ERASED} {n}" for n in count(1)):
            of_one = dict.fromkeys(one.texts, alias)
            renamed = {_rename(node, of_one) for node in nodes}
            if len(renamed) == len(nodes) and not renamed & taken and not _are_known(store, renamed):
                break
        aliases |= of_one
        taken |= renamed
    return aliases


def _find_keyed(store: RewritableStore, texts: Iterable[str]) -> set[str]:
    """Return the nodes in whose key one of some texts names someone, now or at any time."""
    values = " ".join(f"({predicate} {ns.text_term(text)})" for predicate in _KEY_PREDICATES for text in sorted(texts))
    rows = store.select(f"SELECT DISTINCT ?s WHERE {{ VALUES (?p ?o) {{ {values} }} GRAPH ?g {{ ?s ?p ?o }} }}")
    found = {ns.iri_term(iri) for (iri,) in rows}
    wanted = [f" {predicate} {ns.text_term(text)} " for predicate in _KEY_PREDICATES for text in sorted(texts)]
    for commit in read_commits(store):
        for file in commit.files:
            found |= {quad[1] for quad in store.patches.iterate_quads(file, wanted)}
    return found


def _are_known(store: RewritableStore, nodes: set[str]) -> bool:
    if any(True for _ in store.select_terms(_ask_for(nodes))):
        return True
    files = (file for commit in read_commits(store) for file in commit.files)
    return any(True for file in files for _ in store.patches.iterate_about(file, nodes))


def _ask_for(nodes: Iterable[str]) -> str:
    return f"SELECT ?s WHERE {{ VALUES ?s {{ {' '.join(sorted(nodes))} }} GRAPH ?g {{ ?s ?p ?o }} }} LIMIT 1"


def _rename(subject: str, aliases: Mapping[str, str]) -> str:
    segment, key = _split(subject)
    place = _KEY_PLACES.get(segment)
    if place is None or len(key) <= place or key[place] not in aliases:
        return subject
    parts = [*key[:place], aliases[key[place]], *key[place + 1 :]]
    return ns.iri_term(ns.record_iri(segment, *parts))


def _split(subject: str) -> tuple[str, tuple[str, ...]]:
    """Return the segment and the key of a record's node; ("", ()) of another."""
    if not subject.startswith(_RECORD):
        return "", ()
    return subject.removeprefix(_RECORD).partition("/")[0], ns.key_from_iri(subject[1:-1])


def _escape(text: str) -> str:
    return ns.text_term(text)[1:-1]


def _quote(text: str) -> str:
    return ns.record_iri("", text).rpartition("/")[2]
