"""An answer without the people who may not be seen: what the types of its fields say is a person's id is taken out.

A list loses the id; a row about the person goes, and is counted with their team; a field by itself becomes null; a
sentence says "someone". What has gone is told as counts by team.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import operator
import re
from collections.abc import Collection, Mapping, Sequence
from enum import Enum
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, cast, get_args, get_origin, get_type_hints

from ontology.model.columns import ID_PATTERN
from ontology.model.identity import IdOf

__all__ = ["Reduced", "Told", "reduce_result", "reduce_text"]

_PEOPLE: Final = IdOf("people")
_ANY: Final = IdOf("")
_SOMEONE: Final = "someone"
_GONE: Final = object()
#: Types of values without a text.
_WITHOUT_TEXT: Final = (bool, int, float, dt.date, dt.datetime)
#: Types whose parts are the types of what they hold.
_WITH_PARTS: Final = (list, tuple, set, frozenset, dict, Mapping, Sequence, Collection)
_ITEMS: Final = (list, tuple, set, frozenset)
_SEPARATORS: Final = re.compile(r"[._-]+")


@dataclasses.dataclass(frozen=True, slots=True)
class Reduced:
    """A result as it may be told, who has gone from it, and who is told of."""

    result: Any
    gone: frozenset[str] = frozenset()
    told: frozenset[str] = frozenset()


@dataclasses.dataclass(frozen=True, slots=True)
class _Hint:
    """What a type says of its values: whether they are ids of people, and the types of what they hold."""

    is_person: bool = False
    parts: tuple[_Hint, ...] = ()


_ANYTHING: Final = _Hint()


#: A text as it is told, who has gone from it, and who is told of in it.
Told = tuple[str, frozenset[str], frozenset[str]]
#: So many texts are kept for who may see the same.
_MOST_KEPT: Final = 20_000


class _Reducer:
    def __init__(self, unseen: Collection[str], people: Collection[str], known: dict[str, Told]) -> None:
        self.unseen = unseen
        self.people = people
        self.told: set[str] = set()
        self.gone: set[str] = set()
        #: Answers say the same texts again and again.
        self._known = known

    def hides(self, value: Any) -> bool:
        """Whether a value is the id of somebody unseen; who it is, is remembered."""
        if isinstance(value, str):
            if value in self.unseen:
                self.gone.add(value)
                return True
            if value in self.people:
                self.told.add(value)
        return False

    def reduce(self, value: Any, hint: _Hint) -> Any:
        """Return a value without the unseen, itself where that is all of it; `_GONE` where nothing of it is left."""
        shape = _find_shape(cast(Any, type(value)))
        if shape == "text":
            return (_GONE if self.hides(value) else value) if hint.is_person else self.tell(value)
        if shape == "record":
            return self.reduce_record(value)
        if shape == "items":
            return self._reduce_items(value, hint.parts[0] if hint.parts else _ANYTHING)
        if shape == "mapping":
            by, hint_of_item = hint.parts or (_ANYTHING, _ANYTHING)
            items = {
                key: self.reduce(item, hint_of_item)
                for key, item in value.items()
                if not (by.is_person and self.hides(key))
            }
            return {key: item for key, item in items.items() if item is not _GONE}
        return value

    def _reduce_items(self, values: Any, hint: _Hint) -> Any:
        if hint.is_person:
            left = [one for one in values if not self.hides(one)]
            return values if len(left) == len(values) else type(values)(left)
        reduced = [self.reduce(one, hint) for one in values]
        if all(map(operator.is_, reduced, values)):
            return values
        return type(values)([item for item in reduced if item is not _GONE])

    def reduce_record(self, record: Any) -> Any:
        """Return a record of the same type, itself where nothing is hidden; `_GONE` where it is of somebody unseen."""
        hints, subjects = _read_fields(cast(Any, type(record)))
        for name in subjects:
            if self.hides(getattr(record, name)):
                return _GONE
        changed = {}
        for name, hint in hints:
            value = getattr(record, name)
            reduced = self.reduce(value, hint)
            if reduced is not value:
                changed[name] = None if reduced is _GONE else reduced
        return dataclasses.replace(record, **changed) if changed else record

    def tell(self, sentence: str) -> str:
        """Return a sentence, or an id of something else, with "someone" for each of the unseen."""
        found = self._known.get(sentence)
        if found is None:
            if len(self._known) >= _MOST_KEPT:
                self._known.clear()
            found = self._known[sentence] = _tell(sentence, self.unseen, self.people)
        text, gone, told = found
        if gone:
            self.gone |= gone
        if told:
            self.told |= told
        return text


def _tell(sentence: str, unseen: Collection[str], people: Collection[str]) -> Told:
    reducer = _Reducer(unseen, people, {})
    shortest = min(map(len, unseen), default=0)
    told = ID_PATTERN.sub(lambda match: _tell_word(match.group(), shortest, reducer), sentence)
    # the text itself where it says all: then a record that holds it is left as it is
    return sentence if told == sentence else told, frozenset(reducer.gone), frozenset(reducer.told)


def _tell_word(word: str, shortest: int, reducer: _Reducer) -> str:
    """Return a word, or "someone" where it is an id of the unseen or made of one: "p7-2026-11-24", "p7."."""
    if len(word) < shortest or (word.isalpha() and word not in reducer.unseen):
        return word
    ends = [0, *(n for match in _SEPARATORS.finditer(word) for n in match.span()), len(word)]
    for begin in ends:
        for end in ends:
            if begin < end and reducer.hides(word[begin:end]):
                return _SOMEONE + word[len(word.rstrip("._-")) :]
    return word


_Shape = Literal["text", "items", "mapping", "record", "plain"]


@cache
def _find_shape(kind: Any) -> _Shape:
    if issubclass(kind, str):
        return "plain" if issubclass(kind, Enum) else "text"
    if issubclass(kind, list | tuple | set | frozenset):
        return "items"
    if issubclass(kind, Mapping):
        return "mapping"
    return "record" if dataclasses.is_dataclass(kind) else "plain"


@cache
def _read_fields(record: type[Any]) -> tuple[tuple[tuple[str, _Hint], ...], tuple[str, ...]]:
    """Return the fields that may hold a text, and those that say whom the record is about: one, and always there."""
    hints = get_type_hints(record, include_extras=True)
    hints = {one.name: hints[one.name] for one in dataclasses.fields(record)}
    subjects = [name for name, hint in hints.items() if _strip(hint) == (str, True) and not _is_optional(hint)]
    told = {name: hint for name, hint in hints.items() if not _holds_no_text(hint)}
    return tuple((name, _read_hint(hint)) for name, hint in told.items()), tuple(subjects[:1])


def _holds_no_text(hint: Any) -> bool:
    """Whether a value of a type is a number, a day or one of the words that the program knows."""
    inner, _ = _strip(hint)
    origin = get_origin(inner)
    if origin in _ITEMS:
        return all(_holds_no_text(part) for part in get_args(inner) if part is not Ellipsis)
    return inner in _WITHOUT_TEXT or origin is Literal


@cache
def _read_hint(hint: Any) -> _Hint:
    inner, is_person = _strip(hint)
    parts = [part for part in get_args(inner) if part is not Ellipsis]
    return _Hint(is_person, tuple(map(_read_hint, parts)) if get_origin(inner) in _WITH_PARTS else ())


@cache
def _strip(hint: Any) -> tuple[Any, bool]:
    """Return a type without what stands beside it and without None, and whether it is that of a person's id."""
    is_person = False
    while True:
        origin = get_origin(hint)
        if origin is Annotated:
            inner, *marks = get_args(hint)
            is_person |= _PEOPLE in marks or _ANY in marks
            hint = inner
        elif origin in (Union, UnionType):
            parts = [part for part in get_args(hint) if part is not NoneType]
            if len(parts) != 1:
                return hint, is_person
            hint = parts[0]
        else:
            return hint, is_person


