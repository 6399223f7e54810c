"""What a learning path may be asked, and everything that is made of one: pictures, calendars, plans."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from api.desk.kinds import CourseIds
from api.desk.names import Names
from api.desk.parameters import param
from api.desk.question import Subject, get_by_names
from api.errors import ParameterError, WrongParameter
from api.questions._asks import AskOnDay, AskSlowly, find_way
from ontology.analysis.paths.aims import Aim, Levels
from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path
from ontology.analysis.paths.person_path import find_person_path
from ontology.analysis.profiles.profile import Profile, build_profile, build_role_profile
from ontology.snapshot.snapshot import Snapshot

if TYPE_CHECKING:
    from ontology.analysis.routes.route_results import RouteMove


@dataclass(frozen=True, kw_only=True)
class AskOfPath(AskOnDay, AskSlowly):
    """What a learning path can be asked."""

    minimise: Aim = param("The first aim.", default="hours")
    levels: Levels = param(
        "Full levels, or those that the role asks on the first day: the move into it alone.",
        default="full",
    )
    desirable: bool = param("Whether desirable requirements count.", default=False)
    exclude: CourseIds = param("Courses never used.", default=frozenset())
    include: CourseIds = param(
        "Courses of the path in any case, as the way chosen has them before its move; not beside a budget.",
        default=frozenset(),
    )
    max_hours: float | None = param(
        "Most study hours. If no path fits: the largest readiness they buy.", default=None, minimum=0, unit="h"
    )
    max_cost: float | None = param(
        "Most money. If no path fits: the largest readiness it buys.", default=None, minimum=0
    )
    already_booked: CourseIds = param(
        "Courses taken for granted as soon as they can be taken, at no cost to the path. Those in which the person "
        "has a seat are, without being named.",
        default=frozenset(),
    )

    def check(self, snapshot: Snapshot) -> None:
        """Raise ParameterError where a course is excluded and wanted too, or included beside a budget."""
        for name, wanted in (("already_booked", self.already_booked), ("include", self.include)):
            if both := self.exclude & wanted:
                reason = "must not name a course that is excluded too"
                raise ParameterError(WrongParameter(name, ",".join(sorted(both)), reason))
        if self.include and not (self.max_hours is None and self.max_cost is None):
            reason = "must be left out beside a budget: its courses are taken whatever they cost"
            raise ParameterError(WrongParameter("include", ",".join(sorted(self.include)), reason))


def name_aim(names: Names, role_id: str, asked: AskOfPath) -> str:
    """Return what the courses lead to, in words."""
    role = names.role(role_id)
    return f"the first day as {role}" if asked.levels == "entry" else role


def tell_levels(asked: AskOfPath) -> dict[str, str]:
    """Return the levels and the courses of a way as what to ask next says them: what is usual is left out."""
    levels = {"levels": asked.levels} if asked.levels != "full" else {}
    return levels | ({"include": ",".join(sorted(asked.include))} if asked.include else {})


def ask_first_plan(moves: Sequence[RouteMove]) -> dict[str, str]:
    """Return what a calendar of the first move of a way is asked: with exactly the courses that the way has before it.

    A course before the first move may serve a later one, so the way names them; one move alone needs no more than its
    own cheapest courses.
    """
    first = moves[0]
    include = {"include": ",".join(sorted(first.courses))} if len(moves) > 1 and first.courses else {}
    return {"role": first.role, "levels": "entry"} | include


def build_path_profile(snapshot: Snapshot, subject: Subject, asked: AskOfPath) -> Profile:
    """Return the profile that a path starts from: a person's on the day, or that of someone fully in a role."""
    way = find_way(subject, asked)
    if way.person_id is not None:
        return build_profile(snapshot, way.person_id, asked.on)
    assert way.from_role_id is not None
    return build_role_profile(snapshot, way.from_role_id)


def find_path(
    snapshot: Snapshot, subject: Subject, asked: AskOfPath, *, alternatives: int | None = 0
) -> LearningPathResult:
    """Return the learning path that is asked for; of a person with its last day and what has lapsed by then."""
    way = find_way(subject, asked)
    options = get_by_names(asked, {"desirable": "with_desirable"}, AskOfPath) | {"alternatives": alternatives}
    if way.person_id is not None:
        return find_person_path(snapshot, way.person_id, way.role_id, **options)
    del options["on"]
    return find_learning_path(snapshot, build_path_profile(snapshot, subject, asked), way.role_id, **options)
