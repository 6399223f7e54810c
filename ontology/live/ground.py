"""What nodes say at the base of a draft and now: from the records of the present and the patches since, not the store.

Only of nodes of which others say something, too, is the store asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import groupby
from typing import Final

from ontology.live.as_of import add_up
from ontology.live.merge import Facts, Node, Sides, group_facts
from ontology.live.patch import collect_facts, find_touched
from ontology.mapping.tagged import get_tagged_columns
from ontology.mapping.writer import get_predicates
from ontology.model.columns import MANY, Table
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import has_language
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import Pair
from ontology.store.history import Commit, Patch
from ontology.store.questions import StoreQuestions

__all__ = ["Ground", "keep_stated", "make_single"]

#: Nodes that follow from the levels of a scale: a draft does not hold them.
_DERIVED: Final = (f"<{ns.ID}scale/", f"<{ns.ID}scale-cell/")
_NOTHING: Final[Facts] = frozenset()


class Ground:
    """The present, and what became of the base since.

    Parameters
    ----------
    store : StoreQuestions
        At the revision of `present`.
    since : the commits after the base, oldest first, with what each changed
    read_undone : of what takes a commit back, the states before and after that; they are not kept
    """

    def __init__(
        self,
        store: StoreQuestions,
        present: Snapshot,
        since: Sequence[tuple[Commit, Patch]],
        read_undone: Callable[[], tuple[Snapshot, Snapshot] | None] = lambda: None,
    ) -> None:
        self._store = store
        self.present = present
        self.since = since
        self.read_undone = read_undone

    @cached_property
    def _come(self) -> Mapping[Node, set[tuple[str, str]]]:
        return group_facts(self._net.added)

    @cached_property
    def _gone(self) -> Mapping[Node, set[tuple[str, str]]]:
        return group_facts(self._net.removed)

    @cached_property
    def _net(self) -> Patch:
        return add_up(patch for _, patch in self.since)

    def has_moved(self, node: Node) -> bool:
        """Whether what a node says is not what it said at the base."""
        return node in self._come or node in self._gone

    def read_sides(self, pair: Pair, nodes: Iterable[Node] = ()) -> dict[Node, Sides]:
        """Return node -> its sides, of all nodes that a pair changes and of others.

        O(quads of the pair + facts of its nodes), and for a node of which others say something a look into the store.
        """
        plus, minus = group_facts(pair.added), group_facts(pair.removed)
        wanted = sorted({*plus, *minus, *nodes})
        present = self._read_present(wanted, plus, minus)
        sides = {}
        for node in wanted:
            now = present.get(node, _NOTHING)
            base = (now - self._come.get(node, _NOTHING)) | self._gone.get(node, _NOTHING)
            draft = (base - minus.get(node, _NOTHING)) | plus.get(node, _NOTHING)
            sides[node] = Sides(node, frozenset(base), frozenset(draft), now)
        return sides

    def _read_present(
        self,
        nodes: Sequence[Node],
        plus: Mapping[Node, set[tuple[str, str]]],
        minus: Mapping[Node, set[tuple[str, str]]],
    ) -> dict[Node, Facts]:
        facts: dict[Node, Facts] = {}
        told = (plus, minus, self._come, self._gone)
        for touched in find_touched(self.present, nodes):
            table = touched.table
            own, tagged = get_predicates(table), get_tagged_columns(table.name)
            for iri, said in collect_facts(touched).items():
                node = (table.graph, ns.iri_term(iri))
                is_one = (ns.RDF_TYPE, ns.iri_term(table.class_iri))
                is_removed = is_one in minus.get(node, ())
                mentioned = (fact for side in told for fact in side.get(node, ()) if fact != is_one)
                if not is_removed and all(p in (tagged if has_language(o) else own) for p, o in mentioned):
                    facts[node] = frozenset(said)
        others = [node for node in nodes if node not in facts]
        for graph, group in groupby(others, key=lambda node: node[0]):
            found = group_facts(self._store.read_subjects(graph, [subject for _, subject in group]))
            facts |= {node: frozenset(said) for node, said in found.items()}
        return facts


def make_single(nodes: Iterable[Node]) -> dict[Node, Callable[[str], bool]]:
    """Return, of nodes that are records, which predicates hold one value; others hold several."""
    found: dict[Node, Callable[[str], bool]] = {}
    for touched in find_touched(Snapshot({}), nodes):
        is_single = _list_single(touched.table).__contains__
        found |= {(touched.table.graph, ns.iri_term(iri)): is_single for iri in touched.keys}
    return found


def _list_single(table: Table) -> frozenset[str]:
    return frozenset(ns.iri_term(column.iri) for column in table.columns if column.kind not in MANY)


def keep_stated(quads: Iterable[Quad]) -> list[Quad]:
    """Return quads without those of nodes that follow from others."""
    return [quad for quad in quads if not quad[1].startswith(_DERIVED)]
