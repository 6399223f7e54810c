"""Further paths to the same targets: the next-best sets of courses, and the courses no path does without. Pure.

A set of courses counts where none can be left out. Such a set never holds another such set; so the cheapest path that
does not hold all courses of the best one is the second best, and so on: one row for each path found (for the principle
see Lawler 1972, Management Science 18, "A procedure for computing the K best solutions to discrete optimization
problems").
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated

from ontology.analysis.paths.catalogue import Offer
from ontology.analysis.paths.path_problem import PathSolver, get_totals
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Alternative", "find_alternatives"]


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another set of courses for the same targets, of which none can be left out.

    `courses` in an order one can take, booked ones in between; `left_out` and `added` compare with the best path. What
    is `more_...` than the best path's is below 0 where it is less. `is_proved`: none that is not listed before it costs
    less in the aim.
    """

    courses: Annotated[tuple[str, ...], "Ids of its courses, in an order that can be taken."]
    left_out: Annotated[tuple[str, ...], "Courses of the path that it does without."]
    added: Annotated[tuple[str, ...], "Courses that it has instead."]
    study_hours: Annotated[float, "Hours of the learner."]
    coach_hours: Annotated[float, "Hours of coaches."]
    cost: Annotated[float, "Cost."]
    weeks: Annotated[float, "Sum of its courses' weeks."]
    more_hours: Annotated[float, "More than the path; below 0 where it is less."]
    more_coach_hours: Annotated[float, "More than the path."]
    more_cost: Annotated[float, "More than the path."]
    more_weeks: Annotated[float, "More than the path."]
    is_proved: Annotated[bool, "Whether nothing that is not listed before it costs less in the aim."]


def find_alternatives(
    snapshot: Snapshot, solver: PathSolver, best: Sequence[Offer], count: int, *, is_proved: bool
) -> tuple[Alternative, ...]:
    """Return the next-best sets of courses after the best.

    Parameters
    ----------
    best : sequence of Offer
        The best path's new courses.
    count : int
        How many; there may be fewer.
    is_proved : bool
        Whether the best path is proved.

    Notes
    -----
    One problem for each alternative, with a row for each path before it. Ends at the solver's deadline.
    """
    known = [frozenset(offer.id for offer in best)]
    found: list[Alternative] = []
    while len(found) < count and all(known) and not solver.deadline.is_over():
        plan = solver.solve_apart(known)
        if plan is None or plan.value is None:
            break
        offers = [offer for offer, _ in plan.order]
        is_proved = is_proved and plan.is_proved
        known.append(frozenset(offer.id for offer in offers))
        found.append(_describe(snapshot, best, offers, is_proved, solver.problem.pace))
    return tuple(found)


def _describe(
    snapshot: Snapshot, best: Sequence[Offer], offers: Sequence[Offer], is_proved: bool, pace: float
) -> Alternative:
    own, other = {offer.id for offer in offers}, {offer.id for offer in best}
    minutes, cents, coach, weeks = _add_up(snapshot, offers, pace)
    least_minutes, least_cents, least_coach, least_weeks = _add_up(snapshot, best, pace)
    return Alternative(
        courses=tuple(offer.id for offer in offers),
        left_out=tuple(sorted(other - own)),
        added=tuple(sorted(own - other)),
        study_hours=minutes / 60,
        coach_hours=coach / 60,
        cost=cents / 100,
        weeks=float(weeks),
        more_hours=(minutes - least_minutes) / 60,
        more_coach_hours=(coach - least_coach) / 60,
        more_cost=(cents - least_cents) / 100,
        more_weeks=float(weeks - least_weeks),
        is_proved=is_proved,
    )


def _add_up(snapshot: Snapshot, offers: Sequence[Offer], pace: float) -> tuple[int, int, int, Fraction]:
    minutes, cents, weeks = get_totals(offers, ("hours", "cost", "weeks"), pace)
    coach = sum(round(snapshot.courses[offer.id].coach_hours * 60) for offer in offers)
    return int(minutes), int(cents), coach, weeks
