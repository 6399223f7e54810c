"""The list of a table's records: by words, by a value of a column, page by page."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Final

from api.desk.names import amount
from api.desk.record_words import add_article, list_named_fields, make_id_reader, make_namer
from api.desk.sheet import Cell, Column, KeptRow, Quantity, Ref, Table
from api.desk.table_words import tell_label, tell_many, tell_one
from api.pages.forms.controls import build_filter
from api.pages.forms.form import Field
from api.pages.offered import list_offered
from api.pages.page import WAYS, Link, Page
from api.pages.record_cells import make_cells
from api.pages.records import build_page, get_list_address, get_way
from ontology.model import columns as model
from ontology.model.folding import split_words
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ListView", "Listed", "build_list_view", "describe_list", "keep_called", "tell_list"]

#: Columns of a list besides what a record is called.
_SHOWN: Final = 5
#: A list is read more than it is narrowed: what its fields may hold is not to outweigh it.
_OFFERED: Final = 60
#: So many rows of a table are kept with a state.
_MOST_ROWS: Final = 5_000
#: Identity of a record -> the record, which keeps it from being another's, and its row.
_Rows = dict[int, tuple[Any, KeptRow]]


@dataclass(frozen=True, slots=True)
class Listed:
    """The records on a page of a list: its number from 1, the last one's, and how many there are on all pages."""

    records: Sequence[Any]
    page: int
    last_page: int
    total: int


@dataclass(frozen=True, slots=True)
class ListView:
    """All that the page of a list shows."""

    title: str
    is_empty: bool
    lead: str
    rows: Table
    words: str
    filters: tuple[Field, ...]
    offered: Mapping[str, tuple[tuple[str, str], ...]]
    is_narrowed: bool
    here: str
    acts: tuple[tuple[str, str], ...]
    pages: tuple[tuple[str, str], ...]
    data: str
    revision: int


def keep_called(snapshot: Snapshot, table: model.Table, records: Sequence[Any], text: str) -> Sequence[Any]:
    """Return the records of which every word of a text begins a word of what they are called, or is in their id.

    O(records). Case and accents make no difference.
    """
    wanted = split_words(text)
    if not wanted:
        return records
    name, read_id = make_namer(snapshot, table), make_id_reader(table)
    return [record for record in records if _is_called(f"{name(record)} {read_id(record)}", wanted)]


def _is_called(text: str, wanted: Sequence[str]) -> bool:
    words = split_words(text)
    return all(any(word.startswith(part) for word in words) for part in wanted)


def build_list_view(
    snapshot: Snapshot,
    table: model.Table,
    listed: Listed,
    asked: Mapping[str, str],
    total: int,
    rows: Table | None = None,
    more: tuple[tuple[str, str], ...] = (),
) -> ListView:
    """Return what is shown of a list.

    Parameters
    ----------
    snapshot, table : of what
    listed : the records of the page
    asked : the texts of the address, but for those of the page
    total : how many records the table has
    rows : what is shown of them; None: their first columns that tell something
    more : further ways to go, words and address
    """
    narrowed = {name: text for name, text in asked.items() if name not in ("page", "page_size")}
    filters = snapshot.keep(("filters of a list", table.name), lambda: _build_filters(table))
    if narrowed:
        filters = tuple([Field(one.control, asked.get(one.control.name, "")) for one in filters])
    many = tell_many(table)
    return ListView(
        title=many[0].upper() + many[1:],
        is_empty=not total and not narrowed and not snapshot.retired.get_table(table.name),
        lead=tell_list(listed, total, tell_one(table), many, bool(narrowed)),
        rows=_build_rows(snapshot, table, listed.records) if rows is None else rows,
        words=asked.get("q", ""),
        filters=filters,
        offered=list_offered(snapshot, filters, _OFFERED),
        is_narrowed=any(name != "q" for name in narrowed),
        here=get_list_address(table),
        acts=((f"Add {add_article(tell_one(table))}", f"/new{get_list_address(table)}"), *more),
        pages=_list_pages(table, listed, asked),
        data="/api" + get_list_address(table, asked),
        revision=snapshot.revision,
    )


def begins_on_a_day(table: model.Table) -> bool:
    """Whether the records of a table are called by the day they begin on: the order of their ids would tell nothing."""
    return table.key == ("id",) and any(one.attribute == "from_date" and one.is_required for one in table.columns)


