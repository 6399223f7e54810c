"""The list of a table and the page of one record: what it says in plain words, what refers to it, what was found."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any, Final
from urllib.parse import urlencode

from api.desk.bounded import find_kept
from api.desk.record_words import add_article, get_record_id, list_key, make_namer, name_record
from api.desk.sheet import Cell, Ref
from api.desk.table_words import tell_label, tell_many, tell_one
from api.pages.addresses import build_record_address
from api.pages.forms.faults import build_reason
from api.pages.page import WAYS, Link, Page, Way
from api.pages.record_cells import make_cells
from loaders.tables.explanations import tell_default
from ontology.checks.dependents import iterate_referrers
from ontology.checks.framework import check_record
from ontology.model.columns import Column, Table
from ontology.model.tables import TABLES
from ontology.plurals import format_count
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "NOTICED",
    "Noticed",
    "RecordView",
    "Referrers",
    "build_page",
    "build_trail",
    "build_view",
    "describe_record",
    "get_list_address",
    "get_way",
    "group_referrers",
    "list_facts",
    "list_findings",
    "list_hanging",
    "list_referrers",
    "tell_record",
]

#: Under which name the frame of all pages finds what was found on the record that a page shows.
NOTICED: Final = "noticed"

#: Records of one table named on a page; the rest stand in its list.
_NAMED: Final = 30
#: Of so many records it is kept what our rules find on them.
_MOST_KEPT: Final = 5_000
_FORMS: Final = (("JSON", "json"), ("JSON-LD", "json-ld"), ("Turtle", "turtle"))


@dataclass(frozen=True, slots=True)
class Referrers:
    """The records of one table that refer to a record: the first by name, how many they are, and their list."""

    words: str
    refs: tuple[Ref, ...]
    total: int
    address: str


@dataclass(frozen=True, slots=True)
class Noticed:
    """A finding on a record: how grave, of which column, what it says."""

    severity: str
    label: str
    reason: str


@dataclass(frozen=True, slots=True)
class RecordView:
    """All that the page of a record shows."""

    title: str
    lead: str
    facts: tuple[tuple[str, Cell], ...]
    referrers: tuple[Referrers, ...]
    findings: tuple[Noticed, ...]
    acts: tuple[tuple[str, str], ...]
    data: tuple[tuple[str, str], ...]
    history: str
    revision: int


def get_list_address(table: Table, asked: Mapping[str, str] | None = None) -> str:
    """Return the address of a table's list, narrowed to some values."""
    return f"/{table.name.replace('_', '-')}" + (f"?{urlencode(asked)}" if asked else "")


def get_way(table: Table) -> Way:
    """Return the way in that a table belongs to."""
    return "framework" if table.graph in (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS) else "cover"


def build_trail(table: Table, *more: Link) -> tuple[Link, ...]:
    """Return what stands above the pages of a table's records."""
    words, way = tell_many(table), Link(*WAYS[get_way(table)])
    listed = Link(words[0].upper() + words[1:], get_list_address(table))
    return (way, *([listed] if listed.address != way.address else []), *more)


def build_view(snapshot: Snapshot, table: Table, record: Any, today: date) -> RecordView:
    """Return what is shown of a record; of scales the tuple of their levels. O(records that may refer to it)."""
    record_id = get_record_id(table, record)
    referrers = list_referrers(snapshot, table, record_id, _NAMED)
    # of a state that is seen in part it is not said what stands out: what is not there would be missed
    is_part = snapshot.also_named is not None
    findings = () if is_part else list_findings(snapshot, table, record, today)
    return RecordView(
        title=name_record(snapshot, table, record),
        lead=tell_record(tell_one(table), sum(group.total for group in referrers), None if is_part else findings),
        facts=list_facts(snapshot, table, record),
        referrers=referrers,
        findings=findings,
        acts=_list_acts(table, record_id),
        data=_list_forms(table, record_id),
        history=f"/history{build_record_address(table.name, record_id)}",
        revision=snapshot.revision,
    )


def tell_record(one: str, referring: int, findings: Sequence[Noticed] | None) -> str:
    """Return the first sentence: what it is, how many refer to it, whether something stands out.

    `findings` is None for who sees a part alone: then only that is counted.

    Examples
    --------
    >>> tell_record("place", 2, ())
    'A place; 2 records refer to it. Nothing stands out.'
    >>> tell_record("absence", 0, [Noticed("remark", "", "")])
    'An absence; nothing refers to it. 1 thing stands out, see below.'
    >>> tell_record("team", 15, None), tell_record("person", 0, None)
    ('A team; 15 records that you may see refer to it.', 'A person; nothing that you may see refers to it.')
    """
    what = add_article(one)
    if findings is None:
        refer = "refers" if referring <= 1 else "refer"
        seen = f"{format_count(referring, 'record') if referring else 'nothing'} that you may see {refer}"
        return f"{what[0].upper()}{what[1:]}; {seen} to it."
    told = format_count(referring, "record refers", "records refer") if referring else "nothing refers"
    out = f"{format_count(len(findings), 'thing stands', 'things stand')} out, see below" if findings else ""
    return f"{what[0].upper()}{what[1:]}; {told} to it. {out or 'Nothing stands out'}."


