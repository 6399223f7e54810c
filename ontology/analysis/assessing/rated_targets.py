"""What several assessors rated: one competency of one person, each assessor's latest rating in some time. Pure."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from typing import Final

from ontology.model.records import Assessment
from ontology.snapshot.snapshot import Snapshot

__all__ = ["WITHIN_DAYS", "RatedTarget", "find_targets"]

#: Ratings that lie further apart may differ because the person does.
WITHIN_DAYS: Final = 30


@dataclass(frozen=True, slots=True)
class RatedTarget:
    """A person in a competency, and what each assessor rated last, by the assessor's id."""

    person: str
    competency: str
    ratings: tuple[Assessment, ...]

    @property
    def levels(self) -> tuple[int, ...]:
        """The levels, in the order of assessors."""
        return tuple([rating.level for rating in self.ratings])

    @property
    def assessors(self) -> tuple[str, ...]:
        """Who rated, by id."""
        return tuple([rating.assessor for rating in self.ratings])


def find_targets(snapshot: Snapshot, from_date: date, until: date) -> list[RatedTarget]:
    """Return what two or more assessors rated in some time, all within 30 days, by competency and person.

    Ratings of source assessor that name who assessed and have not been taken back; of each assessor the latest, of two
    on one day the lower, as levels count. O(assessments).
    """
    latest: defaultdict[tuple[str, str], dict[str, Assessment]] = defaultdict(dict)
    for row in snapshot.get_table("assessments").values():
        if row.source == "assessor" and row.assessor and row.withdrawn_on is None and from_date <= row.date <= until:
            known = latest[row.competency, row.person]
            before = known.get(row.assessor)
            if before is None or (row.date, -row.level) > (before.date, -before.level):
                known[row.assessor] = row
    targets = []
    for (competency, person), known in sorted(latest.items()):
        ratings = tuple([known[assessor] for assessor in sorted(known)])
        days = [rating.date for rating in ratings]
        if len(ratings) > 1 and (max(days) - min(days)).days <= WITHIN_DAYS:
            targets.append(RatedTarget(person, competency, ratings))
    return targets
