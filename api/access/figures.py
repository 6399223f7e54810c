"""Figures without persons: what who may see nobody is told of how many there are, with the small figures hidden.

What counts people says so in the types of its fields. A figure below the least size is told as "under 5", and so that
it cannot be worked out from what stands beside it, that is hidden with it. Teams of fewer people are left out.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from math import comb
from types import UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin, get_type_hints

from api.access.kinds import TABLE_KINDS
from api.access.rights import Kind
from api.access.small_groups import protect
from api.json_text import name_member
from ontology.analysis.cover.presence import is_employed
from ontology.analysis.profiles.belonging import get_people_of_team, get_person_on
from ontology.model.identity import CountOf, TellsOf
from ontology.snapshot.snapshot import Snapshot

__all__ = ["HiddenFigure", "find_small_teams", "hide_few", "leave_out_small_teams", "read_marks", "tell_plainly"]

_DASH: Final = "–"
#: How many of each there are among so many people.
_SIZES: Final[Mapping[str, int]] = {"people": 1, "pairs": 2, "triples": 3}
#: Sentences of an analysis may say in words what is hidden as a figure.
_SENTENCES: Final = frozenset({"remarks", "reason"})
_UNTOLD: Final = "Not told: figures name nobody."
#: What tells rows that are told together from others of their list.
_SAME: Final = ("team", "competency", "level", "place", "role")
_OF_PEOPLE: Final = tuple(
    name
    for name, kind in TABLE_KINDS.items()
    if kind not in (Kind.FRAMEWORK, Kind.TEAMS, Kind.COVER_NEEDS) and name != "people"
)
_OF_TEAMS: Final = tuple(name for name, kind in TABLE_KINDS.items() if kind is Kind.COVER_NEEDS)


class HiddenFigure(int):
    """A number that is not told: it reads as `text`, is always the same, and what is worked out of it is not told.

    Parameters
    ----------
    value : int
        Something that tells nothing.
    text : str, optional
        A dash for what only would tell another figure.
    """

    text: str

    def __new__(cls, value: int = 0, text: str = _DASH) -> HiddenFigure:
        """Make one."""
        made = super().__new__(cls, value)
        made.text = text
        return made

    def __str__(self) -> str:
        """Return what it reads as."""
        return self.text

    __repr__ = __str__

    def __format__(self, spec: str) -> str:
        """Return what it reads as, however numbers are to be written."""
        return self.text

    def _lose(self, *_: Any) -> Any:
        return HiddenFigure()

    __add__ = __radd__ = __sub__ = __rsub__ = __mul__ = __rmul__ = __neg__ = __abs__ = _lose


def hide_few(result: Any, least: int, is_all: bool = False) -> Any:
    """Return a result, of the same types, in which no figure is about fewer than so many people.

    Parameters
    ----------
    result : dataclass
        Without persons already; its fields say in their types which of them count people.
    least : int
    is_all : bool
        Whether all figures about people are hidden: of another day than the present one a figure would tell, beside
        that of the present one, who came or went.

    Notes
    -----
    O(size of the answer).
    """
    return _Hider(least, is_all).hide(result)


def tell_plainly(value: Any) -> Any:
    """Return what JSON tells of a value with hidden figures: their text, null for a dash; all else as it is."""
    if isinstance(value, HiddenFigure):
        return None if value.text == _DASH else value.text
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {name_member(one.name): tell_plainly(getattr(value, one.name)) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {key: tell_plainly(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [tell_plainly(item) for item in value]
    return value


class _Hider:
    def __init__(self, least: int, is_all: bool) -> None:
        self.least = least
        self.is_all = is_all
        self.few = HiddenFigure(least - 1, f"under {least}")

    def hide(self, value: Any, together: frozenset[str] = frozenset()) -> Any:
        """Return a value; of a record the fields `together` are hidden for the sake of those beside it."""
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            return self._hide_record(value, together)
        if isinstance(value, Mapping):
            return {key: self.hide(item) for key, item in value.items()}
        if isinstance(value, tuple | list):
            return type(value)(map(self.hide, value, self._find_together(value)))
        return value

    def _hide_record(self, record: Any, together: frozenset[str]) -> Any:
        kind: Any = type(record)
        marks = read_marks(kind)
        hidden = {
            name for name, mark in marks.items() if self.is_all or name in together or self._is_few(record, name, mark)
        }
        hidden |= {name for name, mark in marks.items() if isinstance(mark, TellsOf) and mark.field in ("", *hidden)}
        changed = {
            field.name: self._hide_field(record, field.name, marks[field.name] if field.name in hidden else None)
            for field in dataclasses.fields(kind)
        }
        return dataclasses.replace(record, **changed)

    def _hide_field(self, record: Any, name: str, mark: CountOf | TellsOf | None) -> Any:
        """Return a field's value; with its mark where it is hidden."""
        value = getattr(record, name)
        if value is None:
            return None
        if mark is not None:
            is_size = not self.is_all and isinstance(mark, CountOf) and mark.what == "people" and not mark.plus
            return self.few if is_size else HiddenFigure()
        if name in _SENTENCES:
            return _UNTOLD if isinstance(value, str) else ()
        return self.hide(value)

    def _is_few(self, record: Any, name: str, mark: CountOf | TellsOf) -> bool:
        """Whether a figure by itself, or what is left of the whole, is about too few."""
        value = getattr(record, name)
        if isinstance(mark, TellsOf) or value is None:
            return False
        least = comb(self.least, _SIZES[mark.what])
        if mark.plus:
            other = getattr(record, mark.plus)
            return other is None or value + other < least
        if not mark.of:
            return bool(value < least)
        return protect((value, getattr(record, mark.of) - value), least).cells[0] is None

    def _find_together(self, rows: Sequence[Any]) -> list[frozenset[str]]:
        """Return for each row of a list which of its fields are hidden because of the others."""
        found: list[set[str]] = [set() for _ in rows]
        kinds = {type(row) for row in rows}
        if len(kinds) == 1 and dataclasses.is_dataclass(kind := kinds.pop()):
            marks = {name: mark for name, mark in read_marks(kind).items() if isinstance(mark, CountOf) and mark.rows}
            for name, mark in marks.items():
                for n in self._find_hidden_rows(rows, name, mark):
                    found[n].add(name)
            if any(marks[name].rows == "parts" for row in found for name in row):
                sums = {name for name, mark in marks.items() if mark.rows == "sums"}
                found = [row | sums for row in found]
        return [frozenset(row) for row in found]

    def _find_hidden_rows(self, rows: Sequence[Any], name: str, mark: CountOf) -> Iterator[int]:
        values = [getattr(row, name) or 0 for row in rows]
        if mark.rows == "parts":
            yield from (n for n, cell in enumerate(protect(values, self.least).cells) if cell is None)
        elif mark.rows == "together":
            groups: defaultdict[tuple[Any, ...], list[int]] = defaultdict(list)
            for n, row in enumerate(rows):
                groups[_find_same(row)].append(n)
            for group in groups.values():
                if any(values[n] < self.least for n in group):
                    yield from group


