"""Roles one move away from a person, or from someone fully in a role."""

from __future__ import annotations

from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.question import PERSON, ROLE, Question, Subject
from api.desk.sheet import Next, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly, by_start, name_start
from api.questions._reach import AskWithinReach
from api.questions._words import describe_status, name_standing, show_yes
from ontology.analysis.routes.moves import ReachableRolesResult, find_reachable_roles


@dataclass(frozen=True, kw_only=True)
class AskReachableRoles(AskWithinReach, AskOnDay, AskSlowly):
    """Within which limits, on which day."""


def show(result: ReachableRolesResult, subject: Subject, asked: AskReachableRoles, names: Names) -> Sheet:
    """Return the roles, those within reach first."""
    within = [role for role in result.roles if role.within_reach]
    start = name_start(names, subject, asked)
    lead = f"{count(len(within), 'role')} of {len(result.roles)} {'is' if len(within) == 1 else 'are'} within reach."
    return Sheet(
        title=f"One move from {start}, {asked.on}",
        lead=lead if result.status == "optimal" else f"{lead} {describe_status(result.status)}",
        parts=(
            build_table(
                "Roles",
                result.roles,
                (
                    words("role", lambda role: names.ref("roles", role.id)),
                    words("within reach", lambda role: show_yes(role.within_reach)),
                    number("study", lambda role: role.study_hours, "h"),
                    number("months", lambda role: role.months),
                    words("standing today", lambda role: name_standing(role.standing)),
                ),
                "No other role has requirements.",
            ),
        ),
        next=tuple(
            Next(f"Ways to {role.label}", "routes", subject.id, {"to": role.id, "on": str(asked.on)})
            for role in within[:3]
            if subject.kind is PERSON
        ),
    )


QUESTION = Question(
    asks={PERSON: AskReachableRoles, ROLE: AskReachableRoles},
    answers=ReachableRolesResult,
    compute=by_start(find_reachable_roles),
    cautions=(cautions.OFFER, cautions.ENTRIES, cautions.NO_SELECTION_TEST),
    needs=Kind.EXPLORATION,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
)
