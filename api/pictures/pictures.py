"""The pictures by name, as DOT text: what the API and the command line call. Imports the modules of each picture.

Every text begins with comment lines, title and description: the picture in words. `svg.get_text_alternative` reads
them, and `render.render` puts them into the SVG. Same input, same bytes.

Every picture can be had for a screen (`layout` "screen", one page) or for paper ("paper", `page` from 1): there
nothing is left out, and what does not fit on one page stands on the next. `PageError`: there is no such page. A
`profile` is the one the answer was computed for, and a coverage that of the same team, date and people away.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from api.pictures.paging import Layout, PageError

# What draws is imported where it is called: a question that is only asked and printed brings no picture.
if TYPE_CHECKING:
    from api.pictures.training_chart import CellWords, RowWords
    from ontology.analysis.cover.coverage import CoverageResult
    from ontology.analysis.paths.learning_path import LearningPathResult
    from ontology.analysis.places.single_points import SinglePointsResult
    from ontology.analysis.places.staffing import StaffingResult
    from ontology.analysis.profiles.levels import Profile
    from ontology.analysis.routes.routes import RoutesResult
    from ontology.analysis.schedule.schedule import ScheduleResult
    from ontology.analysis.training.cross_training import CrossTrainingResult
    from ontology.analysis.training.training_chart import TrainingChart
    from ontology.snapshot.snapshot import Snapshot

__all__ = [
    "Layout",
    "PageError",
    "draw_competency",
    "draw_coverage",
    "draw_cross_training",
    "draw_learning_path",
    "draw_role",
    "draw_routes",
    "draw_schedule",
    "draw_staffing",
    "draw_training_chart",
]


def draw_role(snapshot: Snapshot, role_id: str, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return what a role asks: competencies, levels, necessity. Raises `UnknownIdError` too."""
    from api.pictures.role import build_role_picture

    return build_role_picture(snapshot, role_id, layout, page).dot


def draw_competency(snapshot: Snapshot, competency_id: str, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return where a competency is learned and who asks for it, at which level. Raises `UnknownIdError` too."""
    from api.pictures.competency import build_competency_picture

    return build_competency_picture(snapshot, competency_id, layout, page).dot


def draw_learning_path(
    snapshot: Snapshot, profile: Profile, result: LearningPathResult, *, layout: Layout = "screen", page: int = 1
) -> str:
    """Return a learning path: what first, what then, what else could be taken."""
    from api.pictures.learning_path import build_learning_path_picture

    return build_learning_path_picture(snapshot, profile, result, layout, page).dot


def draw_routes(
    snapshot: Snapshot, profile: Profile, result: RoutesResult, *, layout: Layout = "screen", page: int = 1
) -> str:
    """Return upskilling routes: which way is best, and why not directly."""
    from api.pictures.routes import build_routes_picture

    return build_routes_picture(snapshot, profile, result, layout, page).dot


def draw_schedule(
    snapshot: Snapshot, profile: Profile, result: ScheduleResult, *, layout: Layout = "screen", page: int = 1
) -> str:
    """Return a schedule as a calendar: bars by day, slack, renewals, certificates until they lapse.

    Raises
    ------
    PageError
        There is no such page.
    """
    from api.pictures.calendar import build_calendar_picture

    if layout == "screen" and page != 1:
        raise PageError(page, 1)
    return build_calendar_picture(snapshot, profile, result, layout=layout, page=page).dot


def draw_coverage(
    snapshot: Snapshot,
    coverage_result: CoverageResult,
    single_points_result: SinglePointsResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a team's cover: the needs that are short or hang on one person, on whom, and all others."""
    from api.pictures.cover import build_cover_picture

    return build_cover_picture(snapshot, coverage_result, single_points_result, layout=layout, page=page).dot


def draw_staffing(snapshot: Snapshot, result: StaffingResult, *, layout: Layout = "screen", page: int = 1) -> str:
    """Return who fills what at once: the slots that compete, the too few people, who is closest."""
    from api.pictures.staffing import build_staffing_picture

    return build_staffing_picture(snapshot, result, layout=layout, page=page).dot


def draw_cross_training(
    snapshot: Snapshot,
    coverage_result: CoverageResult,
    result: CrossTrainingResult,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a cross-training plan, `coverage_result` before it: who learns what, what it changes."""
    from api.pictures.cross_training import build_cross_training_picture

    return build_cross_training_picture(snapshot, coverage_result, result, layout=layout, page=page).dot


def draw_training_chart(
    snapshot: Snapshot,
    plan: CrossTrainingResult,
    chart: TrainingChart,
    *,
    words: CellWords,
    row_words: RowWords,
    layout: Layout = "screen",
    page: int = 1,
) -> str:
    """Return a training timetable: people across, needs or jobs down; `words` and `row_words` tell cells and rows."""
    from api.pictures.training_chart import build_training_chart_picture

    picture = build_training_chart_picture(
        snapshot, plan, chart, words=words, row_words=row_words, layout=layout, page=page
    )
    return picture.dot
