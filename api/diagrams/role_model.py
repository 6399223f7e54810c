"""A role's competency model in one picture: families, competencies, levels, necessity.

Imports star, role_sheet, role_words and the snapshot. The role stands in the middle, its competencies beside it,
grouped by the broader competency they belong to; a long model is spread over both sides.
"""

from __future__ import annotations

from typing import Final

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.role_sheet import build_family_group, build_role_cell
from api.diagrams.role_words import build_description, build_keys, build_subtitle, group_by_family, rank_requirement
from api.diagrams.star import Arm, StarContent, build_star_picture
from ontology.graph.snapshot import Snapshot
from ontology.records import Requirement

#: More cards than this and the model is spread over both sides of its role.
ONE_SIDE_LIMIT: Final = 11
#: A model longer than this is drawn with its weightiest requirements; the rest is counted in words.
MOST_CARDS: Final = 60


def build_role_picture(snapshot: Snapshot, role_id: str) -> Picture:
    """Return the picture of a role's competency model, for a screen.

    Parameters
    ----------
    snapshot : Snapshot
    role_id : str

    Raises
    ------
    UnknownIdError
        There is no such role.

    Notes
    -----
    O(k log k) for k requirements, at most 60 of them drawn: blocking first, then essential, by weight.
    """
    role = snapshot.require_role(role_id)
    ranked = sorted(snapshot.get_requirements(role_id), key=lambda r: rank_requirement(snapshot, r))
    shown, left_out = ranked[:MOST_CARDS], ranked[MOST_CARDS:]
    families = group_by_family(snapshot, shown)
    right, left = _split_sides(families) if len(shown) > ONE_SIDE_LIMIT else (families, [])
    content = StarContent(
        role.label,
        build_subtitle(role, ranked, left_out),
        build_keys(shown),
        build_role_cell(role),
        style.ROLE,
        [_build_arm(snapshot, *family) for family in left],
        [_build_arm(snapshot, *family) for family in right],
        build_description(snapshot, role, families, left_out),
    )
    return build_star_picture(content)


def _build_arm(snapshot: Snapshot, family: str, requirements: list[Requirement]) -> Arm:
    group = build_family_group(snapshot, family, requirements)
    return Arm(group, style.ROLE, f"asks for {len(requirements)} of {group.words}", points_at="group")


def _split_sides(
    families: list[tuple[str, list[Requirement]]],
) -> tuple[list[tuple[str, list[Requirement]]], list[tuple[str, list[Requirement]]]]:
    """Spread families over two sides of about the same height, the longest first (LPT rule, Graham 1969)."""
    sides: tuple[set[str], set[str]] = (set(), set())
    heights = [0, 0]
    for family, requirements in sorted(families, key=lambda item: (-len(item[1]), item[0])):
        side = 0 if heights[0] <= heights[1] else 1
        sides[side].add(family)
        # the cluster's own heading takes about one card
        heights[side] += len(requirements) + 1
    return [f for f in families if f[0] in sides[0]], [f for f in families if f[0] in sides[1]]