def _is_optional(hint: Any) -> bool:
    inner = get_args(hint)[0] if get_origin(hint) is Annotated else hint
    return get_origin(inner) in (Union, UnionType) and NoneType in get_args(inner)


def reduce_result(
    result: Any, unseen: Collection[str], people: Collection[str] = (), known: dict[str, Told] | None = None
) -> Reduced:
    """Return a result without the unseen; of the same types, so that every face can tell it.

    None is left of what is about one of them as a whole.

    Parameters
    ----------
    result : dataclass
        Its fields say in their types which of them hold ids of people.
    unseen : collection of str
        Ids of all people that may not be told of.
    people : collection of str
        Ids of those that may: who of them is told of is said.
    known : dict, optional
        Kept for the same `unseen` and `people`: how texts of other results were told.

    Notes
    -----
    O(size of the answer).
    """
    if not unseen and not people:
        return Reduced(result)
    reducer = _Reducer(unseen, people, {} if known is None else known)
    reduced = reducer.reduce_record(result)
    return Reduced(None if reduced is _GONE else reduced, frozenset(reducer.gone), frozenset(reducer.told))


def reduce_text(sentence: str, unseen: Collection[str]) -> str:
    """Return a sentence with "someone" in place of the id of each of the unseen."""
    return _tell(sentence, unseen, ())[0]
