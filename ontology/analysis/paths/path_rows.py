"""What becomes of every requirement on a path: what reaches it, or why nothing does; and readiness. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

from ontology.analysis.paths.catalogue import Offer
from ontology.analysis.paths.path_courses import is_refreshed
from ontology.analysis.profiles.gap import compute_readiness
from ontology.analysis.profiles.profile import Profile, count_levels
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

__all__ = ["RequirementRow", "RequirementState", "build_requirement_rows", "get_readiness"]

RequirementState = Literal["held", "reached", "lapses", "left-out", "unreachable", "beyond-budget", "not-asked"]


@dataclass(frozen=True, slots=True)
class RequirementRow:
    """One requirement and what the path does for it.

    `have` is None where it was never assessed (it counts as 0). `reached` is the level after the path, booked courses
    included; `reached_by` the course that brings it there, None where the level was there before; `by_refresher`
    whether that course only renews. `state`: "held" before the path; "reached" by it; "lapses": held or reached, and
    lost again on its last day; "left-out": the course that brings it is no part of the plan; "unreachable" by any
    courses; "beyond-budget"; "not-asked": desirable, and not asked for.
    """

    competency: Annotated[str, "Id of the competency."]
    level: Annotated[int, "The level asked: the full one, or the one of the first day where the path leads there."]
    have: Annotated[int | None, "The level that counts now; null where it was never assessed."]
    reached: Annotated[int, "The level on the last day, booked courses included."]
    reached_by: Annotated[str | None, "Id of the course that brings it there; null where it was there before."]
    by_refresher: Annotated[bool, "Whether that course only renews what lapsed."]
    state: Annotated[
        RequirementState,
        "held before; reached by the path; lapses: held or reached, and lost again on the last day; "
        "left-out: the course that brings it would end after the person's last day; unreachable by "
        "any courses; beyond-budget; not-asked: desirable only.",
    ]
    necessity: Annotated[str, "How necessary."]
    weight: Annotated[float, "Importance, 1 to 5."]
    is_target: Annotated[bool, "Whether the path is asked to reach it."]


def build_requirement_rows(
    snapshot: Snapshot,
    requirements: Iterable[Requirement],
    profile: Profile,
    offers: Sequence[Offer],
    *,
    targets: Mapping[str, int],
    unreachable: Iterable[str],
    unassessed: frozenset[str],
) -> tuple[RequirementRow, ...]:
    """Return a row for each requirement, by competency id.

    Parameters
    ----------
    requirements : iterable of Requirement
    offers : sequence of Offer
        The path with its booked courses, in order.
    targets : Mapping of competency id to level
    unreachable : iterable of str
        Targets that no courses reach.
    """
    lost = frozenset(unreachable)
    held = count_levels(snapshot, profile.levels)
    rows = []
    for requirement in sorted(requirements, key=lambda r: r.competency):
        i = requirement.competency
        reached, giver = max(profile.get(i), held.get(i, 0)), None
        for offer in offers:
            for j, level in offer.effects:
                if j == i and level > reached:
                    reached, giver = level, offer.id
        is_target = i in targets
        state: RequirementState = "held"
        if held.get(i, 0) < requirement.level:
            if reached >= requirement.level:
                state = "reached"
            elif not is_target:
                state = "not-asked"
            else:
                state = "unreachable" if i in lost else "beyond-budget"
        rows.append(
            RequirementRow(
                competency=i,
                level=requirement.level,
                have=None if i in unassessed else held.get(i, 0),
                reached=reached,
                reached_by=giver,
                by_refresher=giver is not None and is_refreshed(snapshot, giver, i, reached),
                state=state,
                necessity=requirement.necessity,
                weight=requirement.weight,
                is_target=is_target,
            )
        )
    return tuple(rows)


def get_readiness(requirements: Iterable[Requirement], levels: Mapping[str, int]) -> float | None:
    """Return the readiness of a role's requirements at these levels, as the gap counts it; None without any."""
    return compute_readiness((r.level, levels.get(r.competency, 0), r.weight) for r in requirements)
