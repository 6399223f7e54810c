"""The kinds of values a parameter can have: how each is read from a text, and how a text of it looks.

A parameter's kind follows from the type of its field: `int`, `float`, `bool`, `date`, `tuple[date, ...]`,
`Literal[...]`, and the id types below. Reading is strict: a text that is no value of the kind is a ValueError that
says what would be right.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from ontology.model.columns import ID_PATTERN

#: Larger numbers fit neither an int64 count of minutes nor any sense.
LARGEST: Final = 1_000_000_000

_WHOLE: Final = re.compile(r"-?[0-9]{1,18}")
#: As many places as the shortest text of a number has that is written without an exponent: 0.0001 and 16 digits more.
_DECIMAL: Final = re.compile(r"-?[0-9]{1,18}(\.[0-9]{1,20})?")
_ISO_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_FLAGS: Final = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


#: The word for one record of a table.
WORDS: Final = {
    "competencies": "competency",
    "roles": "role",
    "people": "person",
    "courses": "course",
    "teams": "team",
    "places": "place",
    "sessions": "session",
}


@dataclass(frozen=True, slots=True)
class Kind:
    """What values a parameter can have; it stands beside the type of a field where that does not say it.

    `name` is whole, number, flag, date, dates, choice, id, ids, pairs, state, outside, words or text; `choices` are the
    words of a choice, `table` is that of an id or of ids. Of pairs it is that of the first id; the second, a place, may
    be left out. Words are lists of them, which a command reads from a folder.
    """

    name: str
    choices: tuple[str, ...] = ()
    table: str = ""


#: What names a state of the store; an outside framework.
StateText = Annotated[str, Kind("state")]
OutsideId = Annotated[str, Kind("outside")]
WordsText = Annotated[str, Kind("words")]
CompetencyId = Annotated[str, Kind("id", table="competencies")]
RoleId = Annotated[str, Kind("id", table="roles")]
PersonId = Annotated[str, Kind("id", table="people")]
TeamId = Annotated[str, Kind("id", table="teams")]
RoleIds = Annotated[frozenset[str], Kind("ids", table="roles")]
CourseIds = Annotated[frozenset[str], Kind("ids", table="courses")]
TeamIds = Annotated[frozenset[str], Kind("ids", table="teams")]
PersonIds = Annotated[frozenset[str], Kind("ids", table="people")]
PlaceIds = Annotated[frozenset[str], Kind("ids", table="places")]
PersonPlaces = Annotated[frozenset[tuple[str, str | None]], Kind("pairs", table="people")]


def parse_whole(text: str, minimum: float = -LARGEST, maximum: float = LARGEST) -> int:
    """Return the whole number of a text; ValueError says what would be right."""
    if not _WHOLE.fullmatch(text) or not minimum <= int(text) <= maximum:
        raise ValueError(f"must be a whole number{_tell_bounds(minimum, maximum)}")
    return int(text)


def parse_number(text: str, minimum: float = -LARGEST, maximum: float = LARGEST) -> float:
    """Return the number of a text; ValueError says what would be right."""
    if not _DECIMAL.fullmatch(text) or not minimum <= float(text) <= maximum or not math.isfinite(float(text)):
        raise ValueError(f"must be a number{_tell_bounds(minimum, maximum)}, like 12 or 12.5")
    return float(text)


def _tell_bounds(minimum: float, maximum: float) -> str:
    """Return in words between what a number lies; a bound that only keeps numbers sane is not told."""
    if maximum < LARGEST:
        return f" from {minimum:,.15g} to {maximum:,.15g}"
    return f" of at least {minimum:,.15g}" if minimum > -LARGEST else ""


def parse_flag(text: str) -> bool:
    """Return the truth of a text; ValueError says what would be right."""
    if text not in _FLAGS:
        raise ValueError("must be yes or no")
    return _FLAGS[text]


def parse_date(text: str) -> dt.date:
    """Return the date of an ISO 8601 text YYYY-MM-DD; ValueError says what would be right."""
    if not _ISO_DATE.fullmatch(text):
        raise ValueError("must be a date like 2026-11-24")
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise ValueError("must be a valid date") from None


def parse_dates(text: str) -> tuple[dt.date, ...]:
    """Return the days of a text, separated by commas, sorted, each once; empty for none."""
    try:
        return tuple(sorted({parse_date(part) for part in text.split(",")})) if text else ()
    except ValueError:
        raise ValueError("must be dates separated by commas, like 2026-12-24,2026-12-25") from None


def parse_id(text: str) -> str:
    """Return a text that is an id; ValueError says what would be right."""
    if not ID_PATTERN.fullmatch(text):
        raise ValueError("must be an id")
    return text


def parse_ids(text: str) -> frozenset[str]:
    """Return the ids of a text, separated by commas; empty for none."""
    ids = text.split(",") if text else []
    if not all(ID_PATTERN.fullmatch(part) for part in ids):
        raise ValueError("must be ids separated by commas")
    return frozenset(ids)


def parse_pairs(text: str) -> frozenset[tuple[str, str | None]]:
    """Return the pairs of a text like ``p1,p2:desk``; ValueError says what would be right."""
    found = set()
    for part in text.split(",") if text else []:
        one, colon, other = part.partition(":")
        if not ID_PATTERN.fullmatch(one) or (colon and not ID_PATTERN.fullmatch(other)):
            raise ValueError("must be ids separated by commas, each with or without a place: p1,p2:desk")
        found.add((one, other if colon else None))
    return frozenset(found)


def parse_state(text: str) -> str:
    """Return a text that may name a state; ValueError says what would be right."""
    if not text.strip():
        raise ValueError("must be a revision (a number), a day like 2026-11-24, a release, outside:ID or now")
    return text.strip()


def parse_words(text: str) -> str:
    """Return a text of lists of words; ValueError says what would be right."""
    from ontology.analysis.health.word_lists import parse_word_lists  # brings numpy

    parse_word_lists(text)
    return text


def parse_choice(text: str, choices: Iterable[str]) -> str:
    """Return a text that is one of some words; ValueError says which."""
    known = tuple(choices)
    if text not in known:
        raise ValueError(f"must be one of {', '.join(known)}")
    return text


_PLAIN: Final[dict[Any, str]] = {int: "whole", float: "number", bool: "flag", dt.date: "date", str: "text"}


def find_kind(hint: Any) -> Kind:
    """Return the kind of a field's type; TypeError where no parameter can have it."""
    if get_origin(hint) in (Union, UnionType):
        (hint,) = [part for part in get_args(hint) if part is not NoneType]
    if get_origin(hint) is Annotated:
        kind = next((mark for mark in get_args(hint)[1:] if isinstance(mark, Kind)), None)
        if kind is not None:
            return kind
        hint = get_args(hint)[0]
    if get_origin(hint) is Literal:
        return Kind("choice", choices=tuple(get_args(hint)))
    if hint == tuple[dt.date, ...]:
        return Kind("dates")
    if hint in _PLAIN:
        return Kind(_PLAIN[hint])
    raise TypeError(f"no parameter can be of the type {hint!r}")


