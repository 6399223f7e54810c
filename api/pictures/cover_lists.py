"""The lists below the picture of a team's cover: single points of failure and needs that are not drawn.

Imports cards, cover_words, style, text, the snapshot and the answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.pictures import style
from api.pictures.cards import cell, listing, state, words
from api.pictures.cover_words import STATES, format_away, iterate_scopes
from api.pictures.names import get_label, get_shift_label
from api.pictures.text import get_link
from ontology.analysis.cover.coverage import CoverageRow
from ontology.analysis.places.single_points import SinglePoint
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_need_list", "build_point_list"]

_LABEL_COLUMNS: Final = 46
_WHERE_COLUMNS: Final = 30


def build_point_list(snapshot: Snapshot, points: Sequence[SinglePoint]) -> str:
    """Return single points of failure who are able for no need that is drawn, as markup; empty for none."""
    rows = []
    for point in points:
        person = snapshot.people[point.id]
        where = get_shift_label(snapshot, person.shift) or "no shift"
        falls = format_away(snapshot, point, ())
        named = cell(
            words(get_label(snapshot.people, person.id), columns=_LABEL_COLUMNS),
            link=get_link("people", point.id),
            tooltip=f"{get_label(snapshot.people, person.id)}, {where}; if away: {falls}",
        )
        rows.append((named, words(where, columns=_WHERE_COLUMNS), words(falls, columns=54)))
    return listing(("single point of failure", "where", "if away"), rows) if rows else ""


def build_need_list(snapshot: Snapshot, needs: Sequence[CoverageRow]) -> str:
    """Return needs with their worst shift, the others in the tooltip, as markup; empty for none."""
    rows = []
    for need in needs:
        label = get_label(snapshot.competencies, need.competency)
        scopes = list(iterate_scopes(need))
        told = "; ".join(
            f"{get_shift_label(snapshot, scope.shift) or 'team'}, present: "
            + (", ".join(get_label(snapshot.people, i) for i in scope.present) or "nobody")
            for scope in scopes
        )
        where = get_shift_label(snapshot, need.shift) or "team"
        if len(scopes) > 1:
            where += f" (least of {len(scopes)})"
        named = cell(
            words(label, columns=_LABEL_COLUMNS),
            link=get_link("competencies", need.competency),
            tooltip=f"{label}; {told}",
        )
        rows.append(
            (
                state(STATES[need.state], style.STATES[need.state]),
                named,
                words(str(need.level)),
                words(where, columns=_WHERE_COLUMNS),
                *(words(str(number)) for number in (need.depth, need.minimum, need.target)),
            )
        )
    headers = ("state", "need", "level", "where", "present", "minimum", "target")
    return listing(headers, rows, numbers=(2, 4, 5, 6)) if rows else ""
