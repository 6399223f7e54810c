"""What a case of a collection of records is: what the tests of the REST API make, replace, break and look for."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Case:
    """One collection: a new record, its id, what replaces it, one wrong member, and who refers to a present one."""

    path: str
    new: dict[str, Any]
    new_id: str
    replaced: dict[str, Any]
    wrong: dict[str, Any]
    pointer: str
    referred: str = ""
    referrer: str = ""
    filter: dict[str, Any] = field(default_factory=dict)
