"""The pictures by name, as DOT text: what the API and the command line call. Imports the modules of each picture.

Every text begins with comment lines, title and description: the picture in words. `render.get_text_alternative`
reads them, and `render.render` puts them into the SVG. Same input, same bytes. Every picture can be had for a screen
or for paper; on paper nothing is left out, and what does not fit on one page stands on the next.
"""

from __future__ import annotations

from api.diagrams.competency import build_competency_picture
from api.diagrams.cover import build_cover_picture
from api.diagrams.cross_training import build_cross_training_picture
from api.diagrams.learning_path import build_learning_path_picture
from api.diagrams.paging import Layout, PageError
from api.diagrams.role import build_role_picture
from api.diagrams.routes_picture import build_routes_pages, build_routes_picture
from api.diagrams.staffing import build_staffing_picture
from ontology.analysis.cover.coverage import CoverageResult
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.places.single_points import SinglePointsResult
from ontology.analysis.places.staffing import StaffingResult
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.routes.routes import RoutesResult
from ontology.analysis.training.cross_training import CrossTrainingResult
from ontology.graph.snapshot import Snapshot

__all__ = [
    "Layout",
    "PageError",
    "draw_competency",
    "draw_coverage",
    "draw_cross_training",
    "draw_learning_path",
    "draw_role",
    "draw_routes",
    "draw_staffing",
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
    return build_role_picture(snapshot, role_id, layout, page).dot


def draw_competency(snapshot: Snapshot, competency_id: str, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return a competency with its broader and narrower ones, the roles that ask for it, the courses that reach it.

    Raises
    ------
    UnknownIdError
        There is no such competency.
    PageError
        There is no such page.
    """
    return build_competency_picture(snapshot, competency_id, layout, page).dot


def draw_learning_path(
    snapshot: Snapshot,
    profile: Profile,
    result: LearningPathResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a learning path as an AND/OR picture: courses, levels, what waits for what.

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
    return build_learning_path_picture(snapshot, profile, result, layout, page).dot


def draw_routes(
    snapshot: Snapshot, profile: Profile, result: RoutesResult, *, layout: Layout = "screen", page: int = 1
) -> str:
    """Return upskilling routes as a ladder: roles by family and months from now, hours on the steps, the best named.

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
        return build_routes_pages(snapshot, profile, result, page).dot
    return build_routes_picture(snapshot, profile, result).dot


def draw_coverage(
    snapshot: Snapshot,
    coverage_result: CoverageResult,
    single_points_result: SinglePointsResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a team's cover: the needs that are short or hang on one person, on whom, and all others.

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
    return build_cover_picture(snapshot, coverage_result, single_points_result, layout=layout, page=page).dot


def draw_staffing(snapshot: Snapshot, result: StaffingResult, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return who fills what at once: the slots that compete, the too few people, who is closest.

    Raises
    ------
    PageError
        There is no such page.
    """
    return build_staffing_picture(snapshot, result, layout=layout, page=page).dot


def draw_cross_training(
    snapshot: Snapshot,
    coverage_result: CoverageResult,
    result: CrossTrainingResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a cross-training plan: who learns what, what it changes now and then, what stays missing.

    Parameters
    ----------
    snapshot : Snapshot
    coverage_result : CoverageResult
        Of the same team, date and people away: before the plan.
    result : CrossTrainingResult
    layout : {"screen", "paper"}
    page : int
        From 1; a screen has one.

    Raises
    ------
    PageError
        There is no such page.
    """
    return build_cross_training_picture(snapshot, coverage_result, result, layout=layout, page=page).dot


def _is_paper(layout: Layout, page: int) -> bool:
    """Whether sheets are asked for; a picture for a screen has one page."""
    if layout == "screen" and page != 1:
        raise PageError(page, 1)
    return layout == "paper"
