"""Who assesses whom in the next round, so that what is due is seen, the work is shared and interviews are few."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.kinds import TeamId
from api.desk.names import Names, amount, count, join_names
from api.desk.parameters import param
from api.desk.question import COMPANY, InFigures, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet, Table
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions._figures import tell_or_not
from api.questions._words import describe_status, show_state
from ontology.analysis.assessing.assessment_round import OLD_MONTHS, AssessmentRound, plan_assessment_round
from ontology.analysis.assessing.round_rows import Double
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, kw_only=True)
class AskAssessmentRound(AskOnDay, AskSlowly):
    """On which day, of whom, what counts as old, what two assess."""

    by: dt.date | None = param(
        "The day of the round, which its assessments carry; who may assess may on it (default: `on`).", default=None
    )
    team: TeamId | None = param("Only people of this team (default: everyone).", default=None)
    older_than_months: int = param(
        "What rests on an assessment dated more months ago is assessed again.",
        default=OLD_MONTHS,
        minimum=0,
        maximum=1200,
        unit="months",
    )
    double: Double = param(
        "What two assess without knowing each other's level: none, what is safety-critical, or all.", default="safety"
    )

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the day of the round lies before the day asked about."""
        if self.by is not None and self.by < self.on:
            raise ParameterError(WrongParameter("by", str(self.by), f"must not be before {self.on}"))


def show(result: AssessmentRound, subject: Subject, asked: AskAssessmentRound, names: Names) -> Sheet:
    """Return who sees whom in what, what lacks an assessor and why, and what it asks of each assessor."""
    of_whom = f" of {names.team(result.team)}" if result.team else ""
    return Sheet(
        title=f"Who assesses whom{of_whom}, {result.by}",
        lead=_tell(result),
        facts=tuple(_iterate_facts(result)),
        parts=(_list_assignment(result, names), _list_left_out(result, names), _list_loads(result, names)),
        next=(
            Next(
                "How far assessors agreed in the year before",
                "assessor-agreement",
                "",
                {"from": str(result.on - dt.timedelta(days=365)), "until": str(result.on)},
            ),
        ),
        remarks=result.remarks,
    )


def show_in_figures(result: AssessmentRound, subject: Subject, asked: AskAssessmentRound, names: Names) -> Sheet:
    """Return how many are to be assessed, how many of them lack an assessor, and how many may assess."""
    return Sheet(
        title=f"How many are to be assessed, {result.by}",
        lead=tell_or_not(
            f"{count(result.people, 'person is', 'people are')} to be assessed; with something that has no assessor: "
            f"{result.people_unserved}.",
            result.people,
        ),
        facts=(
            Fact("People to be assessed", str(result.people)),
            Fact("Of them, with something that has no assessor", str(result.people_unserved)),
            Fact("People who may assess", str(result.assessors)),
        ),
    )


def _list_assignment(result: AssessmentRound, names: Names) -> Table:
    return build_table(
        "Who sees whom",
        sorted(result.assignment, key=lambda row: (row.assessor, row.person, row.competency)),
        (
            words("assessor", lambda row: names.ref("people", row.assessor)),
            words("sees", lambda row: names.ref("people", row.person)),
            words("in", lambda row: names.ref("competencies", row.competency)),
            words("because", lambda row: show_state(row.reason)),
            number("minutes", lambda row: row.minutes),
        ),
        "Nothing is to be assessed, or nobody may.",
    )


def _list_left_out(result: AssessmentRound, names: Names) -> Table:
    return build_table(
        "What lacks an assessor",
        result.left_out,
        (
            words("person", lambda row: names.ref("people", row.person)),
            words("competency", lambda row: names.ref("competencies", row.competency)),
            words("because", lambda row: show_state(row.due)),
            number("missing", lambda row: row.missing),
            words("who may", lambda row: join_names(map(names.person, row.able)) or "nobody"),
            words("why", lambda row: names.put_in(row.reason)),
        ),
        "Everything that is due has the assessors it wants.",
    )


def _list_loads(result: AssessmentRound, names: Names) -> Table:
    return build_table(
        "What it asks of each assessor",
        result.loads,
        (
            words("assessor", lambda row: names.ref("people", row.assessor)),
            number("minutes", lambda row: row.minutes),
            number("of", lambda row: row.capacity_minutes, "minutes"),
            number("assessments", lambda row: row.rows),
            number("people", lambda row: row.people),
        ),
        "Nobody may assess on that day: enter assessors.",
    )


def _tell(result: AssessmentRound) -> str:
    status = "" if result.status == "optimal" else f" {describe_status(result.status)}"
    if not result.rows:
        return "Nothing is to be assessed."
    told = f"{count(result.rows, 'level is', 'levels are')} to be assessed"
    left = f"{result.unserved} of them without an assessor" if result.unserved else "each has an assessor"
    return f"{told}; {left}; {count(result.pairs, 'interview')}.{status}"


def _iterate_facts(result: AssessmentRound) -> Iterator[Fact]:
    yield Fact("Without an assessor", result.unserved)
    yield Fact("Assessors missing, where two are wanted also the second", result.missing)
    yield Fact("Most that one assessor has to do", f"{amount(result.largest_load_minutes / 60)} h")
    yield Fact("Interviews (pairs of a person and an assessor)", result.pairs)
    if result.lower_bound is not None:
        yield Fact("Not proved", f"{result.unproved_aim}: no round has less than {result.lower_bound}")


QUESTION = Question(
    asks={COMPANY: AskAssessmentRound},
    answers=AssessmentRound,
    compute=by_names(plan_assessment_round),
    cautions=(
        cautions.AGREE_ROUND,
        cautions.NO_ROSTER_LAW,
        cautions.AGREEMENT,
        cautions.NO_AUTHORISATION,
        cautions.BASIS,
    ),
    needs=Kind.COMPANY_COVER,
    show=show,
    is_slow=True,
    # of a team, or of a little more or less, the difference would tell whom that concerns
    figures=InFigures(show_in_figures, refuses=frozenset({"by", "team", "older_than_months", "double"})),
)
