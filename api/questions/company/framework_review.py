"""What stands out in the framework: roles nobody reaches, untaught levels, unused courses and the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.desk.columns import build_table, number, words
from api.desk.names import Names, count, join_names
from api.desk.question import COMPANY, Question, Subject, by_names, read_title
from api.desk.rights import Right
from api.desk.sheet import Cell, Column, Sheet, Table
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions._reach import AskWithinReach
from api.questions._words import describe_status
from ontology.analysis.routes.framework_review import FrameworkReview, review_framework

_FRAMEWORK: Final = (
    "This shows where to look, not what is wrong: an entry level, a licence or a check may stand as it is for reasons "
    "of safety or law."
)

_PIVOTAL_SHOWN: Final = 10


@dataclass(frozen=True, kw_only=True)
class AskFrameworkReview(AskWithinReach, AskOnDay, AskSlowly):
    """What counts as within reach, on which day."""


def show(result: FrameworkReview, subject: Subject, asked: AskFrameworkReview, names: Names) -> Sheet:
    """Return what stands out, and which competencies most routes pass through."""
    rows = tuple(_iterate_rows(result, names))
    lead = f"{count(len(rows), 'thing stands', 'things stand')} out."
    return Sheet(
        title=f"The framework on {result.on}",
        lead=lead if result.status == "optimal" else f"{lead} {describe_status(result.status)}",
        facts=(),
        parts=(
            Table(
                f"{count(result.roles, 'role')}, {count(result.moves, 'move')} within reach between them",
                (Column("what stands out"), Column("where"), Column("why, or what follows")),
                rows,
                "Nothing stands out.",
            ),
            build_table(
                "Competencies most routes pass through",
                result.pivotal_competencies[:_PIVOTAL_SHOWN],
                (
                    words("competency", lambda row: names.ref("competencies", row.competency)),
                    number("share of routes", lambda row: row.betweenness, "0 to 1", decimals=3),
                    number("moves", lambda row: row.moves),
                ),
                "No route asks for anything to be learned.",
            ),
        ),
    )


def _iterate_rows(result: FrameworkReview, names: Names) -> Iterator[tuple[Cell, ...]]:
    for what, roles in (("role nobody reaches", result.unreachable_roles), ("dead end", result.dead_ends)):
        for role in roles:
            why = "most often missing: " + (join_names(map(names.competency, role.held_back_by)) or "nothing")
            yield what, names.ref("roles", role.id), why
    for level in result.untaught_levels:
        what = "level no course teaches" if level.learned_on_job else "level no course reaches"
        yield what, f"{names.competency(level.competency)} at level {level.level}", level.reason
    for entry in result.high_entry_levels:
        where = f"{names.competency(entry.competency)} at level {entry.level} for {names.role(entry.role)}"
        stones = join_names(map(names.role, entry.stepping_stones))
        yield "entry level at full level", where, f"at {entry.lowered_to} it opens to: {stones}"
    for course in result.unused_courses:
        yield "course no cheapest path uses", names.ref("courses", course.id), "it saves hours on the way to no role"


QUESTION = Question(
    name="framework-review",
    title=read_title(__doc__),
    asks={COMPANY: AskFrameworkReview},
    answers=FrameworkReview,
    compute=by_names(review_framework),
    cautions=(_FRAMEWORK, cautions.ENTRIES),
    needs=Right.SEE_FRAMEWORK,
    show=show,
    is_slow=True,
)