def list_findings(snapshot: Snapshot, table: Table, record: Any, today: date) -> tuple[Noticed, ...]:
    """Return what our own rules find on a record as it is stored, errors first."""
    parts = record if table.name == "scales" else (record,)
    kept: dict[tuple[object, ...], tuple[Noticed, ...]] = snapshot.keep("findings of pages", dict)
    key = (table.name, list_key(table, record), today)
    return find_kept(kept, key, _MOST_KEPT, lambda: _find_findings(snapshot, table, parts, today))


def _find_findings(snapshot: Snapshot, table: Table, parts: Sequence[Any], today: date) -> tuple[Noticed, ...]:
    own = sorted(finding for part in parts for finding in check_record(snapshot, table.name, part, today))
    # what is found at its id is found of the record itself
    labels = (tell_label(table.name, f.column) if f.column not in ("", "id") else "" for f in own)
    return tuple(
        Noticed(f.severity, label, build_reason(f, table, f.about[1:])) for f, label in zip(own, labels, strict=True)
    )


def list_referrers(snapshot: Snapshot, table: Table, record_id: str, most: int = _NAMED) -> tuple[Referrers, ...]:
    """Return what refers to a record, table by table, `most` of each by name. O(records that may refer to it)."""
    return group_referrers(snapshot, table, iterate_referrers(snapshot, table.name, record_id), record_id, most)


def group_referrers(
    snapshot: Snapshot, table: Table, pairs: Iterable[tuple[str, Any]], record_id: str = "", most: int = _NAMED
) -> tuple[Referrers, ...]:
    """Return records, pairs of table and record in the order of tables, by table; `record_id` narrows their lists."""
    groups = []
    for name, found in groupby(pairs, key=lambda pair: pair[0]):
        other, records = TABLES[name], [record for _, record in found]
        tell = make_namer(snapshot, other)
        refs = tuple(Ref(name, get_record_id(other, record), tell(record)) for record in records[:most])
        column = next((column.name for column in other.columns if column.refers_to == table.name), "")
        asked = {column: record_id} if column and record_id else None
        words = format_count(len(records), tell_one(other), tell_many(other))
        groups.append(Referrers(words, refs, len(records), get_list_address(other, asked)))
    return tuple(groups)


def list_facts(snapshot: Snapshot, table: Table, record: Any) -> tuple[tuple[str, Cell], ...]:
    """Return what a record says, column by column."""
    if table.name == "scales":
        return tuple((f"{level.rank} {level.label}", level.description or None) for level in record)
    return tuple(
        (tell_label(table.name, column.name), _say(snapshot, table, column, record)) for column in table.columns
    )


def _say(snapshot: Snapshot, table: Table, column: Column, record: Any) -> Cell:
    """Return a column of a record; where nothing is said, what holds then and hangs on the record, or None."""
    cell = make_cells(snapshot, table, column)(record)
    if cell is not None or column.default is not None:
        return cell
    told = tell_default(table, column)
    return None if told == "none" else f"as usual: {told}"


def _list_acts(table: Table, record_id: str) -> tuple[tuple[str, str], ...]:
    address = build_record_address(table.name, record_id)
    acts = [("Edit", f"/edit{address}")]
    acts += [
        (f"Add {add_article(tell_one(other))}", f"/new/{other.name.replace('_', '-')}?{urlencode({name: record_id})}")
        for other, name in list_hanging(table)
    ]
    return (*acts, ("Remove", f"/remove{address}"))


def list_hanging(table: Table) -> Iterable[tuple[Table, str]]:
    """Yield the tables whose records hang on one of this table, each with the column that names it."""
    for other in TABLES.values():
        for column in other.columns:
            if column.refers_to == table.name and column.is_required and other.name != "scales":
                yield other, column.name
                break


def _list_forms(table: Table, record_id: str) -> tuple[tuple[str, str], ...]:
    address = "/api" + build_record_address(table.name, record_id)
    return tuple((words, f"{address}?format={form}") for words, form in _FORMS)


def describe_record(table: Table, view: RecordView) -> Page:
    """Return the page of a record."""
    return build_page(table, "record.html", {"view": view, NOTICED: view.findings}, build_trail(table))


def build_page(table: Table, template: str, values: Mapping[str, Any], trail: tuple[Link, ...]) -> Page:
    """Return a page about records of a table; a browser keeps none that is about people."""
    return Page(template, values, way=get_way(table), trail=trail, is_private=table.graph == ns.GRAPH_PEOPLE)
