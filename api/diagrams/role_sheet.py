"""A role's competency model on sheets: a column of cards for each family. Imports role_words, sheet, sheet_picture."""

from __future__ import annotations

from collections.abc import Sequence

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.old_cards import Line, Ruler, build_note, format_levels
from api.diagrams.role_words import (
    NO_FAMILY,
    build_description,
    build_keys,
    build_subtitle,
    group_by_family,
    rank_requirement,
)
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.text import format_count, format_number, get_link, get_node_name
from ontology.graph.snapshot import Snapshot
from ontology.records import Requirement, Role


def build_role_sheet(snapshot: Snapshot, role_id: str, page: int = 1) -> Picture:
    """Return one page of a role's model on paper, with every requirement.

    Raises
    ------
    UnknownIdError
        There is no such role.
    PageError
        There is no such page.
    """
    role = snapshot.require_role(role_id)
    ranked = sorted(snapshot.get_requirements(role_id), key=lambda r: rank_requirement(snapshot, r))
    families = group_by_family(snapshot, ranked)
    return build_sheet_picture(
        SheetContent(
            role.label,
            build_subtitle(role, ranked, []),
            build_keys(ranked),
            "",
            build_role_cell(role),
            style.ROLE,
            [build_family_group(snapshot, *family) for family in families],
            build_description(snapshot, role, families, []),
        ),
        page,
    )


def build_role_cell(role: Role) -> Cell:
    """Return the card of the role itself."""
    rows = (
        build_note("role" + (f", {role.family}" if role.family else ""), NOTE_COLUMNS),
        Line(role.label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
        build_note(f"full after about {format_count(role.months_to_full, 'month')}", NOTE_COLUMNS),
    )
    tooltip = ". ".join(filter(None, (f"Role {role.id}: {role.label}", role.definition)))
    return Cell(get_node_name("role", role.id), rows, style.ROLE.colour, tooltip, get_link("roles", role.id))


def build_family_group(snapshot: Snapshot, family: str, requirements: Sequence[Requirement]) -> Group:
    """Return the requirements of one broader competency (or of none) as a group of cards."""
    is_known = family in snapshot.competencies
    return Group(
        get_node_name("family", family or "none"),
        snapshot.competencies[family].label if is_known else family or NO_FAMILY,
        tuple(_build_cell(snapshot, requirement) for requirement in requirements),
        style.COMPETENCY.colour,
        get_link("competencies", family) if is_known else "",
    )


def _build_cell(snapshot: Snapshot, requirement: Requirement) -> Cell:
    competency = snapshot.competencies[requirement.competency]
    mark = style.NECESSITIES[requirement.necessity]
    levels = (requirement.level, requirement.entry_level, requirement.unsupervised_level)
    words = f"{format_levels(*levels)}; weight {format_number(requirement.weight)}"
    kind = mark.word + (" certificate" if competency.is_certificate else "")
    ranks = len(snapshot.scales.get(competency.scale, ()))
    return Cell(
        get_node_name("competency", competency.id),
        (
            Line(competency.label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None),
            Ruler(ranks, *levels, kind),
            build_note(words, NOTE_COLUMNS),
        ),
        mark.colour,
        f"{competency.label} ({competency.id}): {kind}; {words}",
        get_link("competencies", competency.id),
        mark,
        is_dashed=requirement.necessity == "desirable",
    )
