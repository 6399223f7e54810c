"""What a confirmation would save: the path when a level that was never assessed turns out to be held. Pure.

The first act is to assess, not to train; this says where it pays most.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated

from ontology.analysis.paths.catalogue import Offer
from ontology.analysis.paths.path_problem import PathSolver
from ontology.snapshot.snapshot import Snapshot

__all__ = ["AssessSaving", "find_assess_savings"]


@dataclass(frozen=True, slots=True)
class AssessSaving:
    """A target that was never assessed, and what the path would be less if `level` were confirmed.

    The targets compared are those that can be reached now. `saved_hours` is None where there was no time to compute
    it, and may be below 0 where the aim is not hours. `is_proved`: both paths are. `assessment_hours` is what an
    assessment takes, where the competency says so.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level to be confirmed."]
    saved_hours: Annotated[float | None, "Study hours less; null where there was no time to compute it."]
    assessment_hours: Annotated[float | None, "Hours that an assessment takes, where it is told."]
    is_proved: Annotated[bool, "Whether both paths compared are proved."]


def find_assess_savings(
    snapshot: Snapshot,
    solver: PathSolver,
    best: Sequence[Offer],
    is_proved: bool,
    targets: Mapping[str, int],
    unassessed: frozenset[str],
) -> tuple[AssessSaving, ...]:
    """Return a row for each target never assessed: what saves most hours first, then by competency id.

    Parameters
    ----------
    best : sequence of Offer
        The new courses of the path to every target that can be reached, whatever the budget.
    is_proved : bool
        Whether it is proved.
    targets : Mapping of competency id to level

    Notes
    -----
    One path for each row whose target courses reach.
    """
    minutes = sum(offer.minutes for offer in best)
    rows = []
    for i in sorted(unassessed & targets.keys()):
        saved_hours, is_sure = None, False
        if not solver.deadline.is_over():
            plan = solver.solve_confirmed((i, targets[i]))
            saved_hours = (minutes - sum(offer.minutes for offer, _ in plan.order)) / 60
            is_sure = is_proved and plan.is_proved
        rows.append(AssessSaving(i, targets[i], saved_hours, snapshot.competencies[i].assessment_hours, is_sure))
    rows.sort(key=lambda row: (-(row.saved_hours or 0.0), row.competency))
    return tuple(rows)
