"""A draft on top of the present: what it changes there, the Snapshot it leads to, where it and others disagree."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any, TypeVar

from ontology.checks.rescaling import Rescaling, find_rescaling
from ontology.live.ground import Ground, make_single
from ontology.live.merge import WHOLE, Choice, Clash, Facts, Node, Sides, merge_node
from ontology.live.patch import find_touched, patch_snapshot, read_facts
from ontology.live.rescaled import Rows, read_people
from ontology.model.columns import Key, Table
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.translated import get_key_text
from ontology.rdf import namespaces as ns
from ontology.rdf.terms import get_plain_value
from ontology.snapshot.keeper import Keeper
from ontology.snapshot.snapshot import Snapshot
from ontology.store.drafts import Draft, Pair

__all__ = ["Conflict", "DraftState", "lead_draft"]

Choose = Callable[[Clash], Choice]
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Conflict:
    """A record, or a column of one, that a draft and others changed differently.

    Attributes
    ----------
    table, key : of the record; of a node that is no record of a table "" and its IRI
    column : its name, of a text in a language with @ and the language; None: the whole record
    base, draft, published : the values, or the records; None where there is none
    record : the record in the draft, or else as it was published last: what it is called by
    revision, who, when, why : of the commit that changed it last
    """

    table: str
    key: Key
    column: str | None
    base: Any
    draft: Any
    published: Any
    record: Any
    revision: int
    who: str
    when: datetime
    why: str

    @property
    def id(self) -> str:
        """The parts of the key, joined by ~."""
        return "~".join(map(str, self.key))


@dataclass(frozen=True)
class DraftState:
    """A draft on one revision.

    Attributes
    ----------
    draft, pair : as they are kept
    ground : the present and what became of the base
    sides, merged : of each node that the draft changes
    clashes : what nobody decided
    """

    draft: Draft
    pair: Pair
    ground: Ground
    sides: Mapping[Node, Sides]
    merged: Mapping[Node, Facts]
    clashes: tuple[Clash, ...]
    _kept: Keeper = field(default_factory=Keeper, init=False, repr=False, compare=False)

    def keep(self, key: Hashable, build: Callable[[], _T]) -> _T:
        """Return what is kept under a key; made, and kept from then on, where there is nothing yet."""
        return self._kept.keep(key, build)

    @cached_property
    def net(self) -> Pair:
        """What the draft adds to the present and removes from it."""
        plus = {(*n, *fact) for n, said in self.merged.items() for fact in said - self.sides[n].now}
        minus = {(*n, *fact) for n, said in self.merged.items() for fact in self.sides[n].now - said}
        return Pair(frozenset(plus), frozenset(minus))

    @cached_property
    def snapshot(self) -> Snapshot:
        """The present with the draft on it, levels of people read as they would be; the revision is the present one."""
        return self._drafted.with_changes(*self.people) if any(self.people) else self._drafted

    @cached_property
    def _drafted(self) -> Snapshot:
        present = self.ground.present
        # in an order that does not change
        return patch_snapshot(present, *map(sorted, (self.net.added, self.net.removed)), revision=present.revision)

    @cached_property
    def rescaling(self) -> Rescaling:
        """How levels that are recorded are read anew when it is published."""
        return find_rescaling(self.ground.present, self._drafted, read_undone=lambda: self.undone)

    @cached_property
    def undone(self) -> tuple[Snapshot, Snapshot] | None:
        """The states before and after the commit it takes back."""
        return self.ground.read_undone()

    @cached_property
    def people(self) -> Rows:
        """What publishing it puts and removes of the tables about people."""
        if not self.rescaling.readings:
            return [], []
        return read_people(self.rescaling, self.ground.present, self.undone, self._drafted)

    @cached_property
    def tables(self) -> Mapping[Node, Table]:
        """The tables of the nodes that the draft changes; those that are no record of a table are left out."""
        found = find_touched(Snapshot({}), self.merged)
        return {(touched.table.graph, ns.iri_term(iri)): touched.table for touched in found for iri in touched.keys}

    @cached_property
    def conflicts(self) -> tuple[Conflict, ...]:
        """The conflicts, in the order of tables, keys and columns."""
        return tuple(self._tell(*found) for found in self.named_clashes)

    @cached_property
    def named_clashes(self) -> tuple[tuple[Table | None, Key, str | None, Clash], ...]:
        """What clashes, with its table (None of what no table holds), key and column, in the order of `conflicts`."""
        by_node: dict[Node, list[Clash]] = {}
        for clash in self.clashes:
            by_node.setdefault(clash.sides.node, []).append(clash)
        found: list[tuple[Table | None, Key, str | None, Clash]] = []
        for touched in find_touched(Snapshot({}), by_node):
            for iri, key in sorted(touched.keys.items(), key=lambda pair: pair[1]):
                own = by_node.pop((touched.table.graph, ns.iri_term(iri)))
                named = [(touched.table, key, _name_column(touched.table, clash), clash) for clash in own]
                found += sorted(named, key=lambda one: one[2] or "")
        of_others = (clash for own in by_node.values() for clash in own)
        return (*found, *((None, (get_plain_value(clash.sides.node[1]),), None, clash) for clash in of_others))

    def _tell(self, table: Table | None, key: Key, column: str | None, clash: Clash) -> Conflict:
        three = (clash.sides.base, clash.sides.draft, clash.sides.now)
        last = self._find_last(clash)
        if table is None:
            return Conflict("", key, None, None, None, None, None, *last)
        records = [_read(table, clash.sides.node, facts) for facts in three]
        base, mine, published = records
        if clash.of[1]:
            base, mine, published = (_pick_text(facts, clash) for facts in three)
        elif column is not None:
            attribute = table.get_column(column).attribute
            base, mine, published = (one and getattr(one, attribute) for one in records)
        record = records[1] or records[2] or records[0]
        return Conflict(table.name, key, column, base, mine, published, record, *last)

    def _find_last(self, clash: Clash) -> tuple[int, str, datetime, str]:
        """Return revision, who, when and why of the commit that changed last what clashes."""
        for commit, patch in reversed(self.ground.since):
            for graph, subject, predicate, term in (*patch.added, *patch.removed):
                if (graph, subject) == clash.sides.node and clash.holds(predicate, term):
                    return commit.revision, commit.who, commit.when, commit.why
        raise LookupError(f"nothing changed {clash.sides.node} since the base")


def lead_draft(draft: Draft, pair: Pair, ground: Ground, choose: Choose | None = None) -> DraftState:
    """Return a draft on the present; `choose` decides clashes beside those that were decided already."""
    sides = ground.read_sides(pair)
    single = make_single(sides)
    merged: dict[Node, Facts] = {}
    clashes: list[Clash] = []

    def decide(clash: Clash) -> Choice:
        if draft.settled and clash.mark in draft.settled:
            return "draft"
        return choose(clash) if choose is not None else None

    for node, own in sides.items():
        merged[node], open_ones = merge_node(own, single.get(node, _is_none), decide)
        clashes += open_ones
    return DraftState(draft, pair, ground, sides, merged, tuple(clashes))


def list_changed(before: Snapshot, after: Snapshot, nodes: Collection[Node]) -> tuple[list[Any], list[Any]]:
    """Return the records that a patch of some nodes puts, each with its table, and the keys it removes."""
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, Key]] = []
    both = (before, after)
    for touched in find_touched(Snapshot({}), sorted(nodes)):
        name = touched.table.name
        old, new = before.get_all(name), after.get_all(name)
        for key in touched.keys.values():
            if key in new and new[key] != old.get(key):
                put.append((name, new[key]))
            elif key in old and key not in new:
                remove.append((name, key))
            about = (name, get_key_text(key))
            gone, come = ({TRANSLATIONS.get_key(row): row for row in one.get_translations(about)} for one in both)
            put += [(TRANSLATIONS.name, row) for own, row in come.items() if gone.get(own) != row]
            remove += [(TRANSLATIONS.name, own) for own in gone if own not in come]
    return put, remove


def _name_column(table: Table, clash: Clash) -> str | None:
    if clash.of == WHOLE:
        return None
    predicate, language = clash.of
    column = next(one for one in table.columns if ns.iri_term(one.iri) == predicate)
    return f"{column.name}@{language}" if language else column.name


def _is_none(predicate: str) -> bool:
    return False


def _read(table: Table, node: Node, facts: Facts) -> Any:
    iri = node[1][1:-1]
    return read_facts(table, {iri: dict.fromkeys(sorted(facts))}).get(iri)


def _pick_text(facts: Facts, clash: Clash) -> str | None:
    return next((get_plain_value(term) for predicate, term in sorted(facts) if clash.holds(predicate, term)), None)
