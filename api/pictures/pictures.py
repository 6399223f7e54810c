"""The pictures by name, as DOT text: what the questions and the pages call.

Every text begins with comment lines, title and description: the picture in words. `svg.get_text_alternative` reads
them, and `render.render` puts them into the SVG. Same input, same bytes.

Every picture can be had for a screen (`layout` "screen", one page) or for paper ("paper", `page` from 1): there
nothing is left out, and what does not fit on one page stands on the next. `paging.PageError`: there is no such page;
`UnknownIdError`: there is no such role, competency or team.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import Any, Final


def _draw_by(module: str) -> Callable[..., str]:
    """Return what draws a picture. Its module comes with the first: a question only printed brings none of them."""

    def draw(*about: Any, **shown: Any) -> str:
        build = getattr(import_module(f"api.pictures.{module}"), f"build_{module}_picture")
        return str(build(*about, **shown).dot)

    return draw


#: What a role asks: snapshot, id.
draw_role: Final = _draw_by("role")
#: Where a competency is learned and who asks for it, at which level: snapshot, id.
draw_competency: Final = _draw_by("competency")
#: What first, what then, what else could be taken: snapshot, the profile the answer was computed for, answer.
draw_learning_path: Final = _draw_by("learning_path")
#: Which way to a role is best, and why not directly: snapshot, profile, answer.
draw_routes: Final = _draw_by("routes")
#: A schedule as a calendar: snapshot, profile, answer.
draw_schedule: Final = _draw_by("calendar")
#: What is short or hangs on one person: snapshot, coverage, single points of the same team, date and people away.
draw_coverage: Final = _draw_by("cover")
#: Where it changed between two states, and what moved: rows, the states before and after, title.
draw_comparison: Final = _draw_by("comparison")
#: Who fills what at once, and who is missing: snapshot, answer.
draw_staffing: Final = _draw_by("staffing")
#: Who learns what and what it changes: snapshot, coverage before the plan, plan.
draw_cross_training: Final = _draw_by("cross_training")
#: What must be held, by week: snapshot, the obligations of a team.
draw_dues: Final = _draw_by("dues")
#: Who goes when, by week: snapshot, a plan of sessions.
draw_session_weeks: Final = _draw_by("session_weeks")
#: People across, needs or jobs down: snapshot, plan, its chart; `words` and `row_words` tell cells and rows.
draw_training_chart: Final = _draw_by("training_chart")
