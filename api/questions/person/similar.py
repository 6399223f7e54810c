"""Roles that ask for much the same as a role."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names
from api.desk.parameters import Asks, param
from api.desk.question import ROLE, Question, Subject, by_names
from api.desk.sheet import Sheet
from api.questions import _cautions as cautions
from ontology.analysis.profiles.similarity import DEFAULT_SIMILAR, SimilarRolesResult, find_similar_roles

_SIMILAR: Final = "Similar requirements do not make two roles equal in pay, risk or legal duties."


@dataclass(frozen=True, kw_only=True)
class AskSimilar(Asks):
    """How many."""

    limit: int = param("Most roles to name.", default=DEFAULT_SIMILAR, minimum=1, maximum=1000)


def show(result: SimilarRolesResult, subject: Subject, asked: AskSimilar, names: Names) -> Sheet:
    """Return the roles in order."""
    role = names.role(subject.id)
    nearest = result.roles[0] if result.roles else None
    return Sheet(
        title=f"Roles like {role}",
        lead=f"{nearest.label} asks for what is most like {role}." if nearest else f"No role is like {role}.",
        parts=(
            build_table(
                "Roles, the most alike first",
                result.roles,
                (
                    words("role", lambda row: names.ref("roles", row.id)),
                    number("similarity", lambda row: row.similarity, "0 to 1", decimals=2),
                ),
                "No other role has requirements in common with it.",
            ),
        ),
    )


QUESTION = Question(
    asks={ROLE: AskSimilar},
    answers=SimilarRolesResult,
    compute=by_names(find_similar_roles),
    cautions=(_SIMILAR, cautions.NO_SELECTION_TEST),
    needs=Kind.FRAMEWORK,
    show=show,
    opening=("role",),
)
