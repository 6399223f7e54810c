"""The pictures by name, as DOT text: what the API and the command line call. Imports the modules of each picture.

Every text begins with two comment lines, title and description: the picture in words. `render.get_text_alternative`
reads them, and `render.render` puts them into the SVG. Same input, same bytes. Every picture can be had for a screen
or for paper; on paper nothing is left out, and what does not fit on one page stands on the next.
"""

from __future__ import annotations

from api.diagrams.cover_sheet import build_cover_sheet
from api.diagrams.learning_path import build_learning_path_picture
from api.diagrams.neighbourhood import build_neighbourhood_picture
from api.diagrams.neighbourhood_sheet import build_neighbourhood_sheet
from api.diagrams.path_sheet import build_path_sheet, has_long_chain
from api.diagrams.role_model import build_role_picture
from api.diagrams.role_sheet import build_role_sheet
from api.diagrams.routes import build_routes_picture
from api.diagrams.routes_sheet import build_routes_sheet
from api.diagrams.sheet import Layout, PageError
from api.diagrams.team_cover import build_team_cover_picture
from ontology.analysis.coverage import CoverageResult
from ontology.analysis.learning_path import LearningPathResult
from ontology.analysis.levels import Profile
from ontology.analysis.routes import RoutesResult
from ontology.analysis.single_points import SinglePointsResult
from ontology.graph.snapshot import Snapshot

__all__ = [
    "Layout",
    "PageError",
    "draw_competency",
    "draw_coverage",
    "draw_learning_path",
    "draw_role",
    "draw_routes",
]


def draw_role(snapshot: Snapshot, role_id: str, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return a role's competency model: families, competencies, levels, necessity.

    Raises
    ------
    UnknownIdError
        There is no such role.
    PageError
        There is no such page.
    """
    if _is_paper(layout, page):
        return build_role_sheet(snapshot, role_id, page).dot
    return build_role_picture(snapshot, role_id).dot


def draw_competency(snapshot: Snapshot, competency_id: str, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return a competency with its broader and narrower ones, the roles that ask for it, the courses that reach it.

    Raises
    ------
    UnknownIdError
        There is no such competency.
    PageError
        There is no such page.
    """
    if _is_paper(layout, page):
        return build_neighbourhood_sheet(snapshot, competency_id, page).dot
    return build_neighbourhood_picture(snapshot, competency_id).dot


def draw_learning_path(
    snapshot: Snapshot,
    profile: Profile,
    result: LearningPathResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a learning path: start, courses in order with hours, target levels.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : LearningPathResult
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    if _is_paper(layout, page):
        return build_path_sheet(snapshot, profile, result, page).dot
    if has_long_chain(result):
        return build_path_sheet(snapshot, profile, result, layout="screen").dot
    return build_learning_path_picture(snapshot, profile, result).dot


def draw_routes(
    snapshot: Snapshot, profile: Profile, result: RoutesResult, *, layout: Layout = "screen", page: int = 1
) -> str:
    """Return upskilling routes: roles as steps, hours and months on the lines, the best ones named.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : RoutesResult
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    if _is_paper(layout, page):
        return build_routes_sheet(snapshot, profile, result, page).dot
    return build_routes_picture(snapshot, profile, result).dot


def draw_coverage(
    snapshot: Snapshot,
    coverage_result: CoverageResult,
    single_points_result: SinglePointsResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a team's cover: who holds what up, the state of each need, single points of failure, who is away.

    Parameters
    ----------
    snapshot : Snapshot
    coverage_result : CoverageResult
    single_points_result : SinglePointsResult
        Of the same team, date and people away.
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    if _is_paper(layout, page):
        return build_cover_sheet(snapshot, coverage_result, single_points_result, page).dot
    return build_team_cover_picture(snapshot, coverage_result, single_points_result).dot


def _is_paper(layout: Layout, page: int) -> bool:
    """Whether sheets are asked for; a picture for a screen has one page."""
    if layout == "screen" and page != 1:
        raise PageError(page, 1)
    return layout == "paper"
