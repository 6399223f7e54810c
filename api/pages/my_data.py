"""What is kept about a person: every record about them in plain words, where they are named, who changed it last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from api.desk.names import Names, count
from api.desk.record_words import get_record_id, list_named_fields, name_record
from api.desk.sheet import Cell, Column, Ref, Table
from api.desk.table_words import tell_label, tell_many
from api.pages.about_me import Part, build_table
from api.pages.page import Page
from api.pages.record_cells import make_cells
from ontology.about_person import AboutPerson
from ontology.model import columns as model
from ontology.model.tables import TABLES
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
    parts: tuple[Table, ...]
    is_open: bool
    forms: tuple[tuple[str, str], ...]
    revision: int


def build_my_data(
    snapshot: Snapshot,
    person_id: str,
    about: AboutPerson,
    lives: Mapping[str, Sequence[Commit]],
    parts: Sequence[Part],
    *,
    is_open: bool,
) -> MyDataView:
    """Return the page of what is kept.

    Parameters
    ----------
    snapshot, person_id : whose data
    about : what `collect_about` found
    lives : node of a record -> the commits that changed it, the latest first
    parts : what else is kept
    is_open : bool
        Whether nobody signs in here.
    """
    own = Names(snapshot).person(person_id)
    return MyDataView(
        lead=_tell_lead(about, parts),
        person=Ref("people", person_id, own),
        tables=tuple(_build_table(snapshot, TABLES[name], records, lives, own) for name, records in about.own.items()),
        parts=tuple(build_table(part) for part in parts),
        is_open=is_open,
        forms=tuple((words, f"/my-data?format={form}") for words, form in _FORMS),
        revision=snapshot.revision,
    )


def _tell_lead(about: AboutPerson, parts: Sequence[Part]) -> str:
    n_records, n_named = sum(map(len, about.own.values())), len(about.named)
    looks = next((len(part.rows) for part in parts if part.name == "looks"), 0)
    lead = f"{count(n_records, 'record')} about you {'is' if n_records == 1 else 'are'} kept"
    if n_named:
        lead += f", and {count(n_named, 'other')} {'names' if n_named == 1 else 'name'} you"
    return (
        f"{lead}. {count(looks, 'look')} at you {'is' if looks == 1 else 'are'} written down." if looks else f"{lead}."
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


def describe_my_data(view: MyDataView | None) -> Page:
    """Return the page; None for who looks as nobody."""
    return Page("my_data.html", {"view": view}, way="stand")
