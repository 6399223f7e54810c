"""Where a learning path or route begins: the card of the person or role, and what it is called.

Imports cards, sheet, style, text and the snapshot.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.diagrams import old_style as style
from api.diagrams.old_cards import Line, build_name, build_note
from api.diagrams.sheet import Cell
from api.diagrams.text import format_number, get_link
from ontology.analysis.profiles.levels import Profile
from ontology.graph.snapshot import Snapshot

START: Final = "start"


def get_start_name(snapshot: Snapshot, profile: Profile) -> str:
    """Return what the start is called inside a sentence."""
    if profile.kind == "person" and profile.held_by in snapshot.people:
        return snapshot.people[profile.held_by].name
    if profile.held_by in snapshot.roles:
        return f"someone fully in the role {snapshot.roles[profile.held_by].label}"
    return "someone new"


def build_start_cell(snapshot: Snapshot, profile: Profile, more: Sequence[Line] = (), tooltip: str = "") -> Cell:
    """Return what the start card holds."""
    name = get_start_name(snapshot, profile)
    rows = [build_note("starts from", 26), build_name(name[0].upper() + name[1:])]
    if profile.kind == "person" and profile.role in snapshot.roles:
        rows.append(build_note(snapshot.roles[profile.role].label, 26))
    rows.append(build_note(f"{format_number(profile.study_hours_per_week)} study hours a week", 28))
    mark, collection = (style.PERSON, "people") if profile.kind == "person" else (style.ROLE, "roles")
    return Cell(
        START,
        (*rows, *more),
        mark.colour,
        ". ".join(filter(None, (f"Start: {name}", tooltip))),
        get_link(collection, profile.held_by) if profile.held_by else "",
    )
