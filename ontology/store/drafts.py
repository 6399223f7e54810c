"""What the store keeps of drafts: a description and its edits in one graph, and of each a pair of patches on its base.

Invariant of a pair: what it adds is absent from the base, what it removes is part of it. It stands in graphs of its
own, `draft/{id}/{graph}/added` and `removed`, written in one step with the description and guarded by what that said.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any, Final, Literal

from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.rdf.terms import get_plain_value
from ontology.store.commit_text import Beside
from ontology.store.questions import StoreQuestions

__all__ = ["DRAFT_GRAPHS", "Draft", "DraftEdit", "Pair", "change_draft", "read_drafts", "read_edits", "read_pair"]

#: Whose records a draft may hold: never those about people.
DRAFT_GRAPHS: Final = (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS, ns.GRAPH_TEAMS)
_IS_DRAFT: Final = ns.iri_term(ns.NW + "Draft")
_IS_EDIT: Final = ns.iri_term(ns.PROV + "Activity")
_OF: Final = ns.iri_term(ns.NW + "draft")
_SETTLED: Final = ns.iri_term(ns.NW + "settled")


@dataclass(frozen=True, slots=True)
class Draft:
    """A change of the framework that is not published yet.

    Attributes
    ----------
    base : the revision it was made for, or brought to
    number : raised by each edit of it
    key : tells it from another draft that has its id after it was deleted
    undo_of : the revision whose change it takes back
    revision : the one that publishing it made
    settled : marks of conflicts that were decided for the draft
    """

    id: str
    title: str
    author: str
    made_on: datetime
    base: int
    number: int
    state: Literal["open", "published", "withdrawn"]
    key: str
    undo_of: int | None = None
    revision: int | None = None
    settled: frozenset[str] = frozenset()

    @property
    def node(self) -> str:
        """The node that describes it (N-Triples text)."""
        return ns.iri_term(ns.record_iri("draft", self.id))

    def describe(self) -> list[Quad]:
        """Return what its graph says of it."""
        facts = [(ns.RDF_TYPE, _IS_DRAFT), *((_SETTLED, ns.text_term(mark)) for mark in sorted(self.settled))]
        for name, (predicate, write, _) in _FACTS.items():
            value = getattr(self, name)
            if value is not None:
                facts.append((predicate, write(value)))
        return [(ns.GRAPH_DRAFTS, self.node, p, o) for p, o in facts]

    def guard(self) -> list[Quad]:
        """Return what must still be said of it where it is to be changed."""
        facts = ((_FACTS[name][0], _FACTS[name][1](getattr(self, name))) for name in ("key", "number", "state"))
        return [(ns.GRAPH_DRAFTS, self.node, p, o) for p, o in facts]


@dataclass(frozen=True, slots=True)
class DraftEdit:
    """One edit of a draft: who, when, why, and how much; `number` is that of the draft after it."""

    number: int
    who: str
    when: datetime
    why: str
    n_added: int = 0
    n_removed: int = 0

    def describe(self, draft: Draft) -> list[Quad]:
        """Return it as one prov:Activity."""
        node = ns.iri_term(ns.record_iri("draft-edit", uuid.uuid4().hex))
        facts = [(ns.RDF_TYPE, _IS_EDIT), (_OF, draft.node)]
        facts += [(predicate, write(getattr(self, name))) for name, (predicate, write, _) in _EDIT_FACTS.items()]
        return [(ns.GRAPH_DRAFTS, node, p, o) for p, o in facts]


@dataclass(frozen=True, slots=True)
class Pair:
    """What a draft adds to its base and removes from it, in the graphs of the data."""

    added: frozenset[Quad] = frozenset()
    removed: frozenset[Quad] = frozenset()

    def edit(self, added: Iterable[Quad], removed: Iterable[Quad]) -> Pair:
        """Return the pair after an edit: what is added is absent from the draft, what is removed is part of it.

        Examples
        --------
        >>> one, other = ("g", "s", "p", "1"), ("g", "s", "p", "2")
        >>> Pair().edit([other], [one]).edit([one], [other]) == Pair()
        True
        """
        plus, minus = frozenset(added), frozenset(removed)
        return Pair((self.added - minus) | (plus - self.removed), (self.removed - plus) | (minus - self.added))

    def place(self, draft_id: str) -> set[Quad]:
        """Return its quads in the graphs they are kept in."""
        sides = ((self.added, "added"), (self.removed, "removed"))
        return {(_get_pair_graph(draft_id, quad[0], side), *quad[1:]) for quads, side in sides for quad in quads}


def change_draft(
    before: Draft | None, after: Draft | None, pairs: tuple[Pair, Pair], told: Iterable[Quad] = ()
) -> Beside:
    """Return what is written where a draft, with its pair, becomes another; `told` is an edit, or what goes with it."""
    old = {*(before.describe() if before else ()), *(pairs[0].place(before.id) if before else ())}
    new = {*(after.describe() if after else ()), *(pairs[1].place(after.id) if after else ())}
    edits = list(told)
    if after is None:
        return Beside((), sorted(old | set(edits)))
    return Beside(sorted(new - old) + edits, sorted(old - new))


def read_drafts(store: StoreQuestions, draft_id: str | None = None) -> list[Draft]:
    """Return the drafts of a store by id, or the one of an id: one query."""
    which = f"VALUES ?d {{ <{ns.record_iri('draft', draft_id)}> }} " if draft_id is not None else ""
    facts: dict[str, list[tuple[str, str]]] = {}
    query = f"SELECT ?d ?p ?o WHERE {{ GRAPH <{ns.GRAPH_DRAFTS}> {{ {which}?d a {_IS_DRAFT} ; ?p ?o }} }}"
    for node, predicate, term in store.select_terms(query):
        facts.setdefault(node, []).append((predicate, get_plain_value(term)))
    drafts = []
    for node, said in facts.items():
        plain = dict(said)
        values: dict[str, Any] = {name: read(plain[p]) for name, (p, _, read) in _FACTS.items() if p in plain}
        marks = frozenset(text for predicate, text in said if predicate == _SETTLED)
        drafts.append(Draft(id=ns.id_from_iri(node[1:-1]), settled=marks, **values))
    return sorted(drafts, key=lambda draft: draft.id)


def read_edits(store: StoreQuestions, draft: Draft) -> list[DraftEdit]:
    """Return the edits of a draft, oldest first."""
    names = [field.name for field in fields(DraftEdit)]
    facts = " ; ".join(f"{_EDIT_FACTS[name][0]} ?{name}" for name in names)
    rows = store.select(
        f"SELECT {' '.join('?' + name for name in names)} WHERE {{ GRAPH <{ns.GRAPH_DRAFTS}> {{ "
        f"?e {_OF} {draft.node} ; {facts} }} }}"
    )
    edits = [
        DraftEdit(**{name: _EDIT_FACTS[name][2](text) for name, text in zip(names, row, strict=True)}) for row in rows
    ]
    return sorted(edits, key=lambda edit: (edit.when, edit.number))


def read_edit_quads(store: StoreQuestions, draft: Draft) -> Iterator[Quad]:
    """Yield all that is kept of the edits of a draft."""
    query = f"SELECT ?s ?p ?o WHERE {{ GRAPH <{ns.GRAPH_DRAFTS}> {{ ?s {_OF} {draft.node} ; ?p ?o }} }}"
    for s, p, o in store.select_terms(query):
        yield (ns.GRAPH_DRAFTS, s, p, o)


def read_pair(store: StoreQuestions, draft_id: str) -> Pair:
    """Return the pair of a draft. O(n) for n quads of it."""
    sides = {
        side: frozenset(
            (graph, *quad[1:])
            for graph in DRAFT_GRAPHS
            for quad in store.read_graph(_get_pair_graph(draft_id, graph, side))
        )
        for side in ("added", "removed")
    }
    return Pair(sides["added"], sides["removed"])


def _get_pair_graph(draft_id: str, graph: str, side: str) -> str:
    return f"{ns.DRAFT}{draft_id}/{graph.removeprefix(ns.GRAPH)}/{side}"


def _write_number(value: int) -> str:
    return ns.typed_term(str(value), "integer")


def _write_time(value: datetime) -> str:
    return ns.typed_term(value.strftime("%Y-%m-%dT%H:%M:%SZ"), "dateTime")


#: Predicate of a member, how it is written, how it is read.
_Fact = tuple[str, Callable[[Any], str], Callable[[str], Any]]


def _text(iri: str) -> _Fact:
    return ns.iri_term(iri), ns.text_term, str


def _number(iri: str) -> _Fact:
    return ns.iri_term(iri), _write_number, int


_FACTS: Final[dict[str, _Fact]] = {
    "title": _text(ns.DCTERMS + "title"),
    "author": _text(ns.NW + "author"),
    "made_on": (ns.iri_term(ns.DCTERMS + "created"), _write_time, datetime.fromisoformat),
    "base": _number(ns.NW + "base"),
    "number": _number(ns.NW + "number"),
    "state": _text(ns.NW + "draftState"),
    "key": _text(ns.NW + "draftKey"),
    "undo_of": _number(ns.NW + "undoOf"),
    "revision": _number(ns.NW + "revision"),
}
_EDIT_FACTS: Final[dict[str, _Fact]] = {
    "number": _number(ns.NW + "number"),
    "who": _text(ns.NW + "author"),
    "when": (ns.iri_term(ns.PROV + "endedAtTime"), _write_time, datetime.fromisoformat),
    "why": _text(ns.NW + "why"),
    "n_added": _number(ns.NW + "addedCount"),
    "n_removed": _number(ns.NW + "removedCount"),
}
