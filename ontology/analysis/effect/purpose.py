"""Which courses have a purpose: what they teach is asked for somewhere, or leads to a course that has one. Pure."""

from __future__ import annotations

from ontology.snapshot.snapshot import Snapshot

__all__ = ["find_courses_with_purpose"]


def find_courses_with_purpose(snapshot: Snapshot) -> frozenset[str]:
    """Return the courses one of whose outcomes meets something that is asked for.

    An outcome of a level, a renewing one too, meets a requirement on its competency at the requirement's lowest level
    above 0, a cover need, or an entry condition of a course that has a purpose itself, where these ask for at most that
    level. The least such set: courses that ask only for each other have none.

    Returns
    -------
    frozenset of str
        Course ids; kept with the Snapshot.

    Notes
    -----
    O(requirements + needs + outcomes + entry conditions): a level that is asked for falls at most once for each level.
    """
    return snapshot.keep("courses with a purpose", lambda: _find(snapshot))


def _find(snapshot: Snapshot) -> frozenset[str]:
    asked = [
        (row.competency, min(level for level in (row.level, row.entry_level, row.unsupervised_level) if level))
        for row in snapshot.get_table("requirements").values()
    ]
    asked += [(row.competency, row.level) for row in snapshot.get_table("cover_needs").values()]
    lowest: dict[str, int] = {}
    found: set[str] = set()
    while asked:
        competency_id, level = asked.pop()
        known = lowest.get(competency_id)
        if known is not None and known <= level:
            continue
        lowest[competency_id] = level
        for outcome in snapshot.get_outcomes_of_competency(competency_id):
            if outcome.level >= level and outcome.course not in found:
                found.add(outcome.course)
                asked += [(row.competency, row.level) for row in snapshot.get_entry_conditions(outcome.course)]
    return frozenset(found)
