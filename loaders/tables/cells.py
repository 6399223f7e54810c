"""From the text of a cell to a value of a column, or the reason why not."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache, partial
from typing import Any, Final

from loaders import limits
from ontology.errors import shorten
from ontology.model.columns import ID_PATTERN, Column
from ontology.model.several import split_values
from ontology.rdf.terms import is_safe_iri

_INTEGER: Final = re.compile(r"[+-]?\d+(\.0*)?")
_NUMBER: Final = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}")
_HARDLY_REPEATED: Final = ("id", "text", "texts", "iri", "iris")
_VALUES_KEPT: Final = 1 << 15
_LARGEST: Final = 10**9
#: Characters that no text has: XML cannot hold them, and terminals obey some of them.
_UNFIT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
#: What a spreadsheet writes, into CSV too, where a formula failed.
_ERROR_VALUE: Final = re.compile(r"#(REF!|N/A|VALUE!|DIV/0!|NAME\?|NUM!|NULL!|SPILL!|CALC!)|Err:[0-9]{3}")
_FLAGS: Final = {"yes": True, "true": True, "1": True, "no": False, "false": False, "0": False}


class CellError(ValueError):
    """A cell cannot be read as its column says; the text is the reason."""


@dataclass(frozen=True, slots=True)
class FaultyCell:
    """A cell whose reader already knows what is wrong: the text shown, and the reason."""

    value: str
    reason: str


def format_cell(value: object) -> str:
    """Return the text of a cell as a spreadsheet reader hands it over.

    Whole floats lose their point, dates become ISO text, so that one set of rules reads CSV and workbooks.
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(sep=" ")
    if isinstance(value, date):
        return value.isoformat()
    return value.value if isinstance(value, FaultyCell) else str(value)


def parse_cell(column: Column, text: str) -> Any:
    """Return the value of a non-empty cell.

    Raises
    ------
    CellError
        It is not what the column holds; the message says what would be right.
    """
    value = _PARSERS[column.kind](column, text)
    if column.minimum is not None and column.kind in ("integer", "number"):
        if value < column.minimum:
            raise CellError(f"must be at least {column.minimum:g}")
        if column.maximum is not None and value > column.maximum:
            raise CellError(f"must be at most {column.maximum:g}")
    return value


def make_parser(column: Column) -> Callable[[str], Any]:
    """Return `parse_cell` of one column; where values repeat, a text that comes again gives the same object again.

    A table of many rows names few people, days and levels: it is read faster so, and its records share them.
    """
    parse = partial(parse_cell, column)
    return parse if column.kind in _HARDLY_REPEATED else lru_cache(_VALUES_KEPT)(parse)


def _parse_id(column: Column, text: str) -> str:
    require_fit(text)
    if not ID_PATTERN.fullmatch(text):
        raise CellError("not a valid id; use letters, digits, point, hyphen and underscore, first a letter or digit")
    return text


def require_fit(text: str) -> None:
    """Raise CellError when a text cannot stand in every kind of file that is written."""
    if len(text) > limits.MAX_TEXT_CHARACTERS:
        raise CellError(f"too long: {len(text):,} characters; at most {limits.MAX_TEXT_CHARACTERS:,} fit")
    unfit = _UNFIT.search(text)
    if unfit is not None:
        raise CellError(f"contains the character U+{ord(unfit[0]):04X}, which cannot be part of a text; remove it")
    if _ERROR_VALUE.fullmatch(text):
        raise CellError("the result of a failed formula; correct the formula")


def make_printable(text: str) -> str:
    """Return a text on one line, with what a terminal obeys or cannot print written out, for a finding's address."""
    return _UNFIT.sub(lambda match: f"\\u{ord(match[0]):04x}", text.replace("\r", " ").replace("\n", " "))


def _parse_text(column: Column, text: str) -> str:
    require_fit(text)
    return text


def _parse_ids(column: Column, text: str) -> tuple[str, ...]:
    return tuple(_parse_id(column, part) for part in split_values(text))


def _parse_texts(column: Column, text: str) -> tuple[str, ...]:
    require_fit(text)
    return tuple(split_values(text))


def _parse_iris(column: Column, text: str) -> tuple[str, ...]:
    require_fit(text)
    return tuple(_parse_iri(column, part) for part in split_values(text))


def _parse_iri(column: Column, text: str) -> str:
    require_fit(text)
    if not is_safe_iri(text):
        raise CellError(f"{shorten(text)!r} is not an absolute IRI (RFC 3987)")
    return text


def _parse_integer(column: Column, text: str) -> int:
    if not _INTEGER.fullmatch(text):
        raise CellError("not a whole number")
    digits = text.split(".")[0]
    # judged by its length first: very many digits take the square of the time, and Python refuses them
    if len(digits.lstrip("+-0")) > len(str(_LARGEST)) or abs(number := int(digits)) > _LARGEST:
        raise CellError("too large")
    return number


def _parse_number(column: Column, text: str) -> float:
    if not _NUMBER.fullmatch(text):
        hint = "; write decimals with a point" if re.fullmatch(r"[+-]?\d+,\d+", text) else ""
        raise CellError(f"not a number{hint}")
    number = float(text)
    if not math.isfinite(number) or abs(number) > _LARGEST:
        raise CellError("too large")
    return number


def _parse_flag(column: Column, text: str) -> bool:
    try:
        return _FLAGS[text.lower()]
    except KeyError:
        raise CellError("must be yes or no") from None


def _parse_date(column: Column, text: str) -> date:
    if _DATE.fullmatch(text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            raise CellError("not a valid date: the calendar has no such day") from None
    raise CellError("not a valid date; write it as 2026-11-24")


def _parse_choice(column: Column, text: str) -> str:
    if text.lower() not in column.choices:
        raise CellError(f"must be one of {', '.join(column.choices)}")
    return text.lower()


_PARSERS: Final[dict[str, Callable[[Column, str], Any]]] = {
    "id": _parse_id,
    "ref": _parse_id,
    "refs": _parse_ids,
    "text": _parse_text,
    "texts": _parse_texts,
    "iri": _parse_iri,
    "iris": _parse_iris,
    "integer": _parse_integer,
    "number": _parse_number,
    "flag": _parse_flag,
    "date": _parse_date,
    "choice": _parse_choice,
}
