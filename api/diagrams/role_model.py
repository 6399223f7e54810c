"""A role's competency model in one picture: families, competencies, levels, necessity.

Imports canvas, cards, style, text and the snapshot. The role stands at the left, its competencies at the right,
grouped by the broader competency they belong to; a long model is spread over both sides, so that it fits a sheet.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Any, Final

from api.diagrams import style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.cards import (
    Key,
    build_card,
    build_main_card,
    build_name,
    build_note,
    build_ruler,
    build_ruler_keys,
    format_levels,
)
from api.diagrams.text import format_count, format_number, get_link, get_node_name
from ontology.graph.snapshot import Snapshot
from ontology.records import Requirement, Role

#: More cards than this and the model is spread over both sides of its role.
ONE_SIDE_LIMIT: Final = 11
#: A model longer than this is drawn with its weightiest requirements; the rest is counted in words.
MOST_CARDS: Final = 60

_ORDER: Final = {"blocking": 0, "essential": 1, "desirable": 2}
NO_FAMILY: Final = "Without a broader competency"


def build_role_picture(snapshot: Snapshot, role_id: str) -> Picture:
    """Return the picture of a role's competency model.

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
    canvas = Canvas(
        role.label,
        build_subtitle(role, ranked, left_out),
        build_keys(shown),
        nodesep=0.08,
        ranksep=_get_distance(shown),
    )
    _add_role(canvas, role)
    sides = _split_sides(families) if len(shown) > ONE_SIDE_LIMIT else (families, [])
    for is_mirrored, side in ((False, sides[0]), (True, sides[1])):
        for family, requirements in side:
            _add_family(canvas, snapshot, family, requirements, is_mirrored=is_mirrored)
        canvas.keep_order([get_node_name("competency", r.competency) for _, group in side for r in group])
    return canvas.finish(build_description(snapshot, role, families, left_out))


def _get_distance(shown: Sequence[Requirement]) -> float:
    """Return the inches between role and cards: a tall fan of lines needs room to spread."""
    return 0.9 + 0.03 * len(shown)


def rank_requirement(snapshot: Snapshot, requirement: Requirement) -> tuple[int, float, str, str]:
    label = snapshot.competencies[requirement.competency].label
    return (_ORDER[requirement.necessity], -requirement.weight, label, requirement.competency)


def group_by_family(snapshot: Snapshot, ranked: Sequence[Requirement]) -> list[tuple[str, list[Requirement]]]:
    """Group by the first broader competency, families in the order of their foremost requirement."""
    groups: defaultdict[str, list[Requirement]] = defaultdict(list)
    for requirement in ranked:
        broader = snapshot.competencies[requirement.competency].broader
        groups[broader[0] if broader else ""].append(requirement)
    return list(groups.items())


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


def _add_role(canvas: Canvas, role: Role) -> None:
    rows = [build_note("role" + (f", {role.family}" if role.family else ""), 26), build_name(role.label)]
    rows.append(build_note(f"full after about {format_count(role.months_to_full, 'month')}", 26))
    canvas.add_card(
        get_node_name("role", role.id),
        build_main_card(style.ROLE, rows, width=120),
        link=get_link("roles", role.id),
        tooltip=". ".join(filter(None, (f"Role {role.id}: {role.label}", role.definition))),
    )


def _add_family(
    canvas: Canvas, snapshot: Snapshot, family: str, requirements: Sequence[Requirement], *, is_mirrored: bool
) -> None:
    if family in snapshot.competencies:
        label, link = snapshot.competencies[family].label, get_link("competencies", family)
    else:
        label, link = family or NO_FAMILY, ""
    with canvas.add_cluster(get_node_name("family", family or "none"), label, link=link) as cluster:
        for requirement in requirements:
            _add_requirement(canvas, snapshot, requirement, cluster)
    for requirement in requirements:
        _connect(canvas, snapshot, requirement, is_mirrored=is_mirrored)


def _add_requirement(canvas: Canvas, snapshot: Snapshot, requirement: Requirement, cluster: Any) -> None:
    competency = snapshot.competencies[requirement.competency]
    mark = style.NECESSITIES[requirement.necessity]
    levels = (requirement.level, requirement.entry_level, requirement.unsupervised_level)
    words = f"{format_levels(*levels)}; weight {format_number(requirement.weight)}"
    kind = mark.word + (" certificate" if competency.is_certificate else "")
    ranks = len(snapshot.scales.get(competency.scale, ()))
    canvas.add_card(
        get_node_name("competency", competency.id),
        build_card(
            mark.colour,
            [build_name(competency.label, 32), build_ruler(ranks, *levels, kind), build_note(words, 48)],
            dashed=requirement.necessity == "desirable",
        ),
        link=get_link("competencies", competency.id),
        tooltip=f"{competency.label} ({competency.id}): {kind}; {words}",
        into=cluster,
    )


def _connect(canvas: Canvas, snapshot: Snapshot, requirement: Requirement, *, is_mirrored: bool) -> None:
    role, competency = get_node_name("role", requirement.role), get_node_name("competency", requirement.competency)
    mark = style.NECESSITIES[requirement.necessity]
    label = snapshot.competencies[requirement.competency].label
    tooltip = f"asks for {label} at level {requirement.level}: {mark.word}"
    if is_mirrored:
        canvas.add_edge(competency, role, tooltip=tooltip, mark=mark, dir="back")
    else:
        canvas.add_edge(role, competency, tooltip=tooltip, mark=mark)


def build_keys(shown: Sequence[Requirement]) -> list[list[Key]]:
    present = {r.necessity for r in shown}
    words = {
        "blocking": "blocking: law or safety, nothing begins without it",
        "essential": "essential",
        "desirable": "desirable (dashed)",
    }
    necessities = [Key(style.NECESSITIES[n].colour, words[n]) for n in _ORDER if n in present]
    return [necessities, build_ruler_keys()] if shown else []


def _count_necessities(requirements: Sequence[Requirement]) -> str:
    counts = [(sum(r.necessity == n for r in requirements), n) for n in _ORDER]
    return ", ".join(f"{count} {name}" for count, name in counts if count)


def build_subtitle(role: Role, requirements: Sequence[Requirement], left_out: Sequence[Requirement]) -> str:
    if not requirements:
        return "This role has no requirements yet."
    words = f"asks for {format_count(len(requirements), 'competency', 'competencies')}: "
    words += _count_necessities(requirements) + "."
    if left_out:
        words += f" Not drawn: the {len(left_out)} least weighty ones; the role's list has them all."
    return words[0].upper() + words[1:]


def build_description(
    snapshot: Snapshot,
    role: Role,
    families: Sequence[tuple[str, Sequence[Requirement]]],
    left_out: Sequence[Requirement],
) -> str:
    drawn = [r for _, group in families for r in group]
    sentences = [build_subtitle(role, [*drawn, *left_out], left_out)]
    for family, requirements in families:
        label = snapshot.competencies[family].label if family in snapshot.competencies else family or NO_FAMILY
        parts = [
            f"{snapshot.competencies[r.competency].label} ({r.necessity}, "
            + format_levels(r.level, r.entry_level, r.unsupervised_level)
            + ")"
            for r in requirements
        ]
        sentences.append(f"{label}: {'; '.join(parts)}.")
    return " ".join(sentences)
