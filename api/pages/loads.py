"""The page of a load: nothing is stored yet, or what was; what is wrong, with the rows as written; what it would do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from api.desk.names import count
from api.desk.record_words import get_record_id, name_record
from api.desk.sheet import Column, Quantity, Ref, Table
from api.pages.load_findings import FoundRow, ShownTable, build_found, build_shown
from api.pages.load_words import count_rows, find_left_out, name_rows, say_changes, say_left_out, say_wrong
from api.pages.page import Link, Page
from loaders.pipeline import LoadCheck
from loaders.report import LoadReport, count_kinds
from loaders.tables.written import WrittenTable
from ontology.model.columns import Key
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.store.history import Commit

__all__ = ["FINDINGS_SHOWN", "TRAIL", "LoadView", "Moved", "build_load_view", "build_moved", "describe_load"]

FINDINGS_SHOWN: Final = 200
_KINDS_SHOWN: Final = 50
_COMMITS_SHOWN: Final = 20
_RECORDS_SHOWN: Final = 50
TRAIL: Final = (Link("Framework", "/framework"), Link("Load tables", "/loads/new"))


@dataclass(frozen=True, slots=True)
class Moved:
    """What came into the store since a load was looked at, and what the load would do now and not then."""

    then: int
    now: int
    commits: Table
    overwritten: tuple[Ref, ...]
    n_overwritten: int


@dataclass(frozen=True, slots=True)
class ChangedRecords:
    """The stored records of one table that a load changes: how many in words, and the first by name."""

    words: str
    refs: tuple[Ref, ...]
    n_more: int


@dataclass(frozen=True, slots=True)
class LoadView:
    """What stands on the page of a load that was checked.

    `store` is the words of the button that stores all of it or the rest ("" where there is nothing to store), and
    `skips` whether it stores the rest only; `goes` says what else is left out.
    """

    n: int
    title: str
    lead: str
    ends_at: dt.datetime
    revision: int
    store: str
    skips: bool
    goes: str
    asks_purpose: bool
    n_errors: int
    n_remarks: int
    n_follow: int
    notices: tuple[str, ...]
    kinds: tuple[tuple[str, int], ...]
    found: tuple[FoundRow, ...]
    n_more: int
    shown: tuple[ShownTable, ...]
    changes: Table | None
    changed: tuple[ChangedRecords, ...]
    moved: Moved | None


def build_load_view(
    snapshot: Snapshot,
    *,
    n: int,
    files: Sequence[str],
    ends_at: dt.datetime,
    revision: int,
    check: LoadCheck | None,
    tables: Sequence[WrittenTable],
    fault: str,
    moved: Moved | None,
) -> LoadView:
    """Return what the page of a checked load shows; `fault` says why its files cannot be read (`check` None then)."""
    is_one = len(files) == 1
    read = f"{files[0]} was read" if is_one else f"Your {len(files)} files were read"
    if check is None:
        title = f"Nothing is stored: the {'file' if is_one else 'files'} cannot be read"
        return LoadView(
            n, title, fault, ends_at, revision, "", False, "", False, 0, 0, 0, (), (), (), 0, (), None, (), moved
        )
    whole, tried = check.whole, check.rest if check.whole.is_refused else check.whole
    shown = whole.findings[:FINDINGS_SHOWN]
    n_errors = sum(finding.severity == "error" for finding in whole.findings)
    title, lead, store, goes = _say(read, is_one, check, tables)
    return LoadView(
        n=n,
        title=title,
        lead=lead,
        ends_at=ends_at,
        revision=revision,
        store=store,
        skips=whole.is_refused,
        goes=goes,
        asks_purpose=tried is not None and tried.holds_people,
        n_errors=n_errors,
        n_remarks=len(whole.findings) - n_errors,
        n_follow=len(whole.consequences),
        notices=tuple(notice for notice in whole.notices if "from these" not in notice),
        kinds=tuple(count_kinds(whole.findings)[:_KINDS_SHOWN]) if len(whole.findings) > FINDINGS_SHOWN else (),
        found=build_found(shown, whole.consequences, tables),
        n_more=len(whole.findings) - len(shown),
        shown=build_shown(shown, tables),
        changes=None if tried is None else _build_changes(tried, whole.is_refused),
        changed=() if tried is None else tuple(_list_changed(snapshot, tried)),
        moved=moved,
    )


def _say(read: str, is_one: bool, check: LoadCheck, tables: Sequence[WrittenTable]) -> tuple[str, str, str, str]:
    """Return title, first sentence, the words of the button that stores, and what else it leaves out."""
    whole = check.whole
    if not whole.is_refused:
        n_new, n_changed, n_same = count_rows(whole)
        if n_new + n_changed == 0:
            return "Nothing to store: every row is stored already", f"{read} in full.", "", ""
        title = f"Nothing is stored yet: {count(n_new + n_changed + n_same, 'row')} can be stored"
        return title, f"{read} in full. {say_changes(n_new, n_changed, n_same)}", "Store it", ""
    wrong = say_wrong(whole.findings)
    title = f"Nothing is stored: {wrong}"
    what = "it" if wrong.endswith("is wrong") else "them"
    mend = f"Mend {what} and send the {'file' if is_one else 'files'} again"
    if check.rest is None or not sum(count_rows(check.rest)[:2]):
        return title, f"{read}. {mend}; without what is wrong nothing new is left to store.", "", ""
    store, goes = say_left_out(find_left_out(whole, check.rest, tables))
    return title, f"{read}. {mend}, or store the sound rest.", store, goes


def _build_changes(report: LoadReport, is_rest: bool) -> Table:
    columns = (Column("Table"), *(Column(name, is_number=True) for name in ("New", "Changed", "As stored", "Gone")))
    kept = Column("Stored, not in the file", is_number=True)
    rows = tuple(
        (
            name.replace("_", " "),
            Quantity(len(change.new)),
            Quantity(len(change.changed)),
            Quantity(change.n_same),
            Quantity(0),
            Quantity(change.n_kept),
        )
        for name, change in report.changes.items()
    )
    note = "A load takes nothing away: what is stored and not in the file stays as it is."
    title = "What the sound rest would store" if is_rest else "What would be stored"
    return Table(title, (*columns, kept), rows, "Nothing.", note)


def _list_changed(snapshot: Snapshot, report: LoadReport) -> Iterator[ChangedRecords]:
    for table, change in report.changes.items():
        if change.changed:
            refs = tuple(_name(snapshot, table, key) for key in change.changed[:_RECORDS_SHOWN])
            yield ChangedRecords(name_rows(table, len(change.changed)), refs, len(change.changed) - len(refs))


def build_moved(
    snapshot: Snapshot, then: LoadReport | None, now: LoadReport | None, commits: Sequence[Commit]
) -> Moved:
    """Return how a load that was looked at earlier stands now; `commits` came between, the oldest first."""
    overwritten = []
    for table, change in (now.changes if now else {}).items():
        before = then.changes.get(table) if then else None
        known = set(before.changed) if before else set(change.changed)
        overwritten += [(table, key) for key in change.changed if key not in known]
    rows = tuple((str(one.revision), one.when.date(), one.who, one.why) for one in reversed(commits[-_COMMITS_SHOWN:]))
    columns = tuple(map(Column, ("Revision", "Day", "Who", "Why")))
    refs = tuple(_name(snapshot, table, key) for table, key in overwritten[:_RECORDS_SHOWN])
    last = commits[-1].revision if commits else 0
    first = commits[0].revision - 1 if commits else 0
    return Moved(first, last, Table("", columns, rows, ""), refs, len(overwritten))


def _name(snapshot: Snapshot, table: str, key: Key) -> Ref:
    """Return a stored record by its name; by its id where it was removed since."""
    record = snapshot.scales.get(key[0]) if table == "scales" else snapshot.get_all(table).get(key)
    if record is None:
        record_id = "~".join(map(str, key))
        return Ref(table, record_id, record_id)
    return Ref(table, get_record_id(TABLES[table], record), name_record(snapshot, TABLES[table], record))


def describe_load(view: LoadView, *, purpose: str = "", fault: str = "") -> Page:
    """Return the page of a checked load; `fault` says what is wrong with the purpose that was typed."""
    return Page("load.html", {"view": view, "purpose": purpose, "fault": fault}, way="framework", trail=TRAIL)
