"""What is kept about a person: every record about them in plain words, where they are named, who changed it last."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.desk.names import Names, count
from api.desk.record_words import get_record_id, list_named_fields, name_record
from api.desk.sheet import Cell, Column, Ref, Table
from api.desk.table_words import tell_label, tell_many, tell_one
from api.pages.page import Page
from api.pages.record_cells import make_cells
from ontology.about_person import AboutPerson, Named
from ontology.model import columns as model
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store.history import Commit

__all__ = ["MyDataView", "build_my_data", "describe_my_data", "list_subjects"]

_FORMS = (("JSON-LD", "json-ld"), ("JSON", "json"), ("Workbook", "xlsx"))


def list_subjects(about: AboutPerson) -> dict[str, tuple[str, Any]]:
    """Return the node (N-Triples text) of each record about a person -> its table and the record."""
    return {
        ns.iri_term(TABLES[name].get_iri(record)): (name, record)
        for name, records in about.own.items()
        for record in records
    }


@dataclass(frozen=True, slots=True)
class MyDataView:
    """What stands on the page: the first sentence, a table of cells for each kind of record, and what else."""

    lead: str
    person: Ref
    tables: tuple[Table, ...]
    named: Table
    kept: str
    forms: tuple[tuple[str, str], ...]
    revision: int


def build_my_data(
    snapshot: Snapshot,
    person_id: str,
    about: AboutPerson,
    lives: Mapping[str, Sequence[Commit]],
    n_kept: int,
    n_loads: int,
) -> MyDataView:
    """Return the page of what is kept.

    Parameters
    ----------
    snapshot, person_id : whose data
    about : what `collect_about` found
    lives : node of a record -> the commits that changed it, the latest first
    n_kept, n_loads : ways and plans the person keeps, files they sent that are still there
    """
    n_records = sum(map(len, about.own.values()))
    lead = f"{count(n_records, 'record')} about you {'is' if n_records == 1 else 'are'} kept"
    if about.named:
        lead += f", and {count(len(about.named), 'other')} {'names' if len(about.named) == 1 else 'name'} you"
    own = Names(snapshot).person(person_id)
    return MyDataView(
        lead=f"{lead}.",
        person=Ref("people", person_id, own),
        tables=tuple(_build_table(snapshot, TABLES[name], records, lives, own) for name, records in about.own.items()),
        named=_build_named(snapshot, about.named),
        kept=_tell_kept(n_kept, n_loads),
        forms=tuple((words, f"/my-data?format={form}") for words, form in _FORMS),
        revision=snapshot.revision,
    )


def _build_table(
    snapshot: Snapshot, table: model.Table, records: Sequence[Any], lives: Mapping[str, Sequence[Commit]], own: str
) -> Table:
    """Return the records of a table; their reader knows whose they are, so what they are called leaves `own` out."""
    said = set(list_named_fields(table)) | {"person", "plan", "id", "name"}
    columns = [
        column
        for column in table.columns
        if column.attribute not in said and any(_is_told(column, record) for record in records)
    ]
    makers = [make_cells(snapshot, table, column) for column in columns]
    rows = []
    for record in records:
        called = name_record(snapshot, table, record)
        short = called.removeprefix(f"{own}: ").removeprefix(f"{own} ")
        ref = Ref(table.name, get_record_id(table, record), short[:1].upper() + short[1:])
        cells = (make(record) for make in makers)
        rows.append((ref, *cells, *_tell_change(lives.get(ns.iri_term(table.get_iri(record)), ()))))
    headings = [Column("What"), *(Column(tell_label(table.name, column.name)) for column in columns)]
    title = "your own record" if table.name == "people" else tell_many(table)
    changed = (Column("Changed on"), Column("by"))
    return Table(title[0].upper() + title[1:], (*headings, *changed), tuple(rows), "")


def _is_told(column: model.Column, record: Any) -> bool:
    return getattr(record, column.attribute) not in (None, "", ())


def _tell_change(commits: Sequence[Commit]) -> tuple[Cell, Cell]:
    return (commits[0].when.date(), commits[0].who) if commits else (None, None)


def _build_named(snapshot: Snapshot, named: Iterable[Named]) -> Table:
    """Return where a person is named for others or other things: of another person neither name nor level."""
    rows = []
    for one in named:
        table = TABLES[one.table]
        what: Cell = tell_one(table).capitalize()
        if one.table not in PERSONAL_TABLES:
            what = Ref(one.table, get_record_id(table, one.record), name_record(snapshot, table, one.record))
        elif competency := getattr(one.record, "competency", ""):
            what = Ref(
                "competencies", competency, f"{tell_one(table).capitalize()}: {snapshot.competencies[competency].label}"
            )
        rows.append((what, tell_label(one.table, one.column), one.day))
    columns = (Column("What"), Column("You are named as"), Column("Day"))
    return Table("Where you are named for others", columns, tuple(rows), "You are named nowhere else.")


def _tell_kept(n_kept: int, n_loads: int) -> str:
    parts = [count(n_kept, "way or plan", "ways and plans")] if n_kept else []
    parts += [f"{count(n_loads, 'file')} you sent to be loaded, for a day"] if n_loads else []
    return f"Kept for you alone: {' and '.join(parts)}." if parts else ""


def describe_my_data(view: MyDataView | None) -> Page:
    """Return the page; None for who looks as nobody."""
    return Page("my_data.html", {"view": view}, way="stand")
