"""On which days a person must hold what: runs of several obligations together, with days of grace. Pure.

From the `days_after`-th day of a run on (0: the first) the person must hold what the obligation asks. Days of grace are
for newcomers: on a day after one on which the same competency had to be held at that level, by whatever obligation,
there is none, so that the grace of a second obligation opens no hole behind the first. Nor has a run whose beginning is
not known any.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ontology.analysis.obligations.bound import Key, find_runs, get_keys
from ontology.analysis.obligations.spans import BEFORE, Span, Spans, has_day, merge
from ontology.model.work_records import Obligation
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MustHold", "find_must_hold"]


@dataclass(frozen=True, slots=True)
class _Asking:
    """What one obligation asks: days past any grace, and days of grace."""

    obligation: Obligation
    asked: tuple[Span, ...]
    grace: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class MustHold:
    """The days on which a person must hold a competency at a level, and who asks for it."""

    days: Spans
    _asking: tuple[_Asking, ...]

    def get_obligations(self, first: int, last: int) -> tuple[Obligation, ...]:
        """Return the obligations that ask for it on some day from the first to the last, by id."""
        return tuple([one.obligation for one in self._asking if self._asks(one, first, last)])

    def _asks(self, one: _Asking, first: int, last: int) -> bool:
        if has_day(one.asked, first, last):
            return True
        # in its grace an obligation asks where it had to be held the day before
        days = ((max(a, first), min(b, last)) for a, b in one.grace)
        return any(a <= b and has_day(self.days, a - 1, b - 1) for a, b in days)


def find_must_hold(snapshot: Snapshot, person_id: str) -> dict[Key, MustHold]:
    """Return what a person must hold on some day, by competency and level.

    O(spells of belonging x obligations + runs log runs).
    """
    found: dict[Key, list[_Asking]] = {}
    for obligation, runs in find_runs(snapshot, person_id):
        asking = _find_asking(obligation, runs)
        for key in get_keys(snapshot, obligation):
            found.setdefault(key, []).append(asking)
    return {key: MustHold(_join(asking), tuple(asking)) for key, asking in found.items()}


def _find_asking(obligation: Obligation, runs: Spans) -> _Asking:
    days = obligation.days_after
    if not days:
        return _Asking(obligation, runs, ())
    begun = [(first, last, last if first == BEFORE else min(first + days - 1, last)) for first, last in runs]
    asked = [(first if first == BEFORE else end + 1, last) for first, last, end in begun]
    grace = [(first, end) for first, _, end in begun if first != BEFORE]
    return _Asking(obligation, tuple([span for span in asked if span[0] <= span[1]]), tuple(grace))


def _join(asking: Iterable[_Asking]) -> Spans:
    """Return the days asked by all together; grace ends where it follows on a day that was asked."""
    rows = list(asking)
    days = merge(span for one in rows for span in one.asked)
    if len(rows) == 1:
        return days  # between two runs of one obligation lies a day on which it does not bind
    graces = [span for one in rows for span in one.grace]
    while True:
        more = [cut for grace in graces if (cut := _cut(grace, days))]
        longer = merge([*days, *more])
        if longer == days:
            return days
        days = longer


def _cut(grace: Span, days: Spans) -> Span | None:
    """Return those days of a grace that follow on a day that had to be held, or on one of themselves that does."""
    first = min((max(a, grace[0] - 1) for a, b in days if a < grace[1] and b >= grace[0] - 1), default=None)
    return None if first is None else (first + 1, grace[1])
