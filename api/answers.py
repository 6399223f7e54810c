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
from typing import Any


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
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dt.date | dt.datetime):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_json(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): to_json(item) for key, item in value.items()}
    if isinstance(value, AbstractSet):
        return sorted(to_json(item) for item in value)
    if isinstance(value, list | tuple):
        return [to_json(item) for item in value]
    raise TypeError(f"an answer cannot hold a {type(value).__name__}")


def dump_json(value: Any) -> bytes:
    """Return JSON text as UTF-8 (RFC 8259), the same bytes for the same value; never NaN or Infinity."""
    return (json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1) + "\n").encode()
