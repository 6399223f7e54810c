"""Lists cut down by exact column values and by words of labels: the parameters come from the columns."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import partial
from itertools import accumulate
from typing import Any, Final

from api.desk.column_values import parse_value
from api.desk.kinds import Kind
from api.desk.parameters import Parameter
from api.http.collection import Collection
from api.settings import Settings
from ontology.model.columns import Column
from ontology.model.retirable import RETIRABLE
from ontology.snapshot.snapshot import Snapshot

_SHAPES: Final = {
    "integer": "a whole number",
    "number": "a number like 12 or 12.5",
    "flag": "yes or no",
    "date": "a date like 2026-11-24",
}


#: What the parameter `retired` says.
RETIRED_ABOUT: Final = "Whether to read what is retired, too, as it last stood."


def list_list_parameters(collection: Collection, settings: Settings, *, without: str = "") -> tuple[Parameter, ...]:
    """Return the parameters of a collection's list: its columns, q where it is searched, page and page_size."""
    columns = collection.table.columns
    found = []
    if collection.table.name == "scales":
        found.append(_make(columns[0], "id"))
    else:
        found += [_make(column, column.name) for column in columns if column.name != without]
    if collection.is_searched:
        found.append(_make_plain("q", "text", "Words of the label (or another name), in any order.", None))
    if collection.has_retired:
        found.append(_make_plain("retired", "flag", RETIRED_ABOUT, False))
    found.append(_make_plain("page", "whole", "Page, from 1.", 1))
    sizes = settings.page_size_default, settings.page_size_max
    found.append(_make_plain("page_size", "whole", "Records on a page.", sizes[0], maximum=sizes[1]))
    return tuple(found)


def list_item_parameters(collection: Collection) -> tuple[Parameter, ...]:
    """Return the parameters of a record of a collection that is read by itself."""
    is_retirable = collection.table.name in RETIRABLE
    return (_make_plain("retired", "flag", RETIRED_ABOUT, False),) if is_retirable else ()


def _make(column: Column, name: str) -> Parameter:
    more = _SHAPES.get(column.kind, "")
    if column.kind == "choice":
        more = f"one of {', '.join(column.choices)}"
    about = f"Only records with this value. {column.about}" + (f" Here: {more}; empty: not set." if more else "")
    return _make_plain(name, "text", about, None, parser=partial(parse_value, column))


def _make_plain(name: str, kind: str, about: str, default: Any, **more: Any) -> Parameter:
    return Parameter(name, name, Kind(kind), about, default, minimum=1, **more)


def keep_matching(
    snapshot: Snapshot, collection: Collection, items: Sequence[Any], asked: Mapping[str, Any]
) -> Sequence[Any]:
    """Return the items whose columns have the values asked for, and whose labels hold all words of q. O(n).

    What is searched is made once for a Snapshot.
    """
    if collection.table.name == "scales":
        return [item for item in items if "id" not in asked or item[0].scale == asked["id"]]
    kept = items
    for name, value in asked.items():
        if name != "q":
            attribute = collection.table.get_column(name).attribute
            kept = [item for item in kept if _has_value(getattr(item, attribute), value)]
    words = str(asked.get("q", "")).casefold().split()
    if words:
        table = collection.table.name
        searched = snapshot.keep(("texts that are searched", table), lambda: _Searched(getattr(snapshot, table)))
        found = set.intersection(*map(searched.find, words))
        # what is retired is in no index
        found |= {item.id for item in kept if getattr(item, "retired_on", None) and _holds(item, words)}
        kept = [item for item in kept if item.id in found]
    return kept


def _has_value(held: Any, value: Any) -> bool:
    if isinstance(held, tuple):
        return value in held or (value == "" and not held)
    return bool(held == value)


def _holds(record: Any, words: Sequence[str]) -> bool:
    text = _join_names(record)
    return all(word in text for word in words)


def _join_names(record: Any) -> str:
    return " | ".join((record.label, *getattr(record, "alt_labels", ()))).casefold()


class _Searched:
    """The labels and other names of records as one text, which is searched far quicker than text by text."""

    def __init__(self, records: Mapping[str, Any]) -> None:
        self._ids = list(records)
        texts = [_join_names(record) for record in records.values()]
        self._starts = list(accumulate((len(text) + 1 for text in texts), initial=0))
        self._text = "\n".join(texts)

    def find(self, word: str) -> set[str]:
        """Return the ids of the records whose text holds a word, which has no blank. O(text)."""
        found, at = set(), self._text.find(word)
        while at >= 0:
            place = bisect_right(self._starts, at)
            found.add(self._ids[place - 1])
            at = self._text.find(word, self._starts[place])
        return found
