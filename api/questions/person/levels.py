"""What someone holds of what a role asks and beyond, on what each level rests, and until when it counts."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import Filled, build_table, number, words
from api.desk.kinds import RoleId
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import PERSON, Question, Subject, by_names
from api.desk.sheet import Fact, Next, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay
from api.questions._words import show_state
from ontology.analysis.profiles.known_levels import KnownLevel, PersonLevels, list_person_levels


@dataclass(frozen=True, kw_only=True)
class AskLevels(AskOnDay):
    """Beside which role."""

    role: RoleId | None = param("The role to compare with (default: the person's on that day).", default=None)


def show(result: PersonLevels, subject: Subject, asked: AskLevels, names: Names) -> Sheet:
    """Return what the role asks, what else is held, and what is said."""
    return Sheet(
        title=f"What {names.person(result.person)} holds, {result.on}",
        lead=tell_levels(result, names),
        facts=(
            Fact("Blocking met", f"{result.blocking_met} of {result.blocking_total}"),
            Fact("Essential met", f"{result.essential_met} of {result.essential_total}"),
            Fact("Never assessed", len(result.assess_first)),
        ),
        parts=(
            _build_table("What the role asks", result.asked, names, "The role asks for nothing, or none is recorded."),
            _build_table("What else is held", result.others, names, "Nothing else was assessed."),
            build_table(
                "What they say themselves",
                result.said,
                (
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    number("level", lambda row: row.level),
                    words("day", lambda row: row.date),
                ),
                "Nothing.",
                "Shown, never counted.",
            ),
        ),
        next=(
            Next("Everything with a date", "person-agenda", result.person, {"on": str(result.on)}),
            Next("Roles within reach", "reachable-roles", result.person, {"on": str(result.on)}),
        ),
    )


def tell_levels(result: PersonLevels, names: Names) -> str:
    """Return how much of what the role asks is met, and what nobody knows."""
    who = names.person(result.person)
    if result.role is None:
        return f"No role is recorded for {who}."
    if not result.asked:
        return f"{names.role(result.role)} asks for nothing."
    met = f"{result.blocking_met} of {result.blocking_total} that block"
    essential = f"{result.essential_met} of {result.essential_total} essential"
    unknown = len(result.assess_first)
    never = f" {count(unknown, 'competency has', 'competencies have')} never been assessed." if unknown else ""
    return f"{who} meets of what {names.role(result.role)} asks at full level: {met}, {essential}.{never}"


def _build_table(title: str, rows: tuple[KnownLevel, ...], names: Names, empty: str) -> Table:
    columns: tuple[Filled[KnownLevel], ...] = (
        words("competency", lambda row: names.ref("competencies", row.competency)),
        number("asked", lambda row: row.asked),
        number("held", lambda row: row.level),
        words("state", lambda row: show_state(row.state)),
        words("rests on", lambda row: row.source or "–"),
        words("who", lambda row: names.person(row.assessor) if row.assessor else "–"),
        words("assessed on", lambda row: row.date),
        number("age", lambda row: row.age_days, "days"),
        words("counts until", lambda row: row.until or ("no end" if row.level else "–")),
    )
    return build_table(title, rows, columns, empty)


QUESTION = Question(
    asks={PERSON: AskLevels},
    answers=PersonLevels,
    compute=by_names(list_person_levels),
    cautions=(cautions.BASIS, cautions.NO_AUTHORISATION, cautions.NO_SELECTION_TEST),
    needs=Kind.STANDING,
    show=show,
)
