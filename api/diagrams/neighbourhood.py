"""A competency among its neighbours: broader, narrower, courses that reach it, roles that ask for it.

Imports star, neighbourhood_sheet and the snapshot. What is above, below and leads to the competency stands at the left,
the roles that ask for it at the right, each kind in a frame of its own with its name and count.
"""

from __future__ import annotations

from typing import Final

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.neighbourhood_sheet import read_neighbourhood
from api.diagrams.star import Arm, StarContent, build_star_picture
from ontology.graph.snapshot import Snapshot

#: A frame holds no more cards than this; the rest is counted in words.
MOST_CARDS: Final = 60


def build_neighbourhood_picture(snapshot: Snapshot, competency_id: str) -> Picture:
    """Return the picture of a competency and everything one step away from it, for a screen.

    Parameters
    ----------
    snapshot : Snapshot
    competency_id : str

    Raises
    ------
    UnknownIdError
        There is no such competency.

    Notes
    -----
    O(k log k) for k neighbours, at most 60 of a kind drawn: courses by level, roles by level and weight.
    """
    around = read_neighbourhood(snapshot, competency_id, MOST_CARDS)
    content = StarContent(
        snapshot.competencies[competency_id].label,
        around.subtitle,
        around.keys,
        around.middle,
        style.COMPETENCY,
        [
            Arm(around.broader, style.COMPETENCY, "is part of what is broader"),
            Arm(around.courses, style.COURSE, "courses reach it", points_at="middle"),
            Arm(around.narrower, style.COMPETENCY, "holds what is narrower"),
        ],
        [Arm(around.roles, style.ROLE, "roles ask for it", points_at="middle")],
        around.description,
    )
    return build_star_picture(content)