def _find_same(row: Any) -> tuple[Any, ...]:
    """Return what rows have alike that are told together: a need in each shift; a need of the team is by itself."""
    has_shift = getattr(row, "shift", "") is not None
    return (has_shift, *(getattr(row, name, "") for name in _SAME))


@cache
def read_marks(record: type[Any]) -> Mapping[str, CountOf | TellsOf]:
    """Return the fields of a record that count people, or tell how many there are, with their marks."""
    hints = get_type_hints(record, include_extras=True)
    marks = {field.name: _find_mark(hints[field.name]) for field in dataclasses.fields(record)}
    return {name: mark for name, mark in marks.items() if mark is not None}


def _find_mark(hint: Any) -> CountOf | TellsOf | None:
    if get_origin(hint) is Annotated:
        inner, *beside = get_args(hint)
        return next((mark for mark in beside if isinstance(mark, CountOf | TellsOf)), None) or _find_mark(inner)
    if get_origin(hint) in (Union, UnionType):
        return next((mark for part in get_args(hint) if (mark := _find_mark(part)) is not None), None)
    return None


def find_small_teams(snapshot: Snapshot, on: dt.date, least: int) -> frozenset[str]:
    """Return the teams to which fewer people belong on a day. O(people), once for a state and a day."""

    def find() -> frozenset[str]:
        sizes = {
            team: sum(
                get_person_on(snapshot, one.id, on).team == team and is_employed(one, on)
                for one in get_people_of_team(snapshot, team)
            )
            for team in snapshot.teams
        }
        return frozenset(team for team, size in sizes.items() if size < least)

    return snapshot.keep(("small teams", on, least), find)


def leave_out_small_teams(snapshot: Snapshot, on: dt.date, least: int) -> Snapshot:
    """Return a state without what small teams need and without their people: nothing is told of how they stand."""
    small = find_small_teams(snapshot, on, least)
    if not small:
        return snapshot
    return snapshot.keep(("without small teams", small), lambda: _leave_out(snapshot, small, on))


def _leave_out(snapshot: Snapshot, small: frozenset[str], on: dt.date) -> Snapshot:
    gone = {one for one in snapshot.people if get_person_on(snapshot, one, on).team in small}
    tables = {
        name: {key: row for key, row in snapshot.get_all(name).items() if row.team not in small} for name in _OF_TEAMS
    }
    tables["people"] = {key: row for key, row in snapshot.get_all("people").items() if row.id not in gone}
    for name in _OF_PEOPLE:
        rows = snapshot.get_all(name).items()
        tables[name] = {key: row for key, row in rows if not gone.intersection(_iterate_people(snapshot, name, row))}
    return snapshot.with_tables(tables)


def _iterate_people(snapshot: Snapshot, name: str, row: Any) -> Iterable[str]:
    """Yield whom a record is about."""
    if name == "agreed_courses":
        plan = snapshot.agreed_plans.get(row.plan)
        return (plan.person,) if plan is not None else ()
    return (row.person,)
