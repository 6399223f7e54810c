"""What a column and a table are.

`Table` and `Column` are the single description from which the loaders parse rows, the writer makes triples, the
reader finds them again and the API makes its schemas.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, Final, Literal

from ontology.plurals import format_count
from ontology.rdf import namespaces as ns

#: Ids: the last part of an IRI.
ID_PATTERN: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")

#: Longest id, and longest part of one, in characters. Ids stand in addresses, and the Location and Link headers repeat
#: them: programs give up on header lines of more than 65,536 bytes.
LONGEST_ID: Final = 200

ColumnKind = Literal["id", "ref", "refs", "text", "texts", "iri", "iris", "integer", "number", "flag", "date", "choice"]
#: The kinds of columns that hold several values.
MANY: Final = ("refs", "texts", "iris")
Key = tuple[Any, ...]
_REQUIRED: Final = object()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its name there and in JSON, the record's field, the RDF property and the limits.

    `default` is a value, or a function of the values of the columns before it. A text that `is_long` takes sentences.
    """

    name: str
    kind: ColumnKind
    iri: str
    about: str
    default: Any = _REQUIRED
    refers_to: str = ""
    choices: tuple[str, ...] = ()
    minimum: float | None = None
    maximum: float | None = None
    field: str = ""
    is_long: bool = False

    @property
    def is_required(self) -> bool:
        """Whether an empty cell is an error."""
        return self.default is _REQUIRED

    @property
    def attribute(self) -> str:
        """Name of the record's field."""
        return self.field or self.name

    def get_default(self, values: Mapping[str, Any]) -> Any:
        """Return the value of an empty cell, given the columns before it by attribute name."""
        return self.default(values) if callable(self.default) else self.default


class RecordFields(Mapping[str, Any]):
    """A record's fields by name, for defaults that hang on other columns."""

    __slots__ = ("_record",)

    def __init__(self, record: Any) -> None:
        self._record = record

    def __getitem__(self, name: str) -> Any:
        return getattr(self._record, name)

    def __iter__(self) -> Iterator[str]:
        return iter(self._record.__slots__)

    def __len__(self) -> int:
        return len(self._record.__slots__)


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its record, the RDF class and named graph, and its columns in order (the required ones first)."""

    name: str
    record: Callable[..., Any]
    segment: str
    class_iri: str
    graph: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]

    @property
    def word(self) -> str:
        """What one record is called: "cover need"."""
        return self.segment.replace("-", " ")

    def count(self, number: int) -> str:
        """Return so many records in words: "1 cover need", "3 cover needs"."""
        return format_count(number, self.word, self.name.replace("_", " "))

    def get_key(self, record: Any) -> Key:
        """Return the values that tell this record from the others of its table."""
        return tuple(getattr(record, name) for name in self.key)

    def iterate_keyed(self, records: Iterable[Any]) -> Iterator[tuple[Key, Any]]:
        """Yield (key, record) for many records, faster than `get_key` for each."""
        kept = list(records)
        names = self.key
        # attrgetter gives the bare value where there is but one name
        keys = zip(map(attrgetter(*names), kept)) if len(names) == 1 else map(attrgetter(*names), kept)
        return zip(keys, kept, strict=True)

    def get_iri(self, record: Any) -> str:
        """Return the record's IRI: deterministic, so loading a row twice gives the same triples."""
        return ns.record_iri(self.segment, *(str(part) for part in self.get_key(record)))

    def build_iris(self, records: Iterable[Any]) -> list[str]:
        """Return the IRIs of many records, as `get_iri` does for one, but faster."""
        return ns.record_iris(self.segment, [key for key, _ in self.iterate_keyed(records)])

    def get_column(self, name: str) -> Column:
        """Return the column of this name; KeyError where there is none."""
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    def build(self, **values: Any) -> Any:
        """Return a record from values by attribute name, with every default filled in.

        Raises
        ------
        KeyError
            A required value is missing, or a name is not a column of this table.
        """
        complete: dict[str, Any] = {}
        for column in self.columns:
            attribute = column.attribute
            if attribute in values:
                complete[attribute] = values.pop(attribute)
            elif column.is_required:
                raise KeyError(f"{self.name}: {attribute} is missing")
            else:
                complete[attribute] = column.get_default(complete)
        if values:
            raise KeyError(f"{self.name}: unknown {', '.join(sorted(values))}")
        return self.record(**complete)

    @property
    def id_field(self) -> str:
        """Name of the single key field, or empty where the key has several parts."""
        return self.key[0] if len(self.key) == 1 else ""


def camel_case(name: str) -> str:
    """Return the Turtle local name of a column: ``entry_level`` becomes ``entryLevel``."""
    head, *tail = name.split("_")
    return head + "".join(part.capitalize() for part in tail)


def make_own(name: str, kind: ColumnKind, about: str, **more: Any) -> Column:
    """Return a column whose property is our own, named like the column."""
    return Column(name, kind, ns.NW + camel_case(name), about, **more)


def make_ref(name: str, table: str, about: str, iri: str = "", **more: Any) -> Column:
    """Return a column that refers to a record of another table."""
    return Column(name, "ref", iri or ns.NW + name, about, refers_to=table, **more)


def make_from(about: str, **more: Any) -> Column:
    """Return the column of a first day."""
    return make_own("from", "date", about, field="from_date", **more)


def make_to(about: str, **more: Any) -> Column:
    """Return the column of a last day, inclusive."""
    return make_own("to", "date", about, field="to_date", **more)


def make_level(name: str, about: str, *, minimum: int = 1, **more: Any) -> Column:
    """Return a column that holds a level (a rank of the competency's scale, 0 where that says something)."""
    return Column(name, "integer", ns.NW + camel_case(name), about, minimum=minimum, **more)


ID_COLUMN: Final = Column("id", "id", ns.DCTERMS + "identifier", "Short text without spaces, unique in its table.")
LABEL_COLUMN: Final = Column("label", "text", ns.SKOS + "prefLabel", "What people read.")
