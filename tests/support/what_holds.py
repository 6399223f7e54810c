"""What holds in a team on a day, put together from the answers of coverage and staffing and nothing else."""

from __future__ import annotations

from collections import Counter
from datetime import date

from small_company import ON

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.places.staffing import compute_staffing
from ontology.snapshot.snapshot import Snapshot

Holds = tuple[set[tuple[object, ...]], Counter[str], Counter[tuple[object, ...]]]


def get_holding(snapshot: Snapshot, team_id: str, away: frozenset[str] = frozenset(), on: date = ON) -> Holds:
    """Return the needs that are not short, and the filled slots of each place and group, as the answers say."""
    needs = set()
    for row in compute_coverage(snapshot, team_id, on, away).needs:
        for depth, shift in [(s.depth, s.shift) for s in row.shifts] or [(row.depth, row.shift)]:
            if depth >= row.minimum:
                needs.add((row.competency, row.level, row.applies, shift))
    staffing = compute_staffing(snapshot, team_id, on, away)
    groups = Counter((need.competency, need.level, need.shift, need.together) for need in staffing.together_assignment)
    return needs, Counter(row.place for row in staffing.assignment), groups
