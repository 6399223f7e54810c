"""One function per answer: a Snapshot and typed parameters in, a plain JSON-ready dict out. No Flask, no clock.

The REST resources, the pages and the command line call these, so all three say the same. Every answer holds
`revision` (the state it was computed from) and `cautions` (what it must not be taken for).
"""

from api.services.answering import get_profile
from api.services.cover import get_coverage, get_single_points_of_failure, get_staffing
from api.services.cover_over_time import (
    get_company_cover,
    get_coverage_timeline,
    get_fragile_needs,
    get_headcount,
    get_stand_ins,
)
from api.services.framework import get_framework_review, get_reach_gains
from api.services.learning_paths import PathOptions, find_path, get_learning_path
from api.services.paths import (
    DEFAULT_LEVEL_LIMIT,
    DEFAULT_MAX_MOVES,
    DEFAULT_PREPARATION_LIMIT,
    find_upskilling_routes,
    get_gap,
    get_reachable_roles,
    get_routes,
    get_similar_roles,
)
from api.services.plan_documents import build_plan_calendar, build_plan_workbook
from api.services.plans import (
    answer_development_plan,
    find_development_plan,
    find_schedule,
    get_development_plan,
    get_schedule,
)
from api.services.training import find_cross_training, get_cross_training
from api.services.training_chart import (
    answer_training_timetable,
    describe_cell,
    describe_lapse,
    describe_row,
    find_training_chart,
    get_training_timetable,
)
from api.services.training_documents import build_training_calendar, build_training_workbook

__all__ = [
    "DEFAULT_LEVEL_LIMIT",
    "DEFAULT_MAX_MOVES",
    "DEFAULT_PREPARATION_LIMIT",
    "PathOptions",
    "answer_development_plan",
    "answer_training_timetable",
    "build_plan_calendar",
    "build_plan_workbook",
    "build_training_calendar",
    "build_training_workbook",
    "describe_cell",
    "describe_lapse",
    "describe_row",
    "find_cross_training",
    "find_development_plan",
    "find_path",
    "find_schedule",
    "find_training_chart",
    "find_upskilling_routes",
    "get_company_cover",
    "get_coverage",
    "get_coverage_timeline",
    "get_cross_training",
    "get_development_plan",
    "get_fragile_needs",
    "get_framework_review",
    "get_gap",
    "get_headcount",
    "get_learning_path",
    "get_profile",
    "get_reach_gains",
    "get_reachable_roles",
    "get_routes",
    "get_schedule",
    "get_similar_roles",
    "get_single_points_of_failure",
    "get_staffing",
    "get_stand_ins",
    "get_training_timetable",
]
