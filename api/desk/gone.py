"""What is not in use any more: since when, why, and what took its place; so that old addresses lead on."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from api.desk.change_words import get_own_reason
from api.desk.names import join_names
from api.desk.plain_cells import say_day
from api.desk.record_words import name_reference
from api.desk.states import State
from ontology.model.columns import Key
from ontology.model.keeping_tables import TRANSLATIONS
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.model.translated import find_node, find_translated_column
from ontology.rdf import namespaces as ns
from ontology.rdf.literals import get_language
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors

if TYPE_CHECKING:  # a live graph brings the checks and the store
    from ontology.live.live_graph import LiveGraph


@dataclass(frozen=True, slots=True)
class Place:
    """What took the place of a record, and how levels recorded of it are read."""

    id: str
    label: str
    carry: str


@dataclass(frozen=True, slots=True)
class Gone:
    """A record that is retired, or was removed: `retired_on`, or the revision and day of `removed_in`."""

    table: str
    id: str
    label: str
    retired_on: dt.date | None
    removed_in: tuple[int, dt.date] | None
    reason: str
    replaced_by: tuple[Place, ...]

    @property
    def moved_to(self) -> str | None:
        """The record that took its place whole, where exactly one did; None otherwise."""
        if self.retired_on is None or len(self.replaced_by) != 1 or self.replaced_by[0].carry != "same":
            return None
        return self.replaced_by[0].id

    def tell(self) -> str:
        """Return what became of it, in a sentence."""
        if self.retired_on is not None:
            told = f"retired on {say_day(self.retired_on)}"
        else:
            told = "removed" + (f" on {say_day(self.removed_in[1])}" if self.removed_in else "")
        return f"{self.label} was {told}{_tell_places(self.replaced_by)}."


def tell_retired(snapshot: Snapshot, table: str, record_id: str) -> str:
    """Return since when a retired record is, and what took its place: "retired on 31 March 2026, replaced by Pumps"."""
    record = snapshot.retired.get_table(table)[record_id,]
    return f"retired on {say_day(record.retired_on)}{_tell_places(list_places(snapshot, table, record_id))}"


def _tell_places(places: tuple[Place, ...]) -> str:
    return f", replaced by {join_names([place.label for place in places])}" if places else ""


def find_gone(graph: LiveGraph, state: State, table: str, key: Key) -> Gone | None:
    """Return what became of a record that is not in use; None where there never was one, as far as who asks may know.

    One query over all graphs.
    """
    snapshot, record_id = state.snapshot, "~".join(map(str, key))
    if state.sight is not None and not state.sight.decide_life(table, key):
        return None
    places = list_places(snapshot, table, record_id) if table in RETIRABLE else ()
    reasons = [row.reason for row in snapshot.get_replacements((table, record_id)) if row.reason]
    if table in RETIRABLE and snapshot.retired.has(table, record_id):
        record = snapshot.retired.get_table(table)[key]
        reason = "; ".join(dict.fromkeys(reasons)) or _find_reason(graph, snapshot, table, key)
        return Gone(table, record_id, record.label, record.retired_on, None, reason, places)
    last = _find_last(graph, snapshot, table, key, ns.RDF_TYPE, is_added=False)
    if last is None:
        return None
    reason = "; ".join(dict.fromkeys(reasons)) or get_own_reason(last.why)
    return Gone(table, record_id, record_id, None, (last.revision, last.when.date()), reason, places)


def list_places(snapshot: Snapshot, table: str, record_id: str) -> tuple[Place, ...]:
    """Return what took the place of a record, by id."""
    return tuple(
        Place(one.id, name_reference(snapshot, table, one.id), one.carry)
        for one in find_successors(snapshot, table, record_id)
    )


def _find_reason(graph: LiveGraph, snapshot: Snapshot, table: str, key: Key) -> str:
    """Return why a record was retired, where whoever did it said so."""
    predicate = ns.iri_term(TABLES[table].get_column("retired_on").iri)
    commit = _find_last(graph, snapshot, table, key, predicate, is_added=True)
    return get_own_reason(commit.why) if commit is not None else ""


def _find_last(
    graph: LiveGraph, snapshot: Snapshot, table: str, key: Key, predicate: str, *, is_added: bool
) -> Any | None:
    """Return the last commit up to a state that said something of a record, or took it away; None where none did."""
    from ontology.store.commit_text import parse_patch_graph

    language = ""
    if table == TRANSLATIONS.name:
        # it is said on the node of the record that it speaks of
        place, column = find_node(key[0], key[1]), find_translated_column(key[0], key[2])
        if place is None or column is None:
            return None
        node, predicate, language = place[1], ns.iri_term(column.iri), key[3]
    else:
        # of scales it is the scale that is named, not one of its levels
        segment = "scale" if table == "scales" and len(key) == 1 else TABLES[table].segment
        node = ns.iri_term(ns.record_iri(segment, *map(str, key)))
    rows = graph.store.select_terms(f"SELECT ?g ?o WHERE {{ GRAPH ?g {{ {node} {predicate} ?o }} }}")
    said = [name for name, term in rows if not language or get_language(term) == language]
    found = [target for name in said if (target := parse_patch_graph(name[1:-1])) is not None]
    revisions = [one[0] for one in found if one[2] is is_added and one[0] <= snapshot.revision]
    if not revisions:
        return None
    return graph.past.list_commits(graph.get_snapshot().revision)[max(revisions) - 1]
