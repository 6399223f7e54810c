"""On which days a person meets a level, by what is dated up to a day. Pure.

Met is what `Ways.is_met` says. For competencies that neither hang on others nor are held by what counts as them it is
read off the assessments at once; a test holds the two to the same answer.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final

from ontology.analysis.obligations.spans import LAST, Span, Spans, make_span, merge
from ontology.analysis.profiles.levels import find_days_of_change, find_ways, get_linked
from ontology.model.records import Competency
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_met", "leave_out_later"]

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
        rows = snapshot.get_table("assessments").values()
        later = [row for row in rows if row.date > on]
    else:
        later = [row for i in people for row in snapshot.get_assessments(i) if row.date > on]
    if not later:
        return snapshot
    get_key = TABLES["assessments"].get_key
    return snapshot.with_changes(remove=[("assessments", get_key(row)) for row in later])


def find_met(known: Snapshot, person_id: str, competency: Competency, level: int) -> Spans:
    """Return the days on which a person meets a level of a competency.

    Parameters
    ----------
    known : Snapshot
        Without what is not to count; see `leave_out_later`.

    Notes
    -----
    O(assessments of the pair), or of all that the level rests on.
    """
    if competency.id not in get_linked(known):
        rows = known.get_assessments(person_id, competency.id)
        if not rows:
            return ()
        if competency.is_certificate or len(rows) == 1:
            sources = ("certificate",) if competency.is_certificate else _COUNTED
            return merge(
                make_span(row.date, row.valid_until)
                for row in rows
                if row.level >= level and row.source in sources and row.withdrawn_on is None
            )
    return _find_by_ways(known, person_id, competency, level)


def _find_by_ways(known: Snapshot, person_id: str, competency: Competency, level: int) -> Spans:
    """Return the same by asking once between any two days on which something changes."""
    found: list[Span] = []
    turns = find_days_of_change(known, person_id, competency)
    for i, day in enumerate(turns):
        if find_ways(known, person_id, competency, day).is_met(level):
            found.append((day.toordinal(), turns[i + 1].toordinal() - 1 if i + 1 < len(turns) else LAST))
    return merge(found)
