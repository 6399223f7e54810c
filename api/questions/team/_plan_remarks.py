"""What should be known of a cross-training plan beside its rows: who cannot be released, and what nobody can coach.

The answer has it in its rows, by id; here it is said with names.
"""

from __future__ import annotations

from collections.abc import Iterator

from api.desk.names import Names
from ontology.analysis.training.cross_training import CrossTrainingResult


def list_remarks(plan: CrossTrainingResult, names: Names) -> tuple[str, ...]:
    """Return the remarks of a plan as sentences."""
    return (*plan.remarks, *_iterate_releases(plan, names), *_iterate_uncoached(plan, names))


def _iterate_releases(plan: CrossTrainingResult, names: Names) -> Iterator[str]:
    """Yield for each course before when its learner cannot be released, or what is lost whenever they are."""
    for row in plan.courses:
        if row.is_held_back:
            who, what = names.person(row.person), names.course(row.course)
            yield f"{who} cannot be released for {what} earlier than {row.begins_on}."
    told: dict[tuple[str, str], list[str]] = {}
    for conflict in plan.release_conflicts:
        if conflict.place is not None:
            words = f"the place {names.place(conflict.place)} is empty"
        else:
            where = "" if conflict.shift is None else f" in {names.shift(conflict.shift)}"
            words = f"{names.competency(conflict.competency or '')} at level {conflict.level} is short{where}"
        told.setdefault((conflict.person, conflict.course), []).append(words)
    for (person, course), lost in told.items():
        yield (
            f"{names.person(person)} cannot be released for {names.course(course)} without a stand-in: "
            f"meanwhile {'; '.join(lost)}."
        )


def _iterate_uncoached(plan: CrossTrainingResult, names: Names) -> Iterator[str]:
    """Yield for each course with coach hours what of it nobody can coach."""
    told: dict[tuple[str, str], list[str]] = {}
    for line in plan.plan:
        for row in line.coaching:
            told[line.person, row.course] = [
                f"{names.competency(outcome.competency)} at level {outcome.level}"
                for outcome in row.outcomes
                if not outcome.people
            ]
    for (person, course), words in told.items():
        if words:
            yield (
                f"Nobody in these teams can coach {names.person(person)} in {', '.join(words)} "
                f"({names.course(course)})."
            )
