"""On which days a person meets a level, by what is dated up to a day. Pure.

Met is what `Ways.is_met` says of a day. Here it is said of all days at once, as sets of days: what a person's own
assessments give, what counts as it, and the days on which nothing that it hangs on is missing. A test holds the two to
the same answer.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from typing import Final

from ontology.analysis.obligations.spans import BEFORE, LAST, Span, Spans, intersect, make_span, merge
from ontology.analysis.profiles.levels import get_linked
from ontology.analysis.profiles.own_levels import find_own_days, get_own_levels
from ontology.model.records import Assessment
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Evidence", "leave_out_later"]

_ALWAYS: Final[Spans] = ((BEFORE, LAST),)
_OF_CERTIFICATES: Final = ("certificate",)
_COUNTED: Final = ("certificate", "assessor", "manager")


def leave_out_later(snapshot: Snapshot, on: date, people: Iterable[str] | None = None) -> Snapshot:
    """Return the Snapshot without what was assessed after a day: by this, days after it are judged.

    Parameters
    ----------
    people : iterable of str or None
        Ids of those who are asked about; None: everyone.

    Notes
    -----
    O(assessments of these people); itself where nothing is left out.
    """
    if people is None:
        later = [row for row in snapshot.get_all("assessments").values() if row.date > on]
    else:
        rows = (row for i in people for row in snapshot.get_assessments(i))
        later = [snapshot.get_recorded_of(row) or row for row in rows if row.date > on]
    if not later:
        return snapshot
    get_key = TABLES["assessments"].get_key
    return snapshot.with_changes(remove=[("assessments", get_key(row)) for row in later])


class Evidence:
    """What a person's assessments show: on which days they meet a level.

    Parameters
    ----------
    known : Snapshot
        Without what is not to count; see `leave_out_later`.
    """

    __slots__ = ("_known", "_linked", "_person", "_rows")

    def __init__(self, known: Snapshot, person_id: str) -> None:
        self._known = known
        self._person = person_id
        self._linked = get_linked(known)
        self._rows: dict[str, list[Assessment]] = {}
        for row in known.get_assessments(person_id):
            if row.withdrawn_on is None:
                self._rows.setdefault(row.competency, []).append(row)

    @property
    def competencies(self) -> Collection[str]:
        """What the person was assessed in."""
        return self._rows.keys()

    def find_met(self, competency_id: str, level: int) -> Spans:
        """Return the days on which the person meets a level of a competency.

        O(assessments of the pair), or of all that the level rests on.
        """
        linked = self._linked.get(competency_id)
        if linked is None:
            return self._find_valid(competency_id, level)
        if not any(i in self._rows for i in linked):
            return ()
        standing = self._find_standing(linked)
        found = [*self._find_valid(competency_id, level)]
        for row in self._known.get_equivalences_to(competency_id):
            if row.as_level >= level:
                valid = intersect(self._find_valid(row.competency, row.level), standing[row.competency])
                found += intersect(valid, (make_span(row.from_date, row.to_date),))
        return intersect(merge(found), standing[competency_id])

    def _find_standing(self, ids: Iterable[str]) -> Mapping[str, Spans]:
        """Return the days on which nothing suspends each of some competencies: the least that hold."""
        standing: dict[str, Spans] = dict.fromkeys(ids, ())
        while True:
            before = dict(standing)
            for competency_id in standing:
                days = _ALWAYS
                for other in self._known.competencies[competency_id].holds_while:
                    days = intersect(days, self._find_held(other, standing)) if days else days
                standing[competency_id] = days
            if standing == before:
                return standing

    def _find_held(self, competency_id: str, standing: Mapping[str, Spans]) -> Spans:
        """Return the days on which a competency is held at any level, also where it is due for review."""
        found = [*self._find_levels(competency_id, 1)]
        for row in self._known.get_equivalences_to(competency_id):
            held = intersect(self._find_levels(row.competency, row.level), standing[row.competency])
            found += intersect(held, (make_span(row.from_date, row.to_date),))
        return intersect(merge(found), standing[competency_id])

    def _find_valid(self, competency_id: str, level: int) -> Spans:
        """Return the days on which the competency's own assessments give a level and are valid."""
        rows = self._rows.get(competency_id)
        if rows is None:
            return ()
        is_certificate = self._known.competencies[competency_id].is_certificate
        if not is_certificate and len(rows) > 1:
            return self._ask_own(competency_id, level, is_valid=True)
        sources = _OF_CERTIFICATES if is_certificate else _COUNTED
        spans = [make_span(row.date, row.valid_until) for row in rows if row.level >= level and row.source in sources]
        return merge(spans) if spans else ()

    def _find_levels(self, competency_id: str, level: int) -> Spans:
        """Return the days on which the competency's own assessments give a level, be they due for review."""
        competency, rows = self._known.competencies[competency_id], self._rows.get(competency_id)
        if rows is None or competency.expiry != "review":
            return self._find_valid(competency_id, level)
        if len(rows) > 1:
            return self._ask_own(competency_id, level, is_valid=False)
        (row,) = rows
        sources = _OF_CERTIFICATES if competency.is_certificate else _COUNTED
        return (make_span(row.date, None),) if row.level >= level and row.source in sources else ()

    def _ask_own(self, competency_id: str, level: int, *, is_valid: bool) -> Spans:
        """Return the same by asking once between any two days on which something changes."""
        competency = self._known.competencies[competency_id]
        found: list[Span] = []
        turns = [day for day in find_own_days(self._known, self._person, competency) if day <= LAST]
        for day, after in zip(turns, [*turns[1:], LAST + 1], strict=True):
            (held,) = get_own_levels(self._known, self._person, (competency,), date.fromordinal(day))
            if (held.level or 0) >= level and (held.state == "ok" or not is_valid):
                found.append((day, after - 1))
        return merge(found)
