"""What counts as within reach: asked wherever moves between roles are looked for."""

from __future__ import annotations

from dataclasses import dataclass

from api.desk.parameters import Asks, param
from ontology.analysis.routes.moves import LEVEL_LIMIT, PREPARATION_LIMIT


@dataclass(frozen=True, kw_only=True)
class AskWithinReach(Asks):
    """What counts as within reach."""

    preparation_limit: float = param(
        "Most study hours before one move.", default=PREPARATION_LIMIT, minimum=0, unit="h"
    )
    level_limit: int = param(
        "Most levels a requirement may be above the profile at the time the preparation starts.",
        default=LEVEL_LIMIT,
        minimum=0,
        maximum=1000,
        unit="levels",
    )
