"""A cross-training plan in figures: hours, how many learn, what stays open and does not hold, and nobody by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final, TypeVar

from api.access.figures import HiddenFigure
from api.desk.names import Names, amount, count
from api.desk.sheet import Fact, Quantity, Table
from api.questions._words import describe_status
from api.questions.team._plan import show_after, show_unmet
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.analysis.training.plan_effect import PlanEffect

#: What would tell by the change of a few hours who learns how much.
REFUSED: Final = frozenset({"hours_limit", "by", "exclude_courses"})
_E = TypeVar("_E", bound=PlanEffect)


def tell_plan(plan: CrossTrainingResult) -> str:
    """Return how many learn for how long, and how sure that is."""
    if plan.status == "nothing-to-do":
        return "Nothing is missing: nobody has to learn."
    told = f"{count(plan.learner_count, 'person learns', 'people learn')} by this plan"
    # of few people hours are not told either
    hours = "" if isinstance(plan.study_hours, HiddenFigure) else f", {amount(plan.study_hours)} h in all"
    return f"{told}{hours}. {describe_status(plan.status)}"


def list_facts(plan: CrossTrainingResult) -> tuple[Fact, ...]:
    """Return the hours and the cost of a plan."""
    hours = (
        Fact("Study", Quantity(plan.study_hours, "h")),
        Fact("Coaching", Quantity(plan.coach_hours, "h")),
        Fact("Cost", Quantity(plan.cost, "cost units")),
    )
    is_told = not isinstance(plan.study_hours, HiddenFigure)
    return (
        Fact("Who learn", str(plan.learner_count)),
        *(hours if is_told else ()),
        Fact("After the plan is", plan.after_on),
    )


def show_open(plan: CrossTrainingResult, effect: PlanEffect, names: Names) -> Iterator[Table]:
    """Yield what stays open, and what does not hold after the plan."""
    for table in (*show_unmet(plan, names), *show_after(effect, names)):
        kept = [n for n, column in enumerate(table.columns) if column.name not in ("missing", "why")]
        rows = tuple(tuple(row[n] for n in kept) for row in table.rows)
        yield replace(table, columns=tuple(table.columns[n] for n in kept), rows=rows)


def join_slots(effect: _E, least: int) -> _E:
    """Return the team after a plan with each empty place once, where how many are filled is not told."""
    if effect.filled >= least:
        return effect
    return replace(effect, unfilled=tuple(dict.fromkeys(effect.unfilled)))
