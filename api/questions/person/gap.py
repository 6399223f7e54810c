"""What a person, or someone fully in another role, holds of what a role asks."""

from __future__ import annotations

from api.access.rights import Kind
from api.desk.columns import Filled, build_table, number, words
from api.desk.names import Names, count, join_names
from api.desk.question import PERSON, Question, Subject
from api.desk.sheet import Fact, Next, Quantity, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, find_way, name_start, to_a_role
from api.questions._words import name_standing, show_state
from ontology.analysis.profiles.gap import GapResult, GapRow, compute_gap
from ontology.snapshot.snapshot import Snapshot


def compute(snapshot: Snapshot, subject: Subject, asked: AskOnDay) -> GapResult:
    """Return the gap."""
    way = find_way(subject, asked)
    return compute_gap(snapshot, way.role_id, person_id=way.person_id, from_role_id=way.from_role_id, on=asked.on)


def show(result: GapResult, subject: Subject, asked: AskOnDay, names: Names) -> Sheet:
    """Return the requirements, the indispensable ones first, with what is held of each."""
    is_person = subject.kind is PERSON
    return Sheet(
        title=f"{name_start(names, subject, asked)} → {names.role(result.role)}, {result.on}",
        lead=_tell(result, names, subject.id if is_person else ""),
        facts=(
            Fact("Blocking unmet", result.blocking_unmet),
            Fact("Essential met", f"{result.essential_met} of {result.essential_total}"),
            Fact("Standing", name_standing(result.standing)),
            Fact("Readiness (0 to 1, a sort key, no verdict)", Quantity(result.readiness, decimals=2)),
            *_tell_first_acts(result, names),
        ),
        parts=(
            build_table(
                "What the role asks",
                result.gaps,
                (
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    number("asked", lambda row: row.level),
                    number("held", lambda row: row.have),
                    *((number("own rating", lambda row: row.declared),) if is_person else ()),
                    number("gap", lambda row: row.gap),
                    words("necessity", lambda row: row.necessity),
                    number("weight", lambda row: row.weight, "1 to 5"),
                    *(_show_evidence(names) if is_person else ()),
                ),
                "The role asks for nothing.",
            ),
        ),
        next=(
            Next("Courses that close it", "learning-path", subject.id, {"role": result.role, "on": str(result.on)}),
            Next("When it could be done", "schedule", subject.id, {"role": result.role, "on": str(result.on)}),
        )
        if is_person
        else (),
    )


def _show_evidence(names: Names) -> tuple[Filled[GapRow], ...]:
    """Return the columns on what a person's level rests on: a role's profile rests on nothing that was seen."""
    return (
        words("state", lambda row: show_state(row.state)),
        words("rests on", lambda row: _tell_basis(row, names)),
        number("evidence age", lambda row: row.age_days, "days"),
    )


def _tell_basis(row: GapRow, names: Names) -> str:
    """Return who assessed what counts, and of which competency where it counts by another."""
    about = row.carried_from or row.by_equivalence
    other = f" of {names.competency(about)}" if about else ""
    return f"{row.source or ''}{other}".strip()


def _tell(result: GapResult, names: Names, person_id: str) -> str:
    who = names.person(person_id) if person_id else "Someone at full level in the other role"
    if not result.gaps:
        return f"{names.role(result.role)} asks for nothing, so there is nothing to compare with."
    open_rows = sum(1 for row in result.gaps if row.gap and row.necessity != "desirable")
    if not open_rows:
        return f"{who} holds all that is indispensable for {names.role(result.role)}."
    what, are = count(open_rows, "indispensable requirement"), "is" if open_rows == 1 else "are"
    return f"{who} {name_standing(result.standing)}: {what} of {len(result.gaps)} {are} below full level."


def _tell_first_acts(result: GapResult, names: Names) -> list[Fact]:
    certificates = [c for c in result.assess_first if names.is_certificate(c)]
    others = [c for c in result.assess_first if c not in certificates]
    facts = []
    if certificates:
        facts.append(Fact("Show proof of", join_names(map(names.competency, certificates))))
    if others:
        facts.append(Fact("Assess first", join_names(map(names.competency, others))))
    return facts


QUESTION = Question(
    asks=to_a_role(AskOnDay),
    answers=GapResult,
    compute=compute,
    cautions=(cautions.NO_SELECTION_TEST, cautions.BASIS, cautions.NO_AUTHORISATION),
    needs=Kind.EXPLORATION,
    is_standing_for_own_role=True,
    show=show,
    opening=("profile",),
)
