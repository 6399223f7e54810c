"""What a store and its past hold of a person: under which names, from which revision to which, in which plans."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_plain_value
from ontology.store.commit_text import parse_patch_graph
from ontology.store.history import Commit, read_commits
from ontology.store.rewriting import RewritableStore

__all__ = ["Traces", "find_everyone", "find_traces", "get_person_node"]

_PEOPLE: Final = TABLES["people"]
_PLANS: Final = TABLES["agreed_plans"]
_NAME: Final = ns.iri_term(_PEOPLE.get_column("name").iri)
_OF: Final = ns.iri_term(_PLANS.get_column("person").iri)
_IS_PERSON: Final = ns.iri_term(_PEOPLE.class_iri)


@dataclass(frozen=True, slots=True)
class Traces:
    """One person in a store.

    Attributes
    ----------
    names : every name they had
    plans : ids of the plans that were agreed with them
    first, last : the revisions that made them and that removed them; `last` is None where they are there now
    revisions : those in whose patches they have quads
    """

    person: str
    names: frozenset[str]
    plans: frozenset[str]
    first: int
    last: int | None
    revisions: frozenset[int]

    @property
    def texts(self) -> frozenset[str]:
        """What names them in a text: the id and the names."""
        return self.names | {self.person}


def get_person_node(person: str) -> str:
    """Return the node of a person (N-Triples text)."""
    return ns.iri_term(ns.record_iri(_PEOPLE.segment, person))


def find_everyone(store: RewritableStore) -> frozenset[str]:
    """Return the ids of all people that a store holds, or held at any time. O(people + changes of them)."""
    rows = store.select(f"SELECT DISTINCT ?s WHERE {{ GRAPH ?g {{ ?s {ns.RDF_TYPE} {_IS_PERSON} }} }}")
    # what a bulk commit removed stands in patch graphs by its type, so no file needs to be read
    return frozenset(ns.id_from_iri(iri) for (iri,) in rows if iri.startswith(f"{ns.ID}{_PEOPLE.segment}/"))


def find_traces(store: RewritableStore, person: str) -> Traces | None:
    """Return what a store holds of a person; None where it never knew them.

    Notes
    -----
    Two look-ups, and each file of a bulk commit about people gone through once: O(bytes) of these.
    """
    node = get_person_node(person)
    names: set[str] = set()
    plans: set[str] = set()
    came: set[int] = set()
    went: set[int] = set()
    revisions: set[int] = set()
    is_there = False
    for quad, revision, is_added in _iterate_quads(store, node):
        _, subject, predicate, term = quad
        revisions |= {revision} if revision else set()
        if subject == node and predicate == _NAME:
            names.add(get_plain_value(term))
        elif subject == node and predicate == ns.RDF_TYPE:
            is_there |= not revision
            (came if is_added else went).add(revision)
        elif predicate == _OF and term == node and subject.startswith(f"<{ns.ID}{_PLANS.segment}/"):
            plans.add(ns.id_from_iri(subject[1:-1]))
    if not (came or went):
        return None
    last = None if is_there else max(went, default=store.revision)
    first = min(came - {0}, default=0)
    return Traces(person, frozenset(names - {""}), frozenset(plans), first, last, frozenset(revisions))


def _iterate_quads(store: RewritableStore, node: str) -> Iterator[tuple[Quad, int, bool]]:
    """Yield what is or was said of a node, or with it, and the revision that said so; 0: it is said now."""
    rows = store.select_terms(
        f"SELECT ?g ?s ?p ?o WHERE {{ {{ BIND({node} AS ?s) GRAPH ?g {{ {node} ?p ?o }} }} UNION "
        f"{{ BIND({node} AS ?o) GRAPH ?g {{ ?s ?p {node} }} }} }}"
    )
    for graph, *rest in rows:
        quad = (graph[1:-1], rest[0], rest[1], rest[2])
        target = parse_patch_graph(quad[0])
        yield (quad, target[0], target[2]) if target else (quad, 0, True)
    for commit in read_commits(store):
        for quad, is_added in _read_files(store, commit, [node]):
            yield quad, commit.revision, is_added


def _read_files(store: RewritableStore, commit: Commit, mentioning: Sequence[str]) -> Iterator[tuple[Quad, bool]]:
    for file in commit.files:
        if ".people." in file.name:
            yield from ((quad, file.is_added) for quad in store.patches.iterate_quads(file, mentioning))
