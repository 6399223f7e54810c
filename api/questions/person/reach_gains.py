"""Courses, and levels, that bring most roles within reach of a person, or of someone fully in a role."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from api.access.rights import Kind
from api.desk.columns import build_table, number, words
from api.desk.names import Names, count
from api.desk.parameters import param
from api.desk.question import PERSON, ROLE, Question, Subject
from api.desk.sheet import Refs, Sheet
from api.questions import _cautions as cautions
from api.questions._asks import AskOnDay, AskSlowly, by_start, name_start
from api.questions._reach import AskWithinReach
from ontology.analysis.routes.reach_gains import GAINS_TOLD, GainedRole, ReachGainsResult, find_reach_gains


@dataclass(frozen=True, kw_only=True)
class AskReachGains(AskWithinReach, AskOnDay, AskSlowly):
    """Within which limits, and how many."""

    limit: int = param("Most courses and most levels to name.", default=GAINS_TOLD, minimum=1, maximum=1000)


def show(result: ReachGainsResult, subject: Subject, asked: AskReachGains, names: Names) -> Sheet:
    """Return courses and levels, those that open most first."""
    start = name_start(names, subject, asked)
    best = result.courses[0] if result.courses else None
    opened = f" {best.label} would open {count(len(best.gained), 'more role', 'more roles')}." if best else ""
    return Sheet(
        title=f"What widens the reach of {start}, {asked.on}",
        lead=f"{count(result.within_reach, 'role')} within reach already.{opened}",
        parts=(
            build_table(
                "Courses",
                result.courses,
                (
                    words("course", lambda gain: names.ref("courses", gain.id)),
                    number("study with what it needs first", lambda gain: gain.study_hours, "h"),
                    words("brings within reach", lambda gain: _list_gained(gain.gained, names)),
                ),
                "No single course, with what it needs first, brings another role within reach.",
            ),
            build_table(
                "Levels, however they are come by",
                result.levels,
                (
                    words("competency", lambda gain: names.ref("competencies", gain.competency)),
                    number("held", lambda gain: gain.have),
                    number("level", lambda gain: gain.level),
                    words("brings within reach", lambda gain: _list_gained(gain.gained, names)),
                ),
                "No single level brings another role within reach.",
            ),
        ),
    )


def _list_gained(gained: Iterable[GainedRole], names: Names) -> Refs:
    return names.refs("roles", [role.id for role in gained])


QUESTION = Question(
    asks={PERSON: AskReachGains, ROLE: AskReachGains},
    answers=ReachGainsResult,
    compute=by_start(find_reach_gains),
    cautions=(cautions.OFFER, cautions.ENTRIES, cautions.NO_SELECTION_TEST),
    needs=Kind.EXPLORATION,
    show=show,
    opening=("profile", "on"),
    is_slow=True,
)
