"""What stands out in the framework: roles nobody reaches, untaught levels, unused courses and the rest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count, join_names
from api.desk.question import COMPANY, Question, Subject, by_names
from api.desk.sheet import Next, Ref, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly
from api.questions._reach import AskWithinReach
from api.questions._words import describe_status
from ontology.analysis.routes.framework_review import FrameworkReview, LoneRole, UntaughtLevel, review_framework

_FRAMEWORK: Final = (
    "This shows where to look, not what is wrong: an entry level, a licence or a check may stand as it is for reasons "
    "of safety or law."
)

_PIVOTAL_SHOWN: Final = 10
_ASKERS_NAMED: Final = 3
#: What can stand out, in words.
NOBODY_REACHES: Final = "role nobody reaches"
DEAD_END: Final = "dead end"
UNTAUGHT: Final = "level no course reaches"
UNTAUGHT_ON_JOB: Final = "level no course teaches"
HIGH_ENTRY: Final = "entry level at full level"
UNUSED_COURSE: Final = "course no cheapest path uses"


@dataclass(frozen=True, kw_only=True)
class AskFrameworkReview(AskWithinReach, AskOnDay, AskSlowly):
    """What counts as within reach, on which day."""


@dataclass(frozen=True, slots=True)
class StandsOut:
    """One thing that stands out: what it is, which record it is about, and why it matters."""

    what: str
    where: Ref
    why: str


def show(result: FrameworkReview, subject: Subject, asked: AskFrameworkReview, names: Names) -> Sheet:
    """Return what stands out, and which competencies most routes pass through."""
    found = list_standing_out(result, names)
    lead = tell(result, names)
    return Sheet(
        title=f"The framework on {result.on}",
        lead=lead if result.status == "optimal" else f"{lead} {describe_status(result.status)}",
        facts=(),
        parts=(
            build_table(
                f"{count(result.roles, 'role')}, {count(result.moves, 'move')} within reach between them",
                found,
                (
                    words("what stands out", lambda one: one.what),
                    words("where", lambda one: one.where),
                    words("why it matters", lambda one: one.why),
                ),
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
        next=(Next("What breaks a rule", "findings", "", {}),),
    )


def tell(result: FrameworkReview, names: Names) -> str:
    """Return how much stands out."""
    return f"{count(len(list_standing_out(result, names)), 'thing stands', 'things stand')} out."


def list_standing_out(result: FrameworkReview, names: Names) -> tuple[StandsOut, ...]:
    """Return what stands out, what holds most people up first: roles, then levels, then courses."""
    return tuple(_iterate_standing_out(result, names))


def _iterate_standing_out(result: FrameworkReview, names: Names) -> Iterator[StandsOut]:
    for role in result.unreachable_roles:
        yield StandsOut(NOBODY_REACHES, _ref(names, role), f"nobody can move into it; {_tell_missing(role, names)}")
    for level in result.untaught_levels:
        if not level.learned_on_job:
            yield _tell_untaught(level, names)
    for entry in result.high_entry_levels:
        where = f"{names.competency(entry.competency)} at level {entry.level} for {names.role(entry.role)}"
        stones = join_names(map(names.role, entry.stepping_stones))
        yield StandsOut(HIGH_ENTRY, Ref("roles", entry.role, where), f"at {entry.lowered_to} it opens to: {stones}")
    for role in result.dead_ends:
        yield StandsOut(DEAD_END, _ref(names, role), f"no move leads on from it; {_tell_missing(role, names)}")
    for level in result.untaught_levels:
        if level.learned_on_job:
            yield _tell_untaught(level, names)
    for course in result.unused_courses:
        yield StandsOut(UNUSED_COURSE, Ref("courses", course.id, course.label), "it saves hours on the way to no role")


def _ref(names: Names, role: LoneRole) -> Ref:
    return Ref("roles", role.id, names.role(role.id))


def _tell_missing(role: LoneRole, names: Names) -> str:
    return "most often missing: " + (join_names(map(names.competency, role.held_back_by)) or "nothing")


def _tell_untaught(level: UntaughtLevel, names: Names) -> StandsOut:
    what = UNTAUGHT_ON_JOB if level.learned_on_job else UNTAUGHT
    where = Ref("competencies", level.competency, f"{names.competency(level.competency)} at level {level.level}")
    askers = join_names(map(names.role, level.roles[:_ASKERS_NAMED]))
    if len(level.roles) > _ASKERS_NAMED:
        askers = f"{count(len(level.roles), 'role')}"
    ask = "asks" if len(level.roles) == 1 else "ask"
    return StandsOut(what, where, f"{askers} {ask} for it. {names.put_in(level.reason)}")


QUESTION = Question(
    asks={COMPANY: AskFrameworkReview},
    answers=FrameworkReview,
    compute=by_names(review_framework),
    cautions=(_FRAMEWORK, cautions.ENTRIES),
    needs=Kind.REVIEW,
    show=show,
    is_slow=True,
)
