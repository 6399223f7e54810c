"""Services of cross-training: who should learn what, and until when."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from api import cautions
from api.answers import to_json
from api.services.answering import build_answer
from ontology.analysis.training.cross_training import CrossTrainingResult, plan_cross_training
from ontology.analysis.training.plan_effect import compute_plan_effect
from ontology.analysis.training.training_goals import Holes
from ontology.analysis.training.training_rules import TrainingRules
from ontology.graph.snapshot import Snapshot


def build_training_rules(
    *,
    hours_limit: float | None = None,
    exclude_people: Iterable[str] = (),
    exclude_courses: Iterable[str] = (),
    by: date | None = None,
    fair: bool = False,
    with_coach: bool = False,
    lending_teams: Iterable[str] = (),
) -> TrainingRules:
    """Return what a plan may do, from the parameters of a question."""
    return TrainingRules(
        hours_limit=hours_limit,
        exclude_people=frozenset(exclude_people),
        exclude_courses=frozenset(exclude_courses),
        by=by,
        is_fair=fair,
        with_coach=with_coach,
        lending_teams=tuple(sorted(lending_teams)),
    )


def find_cross_training(
    snapshot: Snapshot,
    team_id: str,
    *,
    on: date,
    away: frozenset[str] = frozenset(),
    tolerance: int | None = None,
    holes: Holes = "all",
    weigh_criticality: bool = False,
    time_limit_s: float | None = None,
    **rules: Any,
) -> CrossTrainingResult:
    """Return who should learn what so that a team's needs reach their targets and its slots are filled.

    `rules` are the parameters of `build_training_rules`.

    Raises
    ------
    UnknownIdError
        There is no such team, or `away` or a rule names something that does not exist.
    InputError
        A limit or tolerance is below 0, or `by` lies before `on`.
    """
    return plan_cross_training(
        snapshot,
        team_id,
        on,
        away=away,
        tolerance=tolerance,
        holes=holes,
        weigh_criticality=weigh_criticality,
        rules=build_training_rules(**rules),
        time_limit_s=time_limit_s,
    )


def get_cross_training(snapshot: Snapshot, team_id: str, **question: Any) -> dict[str, Any]:
    """Return that plan and the team after it as an answer; parameters and errors as `find_cross_training`."""
    plan = find_cross_training(snapshot, team_id, **question)
    after = {"after": to_json(compute_plan_effect(snapshot, plan))}
    return build_answer(snapshot, plan, cautions.CROSS_TRAINING, {}) | after
