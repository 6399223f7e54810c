"""The history as it is told: commits with their counts, the rows of one, the life of a record; on the state asked."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from api.desk.bounded import find_kept
from api.desk.parameters import USUAL_SIZE, Asks, param
from api.desk.states import State
from api.errors import ParameterError, WrongParameter
from api.settings import Settings
from ontology.errors import InputError, NotFoundError
from ontology.model.changes import Row
from ontology.model.columns import Key
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:  # these bring the store and an RDF library
    from ontology.history.life import Life
    from ontology.history.rows import Counted
    from ontology.live.live_graph import LiveGraph
    from ontology.store.history import Commit, Patch

#: So many commits are kept as they were read last, those of more quads not at all.
_MOST_KEPT: Final = 4
_MOST_QUADS: Final = 50_000


@dataclass(frozen=True, kw_only=True)
class AskRows(Asks):
    """Which page of rows is asked."""

    page: int = param("Page, from 1.", default=1, minimum=1)
    page_size: int = param("Rows on a page.", default=USUAL_SIZE, minimum=1)

    def get_page_size(self, settings: Settings) -> int:
        """Return how many rows stand on a page; ParameterError where that is more than the settings allow."""
        if self.page_size > settings.page_size_max:
            reason = f"must be at most {settings.page_size_max}"
            raise ParameterError(WrongParameter("page_size", str(self.page_size), reason))
        return self.page_size or settings.page_size_default


@dataclass(frozen=True, kw_only=True)
class AskHistory(AskRows):
    """Which commits are asked."""

    since: dt.date | None = param("Only changes from this day on (UTC).", default=None)
    until: dt.date | None = param("Only changes up to this day, inclusive (UTC).", default=None)
    who: str = param("Only changes by this author, as written.", default="")
    table: str = param("Only changes of records of this table.", default="")

    @property
    def table_name(self) -> str:
        """The table that is asked; "" for any."""
        return self.table.replace("-", "_")

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where there is no such table."""
        if self.table and self.table_name not in TABLES:
            raise ParameterError(WrongParameter("table", self.table, f"must be one of {', '.join(TABLES)}"))


@dataclass(frozen=True, slots=True)
class ToldCommit:
    """A commit with the release that names it; `counted` is None where what it changed was not kept.

    `undo_of` is the revision whose change it takes back, None where it takes none back.
    """

    commit: Commit
    release: str
    counted: Counted | None
    undo_of: int | None = None


@dataclass(frozen=True, slots=True)
class OneCommit:
    """A commit, its rows but for personal ones, and a state that holds the names of all they speak of."""

    told: ToldCommit
    rows: tuple[Row, ...]
    names: Snapshot
    patch: Patch


def list_commits(graph: LiveGraph, state: State, asked: AskHistory) -> list[Commit]:
    """Return the commits that are asked, newest first. O(n) for n commits; asked by table, their patches are counted.

    Of a commit whose patch was not kept it is not known which tables it touched: it is left out where one is asked.
    """
    found = [
        commit
        for commit in reversed(graph.past.list_commits(state.snapshot.revision))
        if (asked.since is None or commit.when.date() >= asked.since)
        and (asked.until is None or commit.when.date() <= asked.until)
        and asked.who in ("", commit.who)
    ]
    if not asked.table_name:
        return found
    counts = count_commits(graph, found)
    tables = {revision: {one.table for one in counted.tables} for revision, counted in counts.items()}
    return [one for one in found if asked.table_name in tables.get(one.revision, ())]


def tell_commits(graph: LiveGraph, commits: Sequence[Commit]) -> list[ToldCommit]:
    """Return commits with their counts and releases."""
    counts = count_commits(graph, commits)
    releases = {release.revision: release.version for release in graph.past.list_releases()}
    undone = {draft.revision: draft.undo_of for draft in graph.drafts.list_all()}
    return [
        ToldCommit(one, releases.get(one.revision, ""), counts.get(one.revision), undone.get(one.revision))
        for one in commits
    ]


def count_commits(graph: LiveGraph, commits: Sequence[Commit]) -> dict[int, Counted]:
    """Return revision -> counts; each commit is counted once and kept, those without a patch are left out."""
    from ontology.history.rows import count_rows
    from ontology.rdf.namespaces import DATA_GRAPHS
    from ontology.store.history import read_patches

    kept: dict[int, Counted] = graph.past.keep("counts of commits", dict)
    missing = [one for one in commits if one.revision not in kept and one.has_patch]
    erasures = graph.past.get_erasures()
    for commit, patch in read_patches(graph.store, missing, DATA_GRAPHS):
        counted = count_rows(patch.added, patch.removed)
        # what an erasure took from a commit it made or changed all the same
        kept[commit.revision] = counted.with_gone(erasures.get_gone(commit.revision))
    return {one.revision: kept[one.revision] for one in commits if one.has_patch}


