"""What changed for a person since a state: standing and gap in the role held, levels; and why."""

from __future__ import annotations

from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.named_states import NamedStates
from api.desk.names import Names, count, join_names
from api.desk.question import PERSON, Question, Subject
from api.desk.sheet import Fact, Next, Sheet
from api.questions import _cautions as cautions
from api.questions._changes import TOUCHES, AskChanges, read_between, say_since, say_why
from api.questions._words import name_standing, show_state
from ontology.analysis.effect.person_changes import PersonChanges, find_person_changes
from ontology.snapshot.snapshot import Snapshot

_VERBS: Final = {
    "none": "may not start yet",
    "may-start": "may start",
    "works-alone": "works alone",
    "full": "is at full level",
}

_REQUIREMENTS: Final = (
    "requirement of the role is asked or met otherwise",
    "requirements of the role are asked or met otherwise",
)
_LEVELS: Final = ("level counts otherwise", "levels count otherwise")


def compute(snapshot: Snapshot, person: Subject, asked: AskChanges, states: NamedStates) -> PersonChanges:
    """Return what changed: the state before on its own day, the one that is asked on the day asked."""
    return find_person_changes(read_between(snapshot, asked, states), person.id)


def show(result: PersonChanges, subject: Subject, asked: AskChanges, names: Names) -> Sheet:
    """Return every difference with its reasons."""
    standing = result.standing
    day, since = {"on": str(result.on)}, say_since(result.since, result.before_on)
    facts: tuple[Fact, ...] = ()
    if standing.why:
        facts = (
            Fact("Then", _say_standing(names, standing.role_before, standing.before)),
            Fact("Now", _say_standing(names, standing.role_after, standing.after)),
            Fact("Why", say_why(standing.why)),
        )
    return Sheet(
        title=f"What changed for {names.person(result.person)} since {since}, {result.on}",
        lead=tell_person_changes(result, names),
        facts=facts,
        parts=(
            build_table(
                "Of what the role held asks",
                result.gaps,
                (
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    number("asked then", lambda row: row.asked_before),
                    number("asked now", lambda row: row.asked_after),
                    words("necessity then", lambda row: row.necessity_before or "–"),
                    words("necessity now", lambda row: row.necessity_after or "–"),
                    number("missing then", lambda row: row.gap_before, "levels"),
                    number("missing now", lambda row: row.gap_after, "levels"),
                    words("why", lambda row: say_why(row.why)),
                ),
                "The role asks the same, and as much of it is held.",
            ),
            build_table(
                "Levels",
                result.levels,
                (
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    number("level then", lambda row: row.level_before),
                    number("level now", lambda row: row.level_after),
                    words("state then", lambda row: show_state(row.state_before)),
                    words("state now", lambda row: show_state(row.state_after)),
                    words("why", lambda row: say_why(row.why)),
                ),
                "Every level counts as it did.",
            ),
        ),
        next=(
            Next("What is held now", "levels", result.person, day),
            Next("Everything with a date", "person-agenda", result.person, day),
        ),
    )


def _say_standing(names: Names, role: str | None, standing: str | None) -> str:
    return f"{names.role(role)}: {name_standing(standing)}" if role and standing else "no role recorded"


def tell_person_changes(result: PersonChanges, names: Names) -> str:
    """Return what stands otherwise with a person, the standing first."""
    who, since, standing = names.person(result.person), say_since(result.since, result.before_on), result.standing
    parts = [count(n, *nouns) for n, nouns in ((len(result.gaps), _REQUIREMENTS), (len(result.levels), _LEVELS)) if n]
    if (standing.role_before, standing.before) != (standing.role_after, standing.after):
        now = _tell_standing(names, standing.role_after, standing.after) or "holds no role"
        then = _tell_standing(names, standing.role_before, standing.before) or "no role was recorded"
        return f"{who} {now}; on {since}: {then}.{f' {join_names(parts)}.' if parts else ''}"
    if not parts:
        return f"With {who} everything stands as on {since}."
    return f"{who} stands as on {since}, but {join_names(parts)}."


def _tell_standing(names: Names, role: str | None, standing: str | None) -> str:
    return f"{_VERBS[standing]} as {names.role(role)}" if role and standing else ""


QUESTION = Question(
    asks={PERSON: AskChanges},
    answers=PersonChanges,
    compute=compute,
    cautions=(TOUCHES, cautions.NO_SELECTION_TEST, cautions.BASIS, cautions.NO_AUTHORISATION),
    needs=Kind.STANDING,
    is_in_main=True,
    show=show,
    segment="changes",
)
