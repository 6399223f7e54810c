"""How far assessors agree where two or more rated the same, and what is to be seen together again."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.parameters import Asks, param
from api.desk.question import COMPANY, Question, Subject, by_names
from api.desk.sheet import Sheet
from api.errors import ParameterError, WrongParameter
from api.questions import _cautions as cautions
from api.questions._words import show_yes
from ontology.analysis.assessing.assessor_agreement import LEAST_PAIRS, AssessorAgreement, compute_assessor_agreement
from ontology.analysis.assessing.rated_targets import WITHIN_DAYS
from ontology.snapshot.snapshot import Snapshot


@dataclass(frozen=True, kw_only=True)
class AskAssessorAgreement(Asks):
    """In which time."""

    from_date: dt.date = param("First day of the ratings.", name="from")
    until: dt.date = param("Last day of the ratings.")

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where the last day lies before the first."""
        if self.until < self.from_date:
            raise ParameterError(WrongParameter("until", str(self.until), f"must not be before {self.from_date}"))


def show(result: AssessorAgreement, subject: Subject, asked: AskAssessorAgreement, names: Names) -> Sheet:
    """Return how far they agree by competency, and what is to be seen together again."""
    return Sheet(
        title=f"How far assessors agree, {result.from_date} to {result.until}",
        lead=_tell(result),
        parts=(
            build_table(
                "By competency",
                result.competencies,
                (
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    number("people", lambda row: row.targets),
                    number("assessors", lambda row: row.assessors),
                    number("pairs", lambda row: row.pairs),
                    number("same level", lambda row: row.exact_share, "0 to 1", decimals=3),
                    number("weighted kappa", lambda row: row.kappa, decimals=3),
                    number("ICC(1,1)", lambda row: row.icc, decimals=3),
                    number("ICC(2,1)", lambda row: row.icc_two_way, decimals=3),
                    words("hidden", lambda row: show_yes(row.is_hidden)),
                ),
                "No two assessors rated the same.",
                f"Figures of fewer than {LEAST_PAIRS} pairs are hidden: they would speak of chance, not of agreement.",
            ),
            build_table(
                "To be seen together again",
                result.disagreements,
                (
                    words("person", lambda row: names.ref("people", row.person)),
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    words("levels", lambda row: ", ".join(map(str, row.levels))),
                    words("what to do", lambda row: row.to_do),
                ),
                "No ratings are too far apart.",
            ),
        ),
        remarks=(f"Only ratings within {WITHIN_DAYS} days of each other are compared, of each assessor the latest.",),
    )


def _tell(result: AssessorAgreement) -> str:
    pairs = sum(row.pairs for row in result.competencies)
    if not pairs:
        return "No two assessors rated the same person in the same competency."
    again = count(len(result.disagreements), "is", "are")
    return f"{count(pairs, 'pair')} of ratings; {again} to be seen together again."


QUESTION = Question(
    asks={COMPANY: AskAssessorAgreement},
    answers=AssessorAgreement,
    compute=by_names(compute_assessor_agreement),
    cautions=(cautions.AGREEMENT, cautions.NO_SEVERITY, cautions.BASIS),
    needs=Kind.COMPANY_COVER,
    show=show,
    no_figures="Of one day more or less it would tell single ratings: it is told to those who lead the people rated.",
)