def _build_filters(table: model.Table) -> tuple[Field, ...]:
    """Return the fields that narrow a list, empty."""
    columns = table.columns if table.name != "scales" else ()
    return tuple([Field(build_filter(table, column), "") for column in columns])


def tell_list(listed: Listed, total: int, one: str, many: str, is_narrowed: bool) -> str:
    """Return the first sentence: how many there are, and of how many.

    Examples
    --------
    >>> tell_list(Listed((), 1, 1, 3), 21, "place", "places", True)
    '3 of 21 places.'
    >>> tell_list(Listed((), 2, 6, 285), 285, "requirement", "requirements", False)
    '285 requirements; page 2 of 6.'
    """
    place = f"; page {listed.page} of {listed.last_page}" if listed.last_page > 1 else ""
    if not total:
        return f"There are no {many} yet."
    if is_narrowed:
        found = "None" if not listed.total else amount(listed.total)
        return f"{found} of {format_count(total, one, many)}{place}."
    return f"{format_count(total, one, many)}{place}."


def _build_rows(snapshot: Snapshot, table: model.Table, records: Sequence[Any]) -> Table:
    one, empty = tell_one(table), "Nothing is called so. Use fewer words, or leave a field empty."
    heading, read_id, name = Column(one[0].upper() + one[1:]), make_id_reader(table), make_namer(snapshot, table)

    def refer(record: Any) -> Cell:
        return Ref(table.name, read_id(record), name(record))

    if table.name == "scales":
        return Table("", (heading, Column("Levels")), tuple((refer(r), _tell_levels(r)) for r in records), empty)
    columns = _choose_columns(table, records)
    makers = (refer, *(make_cells(snapshot, table, column) for column in columns))
    kept: _Rows = snapshot.keep(("rows of lists", table.name, tuple(column.name for column in columns)), dict)
    if len(kept) >= _MOST_ROWS:
        kept.clear()
    rows = tuple([_keep_row(kept, record, makers) for record in records])
    headings = (_head(table, column, [row[at] for row in rows]) for at, column in enumerate(columns, start=1))
    return Table("", (heading, *headings), rows, empty)


def _keep_row(kept: _Rows, record: Any, makers: Sequence[Callable[[Any], Cell]]) -> KeptRow:
    """Return the row of a record, made once for a state as it is seen: it hangs on nothing else."""
    found = kept.get(id(record))
    if found is None or found[0] is not record:
        found = kept[id(record)] = record, KeptRow([make(record) for make in makers])
    return found[1]


def _tell_levels(levels: Sequence[Any]) -> str:
    return ", ".join(f"{level.rank} {level.label}" for level in levels)


def _head(table: model.Table, column: model.Column, cells: Sequence[Cell]) -> Column:
    return Column(tell_label(table.name, column.name), is_number=Quantity in set(map(type, cells)))


def _choose_columns(table: model.Table, records: Sequence[Any]) -> list[model.Column]:
    """Return the first columns that tell more of some record than what it is called, and more than the usual."""
    named = {*list_named_fields(table), "id", "label", "name"}
    told = [
        column
        for column in table.columns
        if column.attribute not in named
        and not column.is_long
        and any(_is_telling(column, value) for value in _list_different(records, column.attribute))
    ]
    return told[:_SHOWN]


def _list_different(records: Sequence[Any], attribute: str) -> Collection[Any]:
    """Return what some records say in a column, each once: most say one of a few things."""
    return set(map(attrgetter(attribute), records))


def _is_telling(column: model.Column, value: Any) -> bool:
    if value in (None, "", (), False):
        return False
    return column.is_required or callable(column.default) or value != column.default


def _list_pages(table: model.Table, listed: Listed, asked: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Return where one can go on: words and address."""
    kept = {name: text for name, text in asked.items() if name != "page"}
    steps = []
    if listed.page > 1:
        steps.append(("Before", min(listed.page - 1, listed.last_page)))
    if listed.page < listed.last_page:
        steps.append(("Next", listed.page + 1))
    return tuple(
        (words, get_list_address(table, kept | ({"page": str(page)} if page > 1 else {}))) for words, page in steps
    )


def describe_list(table: model.Table, view: ListView) -> Page:
    """Return the page of a list."""
    return build_page(table, "record_list.html", {"view": view}, (Link(*WAYS[get_way(table)]),))
