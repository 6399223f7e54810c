"""One open store and its latest Snapshot: every change is checked, committed once, and seen by the next request."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ontology.errors import Finding, InUseError, StaleError, StorageFullError
from ontology.live.as_of import PastStates
from ontology.live.compile import (
    CACHE_FROM,
    compile_snapshot,
    draft_cache,
    get_snapshot_of,
    keep_snapshot,
    publish_cache,
)
from ontology.live.matching import follow_mappings
from ontology.live.outside import OutsideFrameworks
from ontology.live.planned import Planned, require_sound
from ontology.live.reasons import Reason, tell_reason
from ontology.live.rescaled import follow_scales
from ontology.live.translated_rows import follow_translations
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.rdf.namespaces import Quad
from ontology.snapshot.level_maps import find_level_map, find_map_users
from ontology.snapshot.search import index_names
from ontology.snapshot.snapshot import Snapshot
from ontology.store.commit_text import Beside
from ontology.store.engine import NOTHING, Store

# The checks bring SHACL and RDF engines: they are imported with the first change, so that a graph which is only
# asked opens without them.
if TYPE_CHECKING:
    from ontology.checks.meanings import MeaningChange
    from ontology.live.drafts import Drafts
    from ontology.live.releases import Releases


@dataclass(frozen=True)
class Change:
    """Records to put (made or replaced) and keys to remove, each with its table's name."""

    put: tuple[tuple[str, Any], ...] = ()
    remove: tuple[tuple[str, Key], ...] = ()

    def __add__(self, other: Change) -> Change:
        """Return both as one change."""
        return Change(self.put + other.put, self.remove + other.remove)


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
        #: How an author of the history is called.
        self.tell_author: Callable[[str], str] = str
        #: The states before the latest.
        self.past = PastStates(store, self._tell_author)
        self._kept_revision = self._snapshot.revision
        #: Frameworks of others beside this one.
        self.outside: OutsideFrameworks[LiveGraph] = OutsideFrameworks(store.path, LiveGraph)

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

    def reload(self) -> None:
        """Read everything from the store anew: its past was changed too."""
        with self.store.lock:
            self._snapshot = compile_snapshot(self.store)
            self.past = PastStates(self.store, self._tell_author)
            vars(self).pop("drafts", None)

    @cached_property
    def drafts(self) -> Drafts:
        """The drafts of the store."""
        # brings an RDF library: only who drafts needs it
        from ontology.live.drafts import Drafts

        return Drafts(self)

    @cached_property
    def releases(self) -> Releases:
        """The names of its revisions."""
        from ontology.live.releases import Releases

        return Releases(self)

    def _tell_author(self, who: str) -> str:
        return self.tell_author(who)

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
        is_trial: bool = False,
    ) -> Applied:
        """Check a change, commit it in one step and make it the latest; `is_trial` checks all and stores nothing.

        Of a record that is put several times the last one counts. `require` is called inside the lock with the present
        Snapshot and may raise (If-Match lives there).

        Raises
        ------
        ConflictError
            A record to be removed is referred to by others, or recorded levels would mean something else.
        FindingsError
            The graph would break a rule; all findings are in it, nothing is stored.
        StaleError
            `expected_revision` is not the present one.
        """
        return self._change(
            Change(put=_keep_last(change.put), remove=change.remove),
            (),
            who=who,
            why=why,
            expected_revision=expected_revision,
            require=require,
            is_trial=is_trial,
        )

    def load(
        self,
        records: Mapping[str, Iterable[Any]],
        extra: Iterable[Quad] = (),
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        is_trial: bool = False,
    ) -> Applied:
        """Put many records (and quads of others) in one commit; `is_trial` checks all and stores nothing.

        Raises
        ------
        FindingsError
            At least one error; nothing is stored.
        StaleError
            `expected_revision` is not the present one.
        """
        return self._change(
            Change(put=tuple((name, record) for name in TABLES for record in records.get(name, ()))),
            tuple(extra),
            who=who,
            why=why,
            expected_revision=expected_revision,
            is_load=True,
            is_trial=is_trial,
        )

    def _change(
        self,
        change: Change,
        extra: Sequence[Quad],
        *,
        who: str,
        why: str,
        expected_revision: int | None = None,
        require: Callable[[Snapshot], None] | None = None,
        is_load: bool = False,
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
            put = follow_mappings(present, change.put, change.remove)
            (rows, gone), rescaling = follow_scales(present, put, change.remove)
            rows = [(name, row) for name, row in rows if not rescaling.is_consumed(name, TABLES[name].get_key(row))]
            change = Change(tuple(rows), follow_translations(present, rows, gone))
            after = present.with_changes(change.put, change.remove, revision=present.revision + 1)
            planned = Planned(present, after, change.put, change.remove, extra, rescaling=rescaling)
            if not is_load:
                _require_unreferred(after, change)
                _require_same_meanings(planned.meanings)
            if is_trial:
                return Applied(present.revision, tuple(require_sound(planned.find_findings(self.store))))
            reason = tell_reason(why, change.put, change.remove, present, is_load=is_load)
            return self.commit_planned(planned, reason, who=who)

    def commit_planned(self, planned: Planned, reason: Reason, *, who: str, beside: Beside = NOTHING) -> Applied:
        """Check a change of the present state, commit it in one step, `beside` with it, and make it the latest.

        The caller holds the store's lock.

        Raises
        ------
        FindingsError, StaleError, StorageFullError
            As `apply`; nothing is stored.
        """
        present, after = planned.present, planned.after
        remarks: list[Finding] = []
        drafts: list[Path | None] = []

        def verify() -> None:
            remarks.extend(require_sound(planned.find_findings(self.store)))
            if len(planned.put) >= CACHE_FROM:
                # the new revision is still being written: here is time to spare
                drafts.append(draft_cache(self.store, after))
                index_names(after)

        try:
            revision = self.store.commit_pieces(
                planned.difference.iterate_pieces(),
                who=who,
                why=reason.why,
                about_people=reason.personal,
                expected_revision=present.revision,
                verify=verify,
                beside=beside,
            )
        except (StorageFullError, StaleError):
            # written, but perhaps not safe on disk yet; or another writer of the same store came first
            if self.store.revision != present.revision:
                self._snapshot = compile_snapshot(self.store)
            raise
        if revision != present.revision:
            self._snapshot = after
            for draft in filter(None, drafts):
                publish_cache(self.store, draft)
                self._kept_revision = revision
        return Applied(revision, tuple(remarks))


def _keep_last(put: tuple[tuple[str, Any], ...]) -> tuple[tuple[str, Any], ...]:
    last = {(name, TABLES[name].get_key(record)): (name, record) for name, record in put}
    return put if len(last) == len(put) else tuple(last.values())


def _require_unreferred(after: Snapshot, change: Change) -> None:
    from ontology.checks.changes import find_referrers

    # of a scale that stays, a level still in use is refused for its meaning
    gone = [(name, key) for name, key in change.remove if name != "scales" or not after.scales.get(key[0])]
    ids = [(name, key[0] if name == "scales" else "~".join(str(part) for part in key)) for name, key in gone]
    for record, referrers in find_referrers(after, ids).items():
        raise InUseError(f"{record[1]!r} in {record[0]} cannot be removed: it is referred to by", record, referrers)
    for name, key in change.remove:
        users = find_map_users(after, *key[:2]) if name == "level_maps" else []
        if users and find_level_map(after, *key[:2]) is None:
            record_id = "~".join(map(str, key))
            detail = f"The map from scale {key[0]} to {key[1]} is in use and must stay whole: levels are read by it for"
            raise InUseError(detail, (name, record_id), users)


def _require_same_meanings(meanings: Sequence[MeaningChange]) -> None:
    for meaning in meanings:
        raise InUseError(
            f"{meaning.reason[0].upper()}{meaning.reason[1:]}. Recorded are", meaning.about[:2], meaning.uses
        )
