"""The history as JSON says it and as a person reads it: commits, the rows of one, the life of a record. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from api.desk.change_words import HistoryWords, dump_row, get_own_reason
from api.desk.history import OneCommit, ToldCommit
from api.desk.names import count
from api.desk.sheet import ActLink, Cell, Column, Quantity, Ref, Sheet, Table
from api.pages.cells import say_day
from ontology.history.life import Life
from ontology.history.rows import list_others
from ontology.model.changes import Row
from ontology.model.retirable import RETIRABLE
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.namespaces import Quad
from ontology.snapshot.snapshot import Snapshot
from ontology.snapshot.successors import find_successors
from ontology.store.history import Commit, Patch

__all__ = [
    "LifeView",
    "dump_commit",
    "dump_life",
    "dump_one",
    "link_commits",
    "list_public",
    "show_commits",
    "show_life",
    "show_one",
]

_NEVER: Final = "–"
#: More tables than these are no sentence; what is counted of each.
_FEW_TABLES: Final = 4
_VERBS: Final = ("added", "removed", "changed")


@dataclass(frozen=True, slots=True)
class LifeView:
    """A life with the names of all it speaks of, the releases by revision, and the state asked."""

    table: str
    id: str
    life: Life
    names: Snapshot
    releases: dict[int, str]
    state: Snapshot

    @property
    def is_retired(self) -> bool:
        """Whether the record is retired in the state asked."""
        return self.state.retired.has(self.table, self.id)

    @property
    def replaced_by(self) -> list[str]:
        """What took its place, by id."""
        found = find_successors(self.state, self.table, self.id) if self.table in RETIRABLE else ()
        return [one.id for one in found]

    @property
    def label(self) -> str:
        """What the record is called now, or was called last."""
        if self.table == "scales":
            return self.id
        row = Row(self.table, TABLES[self.table].get_key(self.life.last), "changed", (), self.life.last, None)
        return HistoryWords(self.names).name(row)


def dump_commit(told: ToldCommit) -> dict[str, Any]:
    """Return a commit as JSON has it; counts are null where what it changed was not kept."""
    commit, counted = told.commit, told.counted
    return {
        "revision": commit.revision,
        "when": _say_time(commit),
        "who": commit.who,
        "why": commit.why,
        "release": told.release or None,
        "undo_of": told.undo_of,
        "is_bulk": commit.is_bulk,
        "counts": None if counted is None else list(counted.tables),
        "others": None if counted is None else counted.others,
    }


def dump_one(one: OneCommit, rows: Sequence[Row]) -> dict[str, Any]:
    """Return a commit with some of its rows, and raw what no table holds."""
    words = HistoryWords(one.names)
    added, removed = list_others(*list_public(one.patch))
    raw = [("added", quad) for quad in added] + [("removed", quad) for quad in removed]
    return dump_commit(one.told) | {
        "rows": [dump_row(row, words) | {"words": words.tell(row)} for row in rows],
        "rows_total": len(one.rows),
        "raw": [
            {"change": change, "graph": g, "subject": s, "predicate": p, "object": o} for change, (g, s, p, o) in raw
        ],
    }


def list_public(patch: Patch) -> tuple[list[Quad], list[Quad]]:
    """Return what a commit added and removed, without what is about people."""
    added = [quad for quad in patch.added if quad[0] != ns.GRAPH_PEOPLE]
    return added, [quad for quad in patch.removed if quad[0] != ns.GRAPH_PEOPLE]


def dump_life(view: LifeView, rows: Sequence[tuple[Commit, Row]]) -> dict[str, Any]:
    """Return the life of a record with some of its rows."""
    words = HistoryWords(view.names)
    return {
        "table": view.table,
        "id": view.id,
        "label": view.label,
        "exists": "retired" if view.is_retired else "yes" if view.life.exists else "removed",
        "replaced_by": view.replaced_by,
        "first_revision": view.life.first_revision or None,
        "rows": [
            dump_row(row, words)
            | {
                "revision": commit.revision,
                "when": _say_time(commit),
                "who": commit.who,
                "why": commit.why,
                "release": view.releases.get(commit.revision),
                "words": words.tell(row, commit),
            }
            for commit, row in rows
        ],
        "rows_total": len(view.life.rows),
    }


def show_life(view: LifeView, rows: Sequence[tuple[Commit, Row]]) -> Sheet:
    """Return the life of a record for people, with some of its rows."""
    words = HistoryWords(view.names)
    columns = (Column("When"), Column("What changed"), Column("About"), Column("By whom"), Column("Why"))
    cells = tuple(
        (
            one.when.date(),
            _begin(words.tell(row)),
            _refer(view.state, row, words.name(row)),
            one.who,
            get_own_reason(one.why) or _NEVER,
        )
        for one, row in rows
    )
    title = f"History of {view.label}"
    table = Table("What changed, newest first", columns, cells, "Nothing is kept of what changed.")
    remarks = (_tell_first(view.life.first_revision),) if view.life.first_revision else ()
    return Sheet(title, _tell_life(view), parts=(table,), remarks=remarks)


def _refer(state: Snapshot, row: Row, name: str) -> Cell:
    """Return a record by its name, as a link where it is there."""
    record_id = str(row.key[0]) if row.table == "scales" else row.id
    return Ref(row.table, record_id, name) if row.key in state.get_table(row.table) else name


def show_commits(commits: Sequence[ToldCommit]) -> Sheet:
    """Return commits for people."""
    columns = (
        Column("Revision", is_number=True),
        Column("When"),
        Column("By whom"),
        Column("Why"),
        Column("What changed"),
    )
    cells = tuple(
        (told.commit.revision, told.commit.when.date(), told.commit.who, told.commit.why, _tell_counts(told))
        for told in commits
    )
    lead = f"{count(len(commits), 'change')} told, newest first."
    return Sheet("What changed", lead, parts=(Table("", columns, cells, "Nothing was changed."),))


def link_commits(sheet: Sheet, n_all: int) -> Sheet:
    """Return the sheet of some commits as it stands on a page: each leads to what it changed; there are `n_all`."""
    (table,) = sheet.parts
    assert isinstance(table, Table)
    rows = tuple((ActLink(str(revision), f"/history/{revision}"), *row) for revision, *row in table.rows)
    columns = (Column("Revision"), *table.columns[1:])
    lead = f"{count(n_all, 'change')} of the data {'is' if n_all == 1 else 'are'} kept, newest first."
    return replace(
        sheet, lead=lead if n_all else "Nothing was changed.", parts=(replace(table, columns=columns, rows=rows),)
    )


def show_one(one: OneCommit) -> Sheet:
    """Return one commit with its rows for people."""
    commit, words = one.told.commit, HistoryWords(one.names)
    columns = (Column("Table"), Column("About"), Column("What changed"))
    cells = tuple((row.table.replace("_", " "), words.name(row), _begin(words.tell(row))) for row in one.rows)
    lead = f"{commit.why}, by {commit.who}, {say_day(commit.when.date())}: {_tell_counts(one.told)}."
    empty = "Nothing but rows about people, which stand in the history of their own records, or triples of others."
    parts = (*_count_by_table(one.told), Table("What changed", columns, cells, empty))
    return Sheet(f"Revision {commit.revision}", lead, parts=parts)


def _tell_life(view: LifeView) -> str:
    rows = view.life.rows
    gone = "Retired. " if view.is_retired else "" if view.life.exists else "Removed. "
    if not rows:
        return f"{gone}Nothing is kept of what changed."
    (last, _), (first, _) = rows[0], rows[-1]
    latest = f"{say_day(last.when.date())} by {last.who}"
    if len(rows) == 1:
        return f"{gone}1 change, on {latest}."
    return f"{gone}{count(len(rows), 'change')} since {say_day(first.when.date())}, the latest on {latest}."


def _begin(words: str) -> str:
    """Return words with a capital at their beginning."""
    return words[:1].upper() + words[1:]


def _tell_first(first: int) -> str:
    return f"What was changed up to revision {first} was not kept row by row."


def _tell_counts(told: ToldCommit) -> str:
    if told.counted is None:
        return "not kept row by row"
    tables = told.counted.tables
    if len(tables) > _FEW_TABLES:
        sums = (sum(getattr(one, verb) for one in tables) for verb in _VERBS)
        parts = [f"rows of {len(tables)} tables: {_tell_numbers(dict(zip(_VERBS, sums, strict=True)))}"]
    else:
        parts = [f"{_say_table(one.table)}: {_tell_numbers({v: getattr(one, v) for v in _VERBS})}" for one in tables]
    if told.counted.others:
        parts.append(count(told.counted.others, "triple of others", "triples of others"))
    return "; ".join(parts) or "nothing that a table holds"


def _tell_numbers(numbers: Mapping[str, int]) -> str:
    return ", ".join(f"{n:,} {verb}" for verb, n in numbers.items() if n)


def _say_table(name: str) -> str:
    return name.replace("_", " ")


def _count_by_table(told: ToldCommit) -> tuple[Table, ...]:
    """Return how many rows of each table a commit changed, where that is too much for a sentence."""
    tables = told.counted.tables if told.counted else ()
    if len(tables) <= _FEW_TABLES:
        return ()
    columns = (Column("Table"), *(Column(verb.capitalize(), is_number=True) for verb in _VERBS))
    rows = tuple(
        (_say_table(one.table), Quantity(one.added), Quantity(one.removed), Quantity(one.changed)) for one in tables
    )
    return (Table("Rows", columns, rows, ""),)


def _say_time(commit: Commit) -> str:
    return commit.when.strftime("%Y-%m-%dT%H:%M:%SZ")
