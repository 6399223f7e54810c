"""The pictures by name, as DOT text: what the API and the command line call. Imports the modules of each picture.

Every text begins with two comment lines, title and description: the picture in words. `render.get_text_alternative`
reads them, and `render.render` puts them into the SVG. Same input, same bytes.
"""

from __future__ import annotations

from api.diagrams.learning_path import build_learning_path_picture
from api.diagrams.neighbourhood import build_neighbourhood_picture
from api.diagrams.role_model import build_role_picture
from api.diagrams.routes import build_routes_picture
from api.diagrams.team_cover import build_team_cover_picture
from ontology.analysis.coverage import CoverageResult
from ontology.analysis.learning_path import LearningPathResult
from ontology.analysis.levels import Profile
from ontology.analysis.routes import RoutesResult
from ontology.analysis.single_points import SinglePointsResult
from ontology.graph.snapshot import Snapshot

__all__ = ["draw_competency", "draw_coverage", "draw_learning_path", "draw_role", "draw_routes"]


def draw_role(snapshot: Snapshot, role_id: str) -> str:
    """Return a role's competency model: families, competencies, levels, necessity.

    Raises
    ------
    UnknownIdError
        There is no such role.
    """
    return build_role_picture(snapshot, role_id).dot


def draw_competency(snapshot: Snapshot, competency_id: str) -> str:
    """Return a competency with its broader and narrower ones, the roles that ask for it, the courses that reach it.

    Raises
    ------
    UnknownIdError
        There is no such competency.
    """
    return build_neighbourhood_picture(snapshot, competency_id).dot


def draw_learning_path(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> str:
    """Return a learning path: start, courses in order with hours, target levels.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : LearningPathResult
    """
    return build_learning_path_picture(snapshot, profile, result).dot


def draw_routes(snapshot: Snapshot, profile: Profile, result: RoutesResult) -> str:
    """Return upskilling routes: roles as steps, hours and months on the lines, the best ones named.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : RoutesResult
    """
    return build_routes_picture(snapshot, profile, result).dot


def draw_coverage(snapshot: Snapshot, coverage_result: CoverageResult, single_points_result: SinglePointsResult) -> str:
    """Return a team's cover: who holds what up, the state of each need, single points of failure, who is away.

    Parameters
    ----------
    snapshot : Snapshot
    coverage_result : CoverageResult
    single_points_result : SinglePointsResult
        Of the same team, date and people away.
    """
    return build_team_cover_picture(snapshot, coverage_result, single_points_result).dot