def read_one_commit(graph: LiveGraph, state: State, revision: int) -> OneCommit:
    """Return one commit with its rows.

    Raises
    ------
    NotFoundError
        There is no such commit up to the state asked.
    InputError
        What it changed was not kept.
    """
    if not 1 <= revision <= state.snapshot.revision:
        raise NotFoundError(f"There is no revision {revision}; the last one is {state.snapshot.revision}.")
    # an erasure begins the past anew: what is read while it does is kept with the old one
    present, past = graph.get_snapshot(), graph.past
    commits = past.list_commits(present.revision)
    first = max((one.revision for one in commits if not one.has_patch), default=0)
    if revision <= first:
        raise InputError(
            f"What revision {revision} changed cannot be shown: that of {first} was not kept; "
            f"the first that can be is {first + 1}.",
            first_revision=first + 1,
        )
    commit = commits[revision - 1]
    before = past.get_snapshot(revision - 1, present)
    is_kept = commit.n_added + commit.n_removed <= _MOST_QUADS
    kept: dict[int, tuple[Patch, list[Row]]] = past.keep("rows of commits", dict) if is_kept else {}
    patch, found = find_kept(kept, revision, _MOST_KEPT, lambda: _read_rows(graph, commit, before))
    sight = state.sight
    rows = [row for row in found if sight is None or sight.decide_life(row.table, row.key)]
    (told,) = tell_commits(graph, [commit])
    names = add_gone(state, (before, past.get_snapshot(revision, present)))
    return OneCommit(told, tuple(rows), names, patch)


def _read_rows(graph: LiveGraph, commit: Commit, before: Snapshot) -> tuple[Patch, list[Row]]:
    """Return the patch of a commit and its rows but for personal ones."""
    from ontology.history.rows import build_rows
    from ontology.rdf.namespaces import DATA_GRAPHS
    from ontology.store.history import read_patches

    ((_, patch),) = read_patches(graph.store, [commit], DATA_GRAPHS)
    return patch, [row for row in build_rows(before, patch.added, patch.removed) if row.table not in PERSONAL_TABLES]


def read_life(graph: LiveGraph, state: State, table_name: str, key: Key) -> tuple[Life, Snapshot]:
    """Return the life of a record, and a state that holds the names of all it speaks of; errors as `find_life`."""
    from ontology.history.life import find_last_records, find_life

    life = find_life(graph, state.snapshot, table_name, key)
    unknown = [
        (name, record_id)
        for name, record_id in sorted(_list_named(row for _, row in life.rows))
        if name != "scales"
        and (record_id,) not in state.snapshot.get_all(name)
        and (state.sight is None or state.sight.decide_life(name, (record_id,)))
    ]
    return life, state.snapshot.with_changes(put=find_last_records(graph, unknown))


def tell_rows_between(
    graph: LiveGraph, since: State, until: State, wanted: Iterable[tuple[str, Key]]
) -> dict[tuple[str, Key], list[tuple[int, str]]]:
    """Return what became of records, (table, key), from a state to a later one: (revision, words), newest first.

    By the names of the later state; without what who asks may not read, and what changed no number.
    """
    from api.desk.change_words import TOLD_BY_WHAT, HistoryWords
    from ontology.analysis.effect.telling import is_computing
    from ontology.history.life import find_rows_between

    revisions = since.snapshot.revision, until.snapshot.revision
    rows = [
        (commit, row)
        for commit, row in find_rows_between(graph, *revisions, wanted)
        if is_computing(row.table, row.before, row.after) and _may_read(until, row)
    ]
    words = HistoryWords(add_gone(until, (since.get_whole(),)) if rows else until.snapshot)
    told: dict[tuple[str, Key], list[tuple[int, str]]] = {}
    for commit, row in rows:
        text, name = words.tell(row, commit), words.name(row)
        text = text if name in text or row.table in TOLD_BY_WHAT else f"{name}: {text}"
        told.setdefault((row.table, row.key), []).append((commit.revision, text))
    return told


def _may_read(state: State, row: Row) -> bool:
    """Whether who asks may read what became of a record: of what teams need, by the team that it was of."""
    sight = state.sight
    if sight is None:
        return True
    record = row.after or row.before
    if row.table in PERSONAL_TABLES or not hasattr(record, "team"):
        return sight.decide_life(row.table, row.key)
    return sight.decide_record(row.table, record) == "rows"


def add_gone(state: State, others: Iterable[Snapshot]) -> Snapshot:
    """Return a state as it is seen, with records of tables with ids that only others hold, later ones first."""
    present, sight = state.snapshot, state.sight
    put: dict[tuple[str, Key], Any] = {}
    for name, table in TABLES.items():
        if not table.id_field:
            continue
        there = present.get_all(name)
        for other in others:
            for key, record in other.get_all(name).items():
                if key not in there and (sight is None or sight.decide_life(name, key)):
                    put[name, key] = record
    return present.with_changes(put=[(name, record) for (name, _), record in put.items()]) if put else present


def _list_named(rows: Iterable[Row]) -> set[tuple[str, str]]:
    """Return (table, id) of what rows name."""
    named: set[tuple[str, str]] = set()
    for row in rows:
        for record in filter(None, (row.before, row.after)):
            for column in TABLES[row.table].columns:
                value = getattr(record, column.attribute)
                if column.refers_to and value:
                    ids = value if isinstance(value, tuple) else (value,)
                    named.update((column.refers_to, one) for one in ids)
    return named