@cache
def get_parser(kind: Kind, minimum: float, maximum: float) -> Callable[[str], Any]:
    """Return what reads a text as a value of a kind; it raises ValueError."""
    if kind.name == "choice":
        return lambda text: parse_choice(text, kind.choices)
    if kind.name == "whole":
        return lambda text: parse_whole(text, minimum, maximum)
    if kind.name == "number":
        return lambda text: parse_number(text, minimum, maximum)
    parsers: dict[str, Callable[[str], Any]] = {
        "flag": parse_flag,
        "date": parse_date,
        "dates": parse_dates,
        "id": parse_id,
        "ids": parse_ids,
        "pairs": parse_pairs,
        "state": parse_state,
        "outside": parse_id,
        "words": parse_words,
        "text": str,
    }
    return parsers[kind.name]


def format_value(value: Any) -> str:
    """Return the text of an address that asks for a value.

    Examples
    --------
    >>> format_value(frozenset({"p2", "p1"})), format_value(40.0), format_value(True)
    ('p1,p2', '40', 'yes')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.12g}"
    if isinstance(value, frozenset):
        parts = (one if isinstance(one, str) else ":".join(filter(None, one)) for one in value)
        return ",".join(sorted(parts))
    if isinstance(value, tuple):
        return ",".join(map(format_value, value))
    return str(value)
