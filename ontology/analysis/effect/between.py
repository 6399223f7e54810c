"""Two states between which something changed. Pure."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from ontology.analysis.effect.why import Reasons
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Between"]


@dataclass(frozen=True, slots=True)
class Between:
    """A state before and one after it, each judged on a day of its own.

    `since` is how the state before was named; `reasons` tell in words what became of records between the two.
    """

    before: Snapshot
    after: Snapshot
    before_on: dt.date
    on: dt.date
    since: str
    reasons: Reasons
