"""What the pages of the framework's records share: sentences, facts with links, findings with an act."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, TypeVar
from urllib.parse import urlencode

from api.desk.names import Names
from api.desk.plain_cells import say_day
from api.desk.sheet import Cell, Table
from api.pages.addresses import add_form, build_record_address
from api.pages.page import Link
from ontology.store.history import Commit

__all__ = [
    "MOST_ROWS",
    "Fact",
    "Finding",
    "FrameworkView",
    "Listing",
    "Saying",
    "add_last_change",
    "build_listing",
    "list_data",
    "list_trail",
    "narrow",
    "say_level",
    "tell_history",
    "tell_level",
    "tell_new",
]

#: Rows of a table on the page of a record; the rest stand in the list that the page links.
MOST_ROWS: Final = 50
_CHANGES: Final = "Changes"


@dataclass(frozen=True, slots=True)
class Saying:
    """A page's first sentences, the figure that matters most in bold."""

    before: str
    strong: str = ""
    after: str = ""

    @property
    def text(self) -> str:
        """All of it, as one would say it."""
        return f"{self.before}{self.strong}{self.after}"


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact in the row below the first sentence: what it is, and its lines, each of cells and links with no blank."""

    name: str
    lines: tuple[tuple[Cell | Link, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameworkView:
    """What stands on the page of every record of the framework."""

    name: str
    lead: Saying
    acts: tuple[Link, ...]
    facts: tuple[Fact, ...]
    revision: int


_View = TypeVar("_View", bound=FrameworkView)


@dataclass(frozen=True, slots=True)
class Finding:
    """What is missing, in words, and what one can do about it."""

    words: str
    act: Link | None = None


@dataclass(frozen=True, slots=True)
class Listing:
    """A table of a record's page: its first rows, what is said where there are none, where the rest stand."""

    table: Table
    empty: Finding
    rest: Link | None = None


def build_listing(table: Table, total: int, address: str, act: Link | None = None) -> Listing:
    """Return a table of which perhaps only the first of `total` rows are given; all of them stand at the address."""
    rest = Link(f"All {total:,}", address) if total > len(table.rows) else None
    return Listing(table, Finding(table.empty, act), rest)


def narrow(table: str, **asked: str) -> str:
    """Return the address of a table's list, narrowed to some values.

    Examples
    --------
    >>> narrow("entry_conditions", course="a b")
    '/entry-conditions?course=a+b'
    """
    return f"/{table.replace('_', '-')}?{urlencode(asked)}"


def tell_new(table: str, words: str, **filled: str) -> Link:
    """Return the act that makes a record of a table, with some columns filled in."""
    return Link(words, f"/new{narrow(table, **filled)}")


def tell_level(names: Names, competency_id: str, rank: int) -> str:
    """Return a level with its word: "3, Independent"; just its number where its scale has no word for it."""
    return say_level(rank, names.level(competency_id, rank).label)


def say_level(rank: int, label: str) -> str:
    """Return a level and its word.

    Examples
    --------
    >>> say_level(3, "Independent"), say_level(3, "")
    ('3, Independent', '3')
    """
    return ", ".join(filter(None, (str(rank), label)))


def tell_history(table: str, record_id: str) -> Fact:
    """Return where all changes of a record stand."""
    return Fact(_CHANGES, ((Link("All changes", f"/history{build_record_address(table, record_id)}"),),))


def add_last_change(view: _View, last: Commit | None) -> _View:
    """Return the page of a record with when it changed last, beside where all changes stand; None: it was not kept."""
    if last is None:
        return view
    day = f"revision {last.revision}, {say_day(last.when.date())}"
    told = [Fact("Last changed", ((day,), *one.lines)) if one.name == _CHANGES else one for one in view.facts]
    return replace(view, facts=tuple(told))


def list_data(table: str, record_id: str) -> Fact:
    """Return a record's other forms."""
    address = "/api" + build_record_address(table, record_id)
    json_ld, turtle = Link("JSON-LD", add_form(address, "json-ld")), Link("Turtle", add_form(address, "turtle"))
    return Fact("As data", ((Link("JSON", address), ", ", json_ld, ", ", turtle),))


def list_trail(table: str, *more: Link) -> tuple[Link, ...]:
    """Return what stands above the page of a record of the framework."""
    return Link("Framework", "/framework"), Link(table.capitalize(), f"/{table}"), *more
