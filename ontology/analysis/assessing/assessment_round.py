"""A round of assessments: who assesses whom in what, so that as much as can be is seen, and the work is shared. Pure.

An exact plan: the aims in their order, and of all best plans the first. It makes no appointment and assesses nobody.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final, Literal

from ontology.analysis.assessing.round_problem import Assignment, RoundProblem, count_loads, iterate_pairs, measure
from ontology.analysis.assessing.round_rows import Double, RoundAsked, RoundRow, WhyDue, build_rows, find_assessors
from ontology.analysis.assessing.round_solver import solve_round
from ontology.analysis.engine.deadline import Deadline
from ontology.errors import InputError
from ontology.model.identity import CountOf, PeopleCount, PersonId, TellsOf
from ontology.plurals import format_count
from ontology.snapshot.snapshot import Snapshot

__all__ = ["OLD_MONTHS", "AssessmentRound", "AssessorLoad", "LeftOutRow", "RoundAssessment", "plan_assessment_round"]

#: What rests on an assessment dated more months ago is looked at again.
OLD_MONTHS: Final = 24
#: What is left of the time limit to write the answer in.
_SHARE_TO_SOLVE: Final = 0.9
_NOT_FIRST: Final = (
    "Every aim is proved; the time limit struck before it was settled which of equal rounds comes first."
)
_SECOND: Final = (
    "Two who assess the same do so without knowing each other's level, and both write the day of the round: until a "
    "later assessment settles it, the lower level counts."
)


@dataclass(frozen=True, slots=True)
class RoundAssessment:
    """One assessor sees one person in one competency."""

    person: Annotated[PersonId, "Id of the person."]
    competency: Annotated[str, "Id of the competency."]
    assessor: Annotated[PersonId, "Id of who assesses."]
    reason: Annotated[
        WhyDue,
        "not-assessed: never yet; lapsed; review-due; old: rests on what was seen more than so many months ago.",
    ]
    minutes: Annotated[int, "Minutes it takes the assessor."]
    by: Annotated[date, "The day of the round, which the assessment carries."]


@dataclass(frozen=True, slots=True)
class LeftOutRow:
    """What is to be assessed and lacks an assessor, or the second of two."""

    person: Annotated[PersonId, "Id of the person."]
    competency: Annotated[str, "Id of the competency."]
    due: Annotated[WhyDue, "Why it is to be assessed: not-assessed, lapsed, review-due or old."]
    minutes: Annotated[int, "Minutes it takes an assessor."]
    missing: Annotated[int, "How many assessors it lacks."]
    able: Annotated[tuple[PersonId, ...], "Who may assess it, by id."]
    reason: Annotated[str, "Why it lacks them."]


@dataclass(frozen=True, slots=True)
class AssessorLoad:
    """What a round asks of one assessor."""

    assessor: Annotated[PersonId, "Id of the assessor."]
    minutes: Annotated[int, "Minutes of assessing in this round."]
    capacity_minutes: Annotated[int, "Minutes they have for a round."]
    rows: Annotated[int, "How many times they assess."]
    people: Annotated[PeopleCount, "How many people they see."]


@dataclass(frozen=True, slots=True)
class AssessmentRound:
    """Who assesses whom in what."""

    on: Annotated[date, "The day asked about: what is due is due on it."]
    by: Annotated[date, "The day of the round: who may assess may on it."]
    team: Annotated[str | None, "The team whose people are assessed; null: everyone."]
    older_than_months: Annotated[int, "What rests on an assessment dated more months ago is old."]
    double: Annotated[Double, "What two assess: none, what is safety-critical, or all."]
    status: Annotated[
        Literal["optimal", "feasible"],
        "optimal: proved, aim by aim; feasible: the best found when the time limit struck.",
    ]
    lower_bound: Annotated[
        int | None, TellsOf(), "Of the first aim that is not proved: no round has less; null where all are."
    ]
    unproved_aim: Annotated[str | None, "The first aim that is not proved, by the name it has here."]
    rows: Annotated[int, TellsOf(), "How many competencies of people are to be assessed."]
    unserved: Annotated[int, TellsOf(), "Aim 1: those without an assessor."]
    missing: Annotated[int, TellsOf(), "Aim 2: assessors that are missing, where two are wanted also the second."]
    largest_load_minutes: Annotated[int, TellsOf(), "Aim 3: the most minutes of one assessor."]
    pairs: Annotated[int, TellsOf(), "Aim 4: pairs of a person and who assesses them, each an interview."]
    people: Annotated[PeopleCount, "People of whom something is to be assessed."]
    people_unserved: Annotated[int, CountOf(of="people"), "Of them, those with something that has no assessor."]
    assessors: Annotated[PeopleCount, "People who may assess on the day of the round."]
    assignment: Annotated[tuple[RoundAssessment, ...], "By person, competency and assessor."]
    left_out: Annotated[tuple[LeftOutRow, ...], "What lacks an assessor, by person and competency."]
    loads: Annotated[tuple[AssessorLoad, ...], "Everyone who may assess on the day of the round, by id."]
    remarks: Annotated[tuple[str, ...], "What else should be known."]


def plan_assessment_round(
    snapshot: Snapshot,
    on: date,
    *,
    by: date | None = None,
    team: str | None = None,
    older_than_months: int = OLD_MONTHS,
    double: Double = "safety",
    time_limit_s: float | None = None,
) -> AssessmentRound:
    """Return who assesses whom in one round.

    Parameters
    ----------
    on : date
        Levels, roles and teams are those of this day.
    by : date or None
        The day of the round; None: `on`.
    team : str or None
        Only people who are in it on the day asked about.
    double : "none", "safety" or "all"
        What two assessors see.
    time_limit_s : float or None
        Seconds; None means no limit.

    Returns
    -------
    AssessmentRound
        Every rule is checked again, and every aim counted again, from the assignment alone.

    Raises
    ------
    UnknownIdError
        There is no such team.
    InputError
        The day of the round lies before the day asked about, or the months are below 0.

    Notes
    -----
    An integer program for each aim, then some for the order of equals. In one round nobody assesses someone who
    assesses them.
    """
    deadline = Deadline(time_limit_s).get_share(_SHARE_TO_SOLVE)
    asked = _require(snapshot, on, by or on, team, older_than_months, double)
    problem = RoundProblem(tuple(build_rows(snapshot, asked)), find_assessors(snapshot, asked.by))
    solved = solve_round(problem, deadline)
    value = measure(problem, solved.assignment)
    served = list(zip(problem.rows, solved.assignment, strict=True))
    remarks = [_SECOND] if any(row.wanted > 1 for row in problem.rows) else []
    if solved.unproved is None and not solved.is_settled:
        remarks.append(_NOT_FIRST)
    return AssessmentRound(
        on=on,
        by=asked.by,
        team=team,
        older_than_months=older_than_months,
        double=double,
        status="optimal" if solved.unproved is None else "feasible",
        lower_bound=solved.lower_bound,
        unproved_aim=solved.unproved,
        rows=len(problem.rows),
        unserved=value.unserved,
        missing=value.missing,
        largest_load_minutes=value.largest_load_minutes,
        pairs=value.pairs,
        people=len({row.person for row in problem.rows}),
        people_unserved=len({row.person for row, chosen in served if not chosen}),
        assessors=len(problem.capacity),
        assignment=tuple(
            RoundAssessment(row.person, row.competency, assessor, row.why, row.minutes, asked.by)
            for row, chosen in served
            for assessor in chosen
        ),
        left_out=tuple(_iterate_left_out(problem, solved.assignment)),
        loads=tuple(_iterate_loads(problem, solved.assignment)),
        remarks=tuple(remarks),
    )


def _require(
    snapshot: Snapshot, on: date, by: date, team: str | None, older_than_months: int, double: Double
) -> RoundAsked:
    if team is not None:
        snapshot.require_team(team)
    if by < on:
        raise InputError("The day of the round must not lie before the day asked about.", parameter="by", value=by)
    if older_than_months < 0:
        about = "The months after which an assessment is old are 0 or more."
        raise InputError(about, parameter="older_than_months", value=older_than_months)
    return RoundAsked(on, by, team or "", older_than_months, double)


def _iterate_left_out(problem: RoundProblem, assignment: Assignment) -> Iterator[LeftOutRow]:
    loads, pairs = count_loads(problem, assignment), set(iterate_pairs(problem, assignment))
    free = {assessor: minutes - loads[assessor] for assessor, minutes in problem.capacity.items()}
    for row, chosen in zip(problem.rows, assignment, strict=True):
        missing = row.wanted - len(chosen)
        if missing:
            others = [i for i in row.able if i not in chosen]
            clashing = [i for i in others if (i, row.person) in pairs and free[i] >= row.minutes]
            reason = _tell_why(row, others, clashing, free)
            yield LeftOutRow(row.person, row.competency, row.why, row.minutes, missing, row.able, reason)


def _tell_why(row: RoundRow, others: list[str], clashing: list[str], free: Mapping[str, int]) -> str:
    """Return why a row lacks an assessor: who else may assess it, whom of them its person assesses, minutes left."""
    if not row.able:
        return "nobody may assess it: no assessor in force, of that team, names it or holds it at the full level"
    if not others:
        return f"two are wanted, and only {row.able[0]} may assess it"
    if len(clashing) == len(others):
        return f"{', '.join(clashing)} may assess it, but {row.person} assesses them in this round"
    spent = [i for i in others if i not in clashing and free[i] < row.minutes]
    if len(spent) + len(clashing) < len(others):
        return "none was found for it before the time limit struck"
    told = f"the {format_count(row.minutes, 'minute')} are more than is left of the hours of {', '.join(spent)}"
    return f"{told}; {', '.join(clashing)} is assessed by {row.person}" if clashing else told


def _iterate_loads(problem: RoundProblem, assignment: Assignment) -> Iterator[AssessorLoad]:
    pairs = list(iterate_pairs(problem, assignment))
    loads = count_loads(problem, assignment)
    for assessor, minutes in sorted(problem.capacity.items()):
        seen = [person for person, other in pairs if other == assessor]
        yield AssessorLoad(assessor, loads[assessor], minutes, len(seen), len(set(seen)))
