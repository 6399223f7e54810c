"""One function per answer: a Snapshot and typed parameters in, a plain JSON-ready dict out. No Flask, no clock.

The REST resources, the pages and the command line call these, so all three say the same. Every answer holds
`revision` (the state it was computed from) and `cautions` (what it must not be taken for).
"""

from api.services.answering import get_profile
from api.services.cover import get_coverage, get_cross_training, get_single_points_of_failure, get_staffing
from api.services.paths import (
    DEFAULT_LEVEL_LIMIT,
    DEFAULT_MAX_MOVES,
    DEFAULT_PREPARATION_LIMIT,
    find_path,
    find_upskilling_routes,
    get_gap,
    get_learning_path,
    get_reachable_roles,
    get_routes,
    get_similar_roles,
)

__all__ = [
    "DEFAULT_LEVEL_LIMIT",
    "DEFAULT_MAX_MOVES",
    "DEFAULT_PREPARATION_LIMIT",
    "find_path",
    "find_upskilling_routes",
    "get_coverage",
    "get_cross_training",
    "get_gap",
    "get_learning_path",
    "get_profile",
    "get_reachable_roles",
    "get_routes",
    "get_similar_roles",
    "get_single_points_of_failure",
    "get_staffing",
]
