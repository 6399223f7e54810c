"""Routes and reachable roles as the OpenAPI document describes them. Imports marshmallow only."""

from __future__ import annotations

from api.schemas.shown import (
    ABOUT_STATUS,
    STANDINGS,
    STATUSES,
    AnswerAboutProfile,
    AnswerPart,
    flag,
    number,
    part,
    parts,
    text,
    texts,
)
from api.schemas.unreachable import UnreachableLevel


class RouteMove(AnswerPart):
    """One move of a route."""

    role = text("The role moved into.")
    label = text("Its label.")
    study_hours = number("Hours of the courses before it; null where no courses reach it.", nullable=True)
    months = number("Preparation and time in the role (0 for the last), at least.", nullable=True)
    courses = texts("The courses before it, in order.")


class Route(AnswerPart):
    """A chain of moves."""

    roles = texts("The roles moved into, the target last.")
    study_hours = number("Hours of all courses.")
    months = number("Calendar time, at least.", nullable=True)
    cost = number("Cost of all courses.")
    moves = parts(RouteMove, "The moves, in order.")


class BrokenLimit(AnswerPart):
    """A limit that a move breaks."""

    limit = text("Which.", choices=("preparation", "level"))
    competency = text("Whose level is too far above the profile.", nullable=True)
    allowed = number("Hours, or levels.")
    needed = number("Hours, or levels.")


class DirectMove(AnswerPart):
    """The move straight into the target."""

    roles = texts("The target.")
    study_hours = number("Hours; null where no courses reach it.", nullable=True)
    months = number("Calendar time, at least.", nullable=True)
    cost = number("Cost.", nullable=True)
    moves = parts(RouteMove, "The one move.")
    within_reach = flag("Whether it breaks no limit.")
    broken_limits = parts(BrokenLimit, "The limits it breaks.")
    unreachable = parts(UnreachableLevel, "Entry levels that no courses reach, and why.")


class BestRoutes(AnswerPart):
    """The best route by each aim."""

    study_hours = part(Route, "Least study hours.", nullable=True)
    months = part(Route, "Least months.", nullable=True)
    moves = part(Route, "Fewest moves.", nullable=True)


class Routes(AnswerAboutProfile):
    """Upskilling routes to a role."""

    role = text("The target role.")
    status = text(ABOUT_STATUS, choices=STATUSES)
    lower_bound = number("Hours no route is below; null where there is no route.", nullable=True)
    best = part(BestRoutes, "The best route by each aim.")
    trade_off = parts(Route, "Routes no other beats in hours or months without losing in the other.")
    other_routes = parts(Route, "Further routes.")
    direct = part(DirectMove, "The direct move, within reach or not.")


class ReachableRole(AnswerPart):
    """A role one move away."""

    id = text("Id of the role.")
    label = text("Its label.")
    study_hours = number("Hours of the preparation; null where no courses reach it.", nullable=True)
    months = number("Calendar time of the preparation.", nullable=True)
    within_reach = flag("Whether the move breaks no limit.")
    broken_limits = parts(BrokenLimit, "The limits it breaks.")
    standing = text("What is met today.", choices=STANDINGS)


class ReachableRoles(AnswerAboutProfile):
    """Roles one move away."""

    status = text(ABOUT_STATUS, choices=("optimal", "feasible"))
    roles = parts(ReachableRole, "Those within reach first.")
