"""One open store and its latest Snapshot: every change is checked, committed once, and seen by the next request.

Imports store, reader, writer, checks, snapshot.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ontology import namespaces as ns
from ontology.checks.changes import check_change, find_referrers
from ontology.columns import Key
from ontology.errors import ConflictError, Finding, FindingsError, StaleError, StorageFullError
from ontology.graph.compile import compile_snapshot, get_snapshot_of, keep_snapshot
from ontology.graph.snapshot import Snapshot
from ontology.namespaces import Quad
from ontology.store import TEXT_LIMIT, Store
from ontology.tables import TABLES
from ontology.writer import build_quads, build_scale_quads, get_predicates, get_scale_subjects


@dataclass(frozen=True)
class Change:
    """Records to put (made or replaced) and keys to remove, each with its table's name."""

    put: tuple[tuple[str, Any], ...] = ()
    remove: tuple[tuple[str, Key], ...] = ()


@dataclass(frozen=True)
class Applied:
    """What a change led to: the store's revision afterwards, and the remarks it was stored past."""

    revision: int
    remarks: tuple[Finding, ...] = ()


class LiveGraph:
    """An open store with its latest Snapshot. Safe for many threads; changes wait for each other."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._snapshot = get_snapshot_of(store)
        self._kept_revision = self._snapshot.revision

    @classmethod
    def open(cls, folder: Path, *, create: bool = False) -> LiveGraph:
        """Open the store in a folder; errors as `Store.open`."""
        return cls(Store.open(folder, create=create))

    @classmethod
    def in_memory(cls) -> LiveGraph:
        """Return an empty graph that lives in memory only."""
        return cls(Store.in_memory())

    def close(self) -> None:
        """Close the store; a large Snapshot that has changed is kept for the next opening."""
        if self._snapshot.revision != self._kept_revision:
            keep_snapshot(self.store, self._snapshot)
        self.store.close()

    def get_snapshot(self) -> Snapshot:
        """Return the latest committed Snapshot; it never changes."""
        return self._snapshot

    def apply(
        self,
        change: Change,
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        require: Callable[[Snapshot], None] | None = None,
    ) -> Applied:
        """Check a change, commit it in one step and make it the latest.

        `require` is called inside the lock with the present Snapshot and may raise (If-Match lives there).

        Raises
        ------
        ConflictError
            A record to be removed is referred to by others.
        FindingsError
            The graph would break a rule; all findings are in it, nothing is stored.
        StaleError
            `expected_revision` is not the present one.
        """
        return self._change(change, (), who=who, why=why, expected_revision=expected_revision, require=require)

    def load(
        self,
        records: Mapping[str, Iterable[Any]],
        extra: Iterable[Quad] = (),
        *,
        who: str,
        why: str,
        is_trial: bool = False,
    ) -> Applied:
        """Put many records (and quads of others) in one commit; `is_trial` checks all and stores nothing.

        Raises
        ------
        FindingsError
            At least one error; nothing is stored.
        """
        put = tuple((name, record) for name in TABLES for record in records.get(name, ()))
        return self._change(Change(put=put), tuple(extra), who=who, why=why, is_trial=is_trial)

    def _change(
        self,
        change: Change,
        extra: Sequence[Quad],
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        require: Callable[[Snapshot], None] | None = None,
        is_trial: bool = False,
    ) -> Applied:
        with self.store.lock:
            present = self._snapshot
            if expected_revision is not None and expected_revision != present.revision:
                raise StaleError(
                    f"The store is at revision {present.revision}, not {expected_revision}.",
                    expected=expected_revision,
                    present=present.revision,
                )
            if require is not None:
                require(present)
            after = present.with_changes(change.put, change.remove, revision=present.revision + 1)
            _require_unreferred(after, change)
            added, removed = self._build_difference(present, after, change)
            added += extra
            gone = [(name, present.get_record(name, key)) for name, key in change.remove]
            remarks: list[Finding] = []

            def verify() -> None:
                findings = check_change(self.store, after, change.put, gone, added, extra)
                errors = [finding for finding in findings if finding.severity == "error"]
                if errors:
                    raise FindingsError(f"{len(errors)} error(s) found; nothing was stored.", sorted(findings))
                remarks.extend(sorted(findings))

            if is_trial:
                verify()
                return Applied(present.revision, tuple(remarks))
            try:
                revision = self.store.commit(
                    added, removed, who=who, why=why, expected_revision=present.revision, verify=verify
                )
            except StorageFullError:
                if self.store.revision != present.revision:  # written, but perhaps not safe on disk yet
                    self._snapshot = compile_snapshot(self.store)
                raise
            if revision != present.revision:
                self._snapshot = after
            return Applied(revision, tuple(remarks))

    def _build_difference(self, present: Snapshot, after: Snapshot, change: Change) -> tuple[list[Quad], list[Quad]]:
        """Return the quads to add and to remove so that the store says what `after` holds."""
        new: dict[Quad, None] = {}
        replaced: defaultdict[str, dict[str, frozenset[str] | None]] = defaultdict(dict)
        scales: set[str] = set()
        for name, key in change.remove:
            table = TABLES[name]
            replaced[table.graph][ns.iri_term(ns.record_iri(table.segment, *(str(part) for part in key)))] = None
            if name == "scales":
                scales.add(key[0])
        for name, record in change.put:
            table = TABLES[name]
            quads = build_quads(table, record)
            new.update(dict.fromkeys(quads))
            replaced[table.graph][quads[0][1]] = get_predicates(table)
            if name == "scales":
                scales.add(record.scale)
        for scale in sorted(scales):
            levels = after.scales.get(scale, ())
            new.update(dict.fromkeys(build_scale_quads(scale, levels)))
            ranks = {level.rank for level in (*levels, *present.scales.get(scale, ()))}
            for subject in get_scale_subjects(scale, sorted(ranks)):
                replaced[ns.GRAPH_FRAMEWORK][subject] = None
        removed = [
            quad
            for graph, subjects in replaced.items()
            for quad in self._read_present(graph, subjects)
            if quad not in new and _is_replaced(quad, subjects)
        ]
        return list(new), removed

    def _read_present(self, graph: str, subjects: Mapping[str, Any]) -> Iterable[Quad]:
        if len(subjects) > TEXT_LIMIT:
            return self.store.read_graph(graph)
        return self.store.read_subjects(graph, subjects)


def _is_replaced(quad: Quad, subjects: Mapping[str, frozenset[str] | None]) -> bool:
    if quad[1] not in subjects:
        return False
    predicates = subjects[quad[1]]
    return predicates is None or quad[2] in predicates


def _require_unreferred(after: Snapshot, change: Change) -> None:
    for name, key in change.remove:
        if name == "scales" and after.scales.get(key[0]):
            continue  # the scale itself stays; a level still in use is found by the checks
        record_id = key[0] if name == "scales" else "~".join(str(part) for part in key)
        referrers = find_referrers(after, name, record_id)
        if referrers:
            shown = ", ".join(f"{table} {record}" for table, record in referrers[:5])
            more = f" and {len(referrers) - 5} more" if len(referrers) > 5 else ""
            raise ConflictError(
                f"{record_id!r} in {name} cannot be removed: it is referred to by {shown}{more}.",
                table=name,
                id=record_id,
                referrers=[f"{table}/{record}" for table, record in referrers],
            )
