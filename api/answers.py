"""From frozen results to plain JSON-ready values: one rule for every answer. Imports nothing of ours.

Field names are the JSON keys. Dates become ISO 8601 text, tuples lists, sets sorted lists; numbers stay numbers.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import math
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from functools import cache
from typing import Any, Final

#: What stands in JSON as it is; looked at first, since most values of an answer are of these.
_PLAIN: Final = frozenset({str, int, bool, type(None)})
_encode: Final = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


@cache
def _get_names(kind: type) -> tuple[str, ...] | None:
    """Return the field names of a dataclass; None where a type is none."""
    return tuple(field.name for field in dataclasses.fields(kind)) if dataclasses.is_dataclass(kind) else None


def to_json(value: Any) -> Any:
    """Return `value` as dicts, lists, text, numbers, booleans and None.

    A number that JSON cannot hold (infinite, not a number) becomes None. O(size of the value).

    Raises
    ------
    TypeError
        A value of a kind no answer holds.

    Examples
    --------
    >>> to_json({"on": dt.date(2026, 1, 31), "away": frozenset({"p2", "p1"}), "hours": 2.5})
    {'on': '2026-01-31', 'away': ['p1', 'p2'], 'hours': 2.5}
    """
    kind: Any = type(value)
    if kind in _PLAIN:
        return value
    if kind is float:
        return value if math.isfinite(value) else None
    if kind is tuple or kind is list:
        return [item if type(item) in _PLAIN else to_json(item) for item in value]
    names = _get_names(kind)
    if names is not None:
        return {name: item if type(item := getattr(value, name)) in _PLAIN else to_json(item) for name in names}
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {str(key): to_json(item) for key, item in value.items()}
    if isinstance(value, AbstractSet):
        return sorted(to_json(item) for item in value)
    if isinstance(value, list | tuple):
        return [to_json(item) for item in value]
    if isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    raise TypeError(f"an answer cannot hold a {kind.__name__}")


def dump_json(value: Any) -> bytes:
    """Return JSON text as UTF-8 (RFC 8259), the same bytes for the same value; never NaN or Infinity.

    A member of an object stands on a line, and so does a row of a list: to be read by people, and one or two of the
    fast encoder's calls for each line.

    Examples
    --------
    >>> print(dump_json({"team": "t", "needs": [{"level": 1}, {"level": 2}], "away": []}).decode(), end="")
    {
     "team": "t",
     "needs": [
      {"level": 1},
      {"level": 2}
     ],
     "away": []
    }
    """
    return (_lay_out(value, "\n", 2) + "\n").encode()


def _lay_out(value: Any, line: str, depth: int) -> str:
    """Return JSON text whose outer containers are laid out in lines, `depth` of them within each other."""
    if not depth or not value or not isinstance(value, dict | list):
        return _encode(value)
    inner = line + " "
    if isinstance(value, list):
        return f"[{inner}" + f",{inner}".join(map(_encode, value)) + f"{line}]"
    members = (f"{_encode(name)}: {_lay_out(item, inner, depth - 1)}" for name, item in value.items())
    return f"{{{inner}" + f",{inner}".join(members) + f"{line}}}"
