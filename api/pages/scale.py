"""The page of a scale: what is seen at each level, and which competencies use it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from api.desk.columns import Filled, build_table, words
from api.desk.names import Names, count
from api.desk.sheet import Table
from api.pages.addresses import build_record_address
from api.pages.framework_parts import (
    MOST_ROWS,
    Fact,
    FrameworkView,
    Listing,
    Saying,
    build_listing,
    list_data,
    list_trail,
    narrow,
    say_level,
    tell_history,
    tell_new,
)
from api.pages.page import Link, Page
from ontology.errors import UnknownIdError
from ontology.model.records import KINDS, Competency, ScaleLevel
from ontology.snapshot.level_maps import LevelReading, list_maps
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ScaleView", "build_view", "describe_scale", "tell_scale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleView(FrameworkView):
    """All that the page of a scale shows."""

    levels: Table
    used: Listing


def tell_scale(levels: int, competencies: int, unseen: int) -> Saying:
    """Return the first sentence: how many levels, by how many competencies used, how many levels are not described.

    Examples
    --------
    >>> tell_scale(4, 27, 0).text, tell_scale(1, 1, 1).text
    ('4 levels, used by 27 competencies.', '1 level, used by 1 competency. Of 1 level nothing says what is seen.')
    """
    used = count(competencies, "competency", "competencies") if competencies else "no competency"
    open_ones = f" Of {count(unseen, 'level')} nothing says what is seen." if unseen else ""
    return Saying("", count(levels, "level"), f", used by {used}.{open_ones}")


def build_view(snapshot: Snapshot, scale_id: str) -> ScaleView:
    """Return what the page of a scale shows; UnknownIdError where there is none. O(k) for k competencies on it."""
    steps = snapshot.scales.get(scale_id, ())
    if not steps:
        raise UnknownIdError("scales", scale_id)
    used = snapshot.get_competencies_of_scale(scale_id)
    return ScaleView(
        name=f"Scale {scale_id}",
        lead=tell_scale(len(steps), len(used), sum(not step.description for step in steps)),
        acts=(
            Link("Edit the scale", f"/edit{build_record_address('scales', scale_id)}"),
            tell_new("competencies", "Add a competency on it", scale=scale_id),
        ),
        facts=tuple(_list_facts(scale_id, used)),
        levels=_build_levels(snapshot, scale_id, steps),
        used=_build_used(Names(snapshot), scale_id, used),
        revision=snapshot.revision,
    )


def _list_facts(scale_id: str, used: Sequence[Competency]) -> list[Fact]:
    kinds = Counter(competency.kind for competency in used)
    told = [
        (f"{kinds[kind]:,} of kind ", Link(kind, narrow("competencies", scale=scale_id, kind=kind))) for kind in KINDS
    ]
    shown = tuple(line for line, kind in zip(told, KINDS, strict=True) if kinds[kind])
    return [
        *([Fact("Used by", shown)] if shown else []),
        tell_history("scales", scale_id),
        list_data("scales", scale_id),
    ]


def _build_levels(snapshot: Snapshot, scale_id: str, steps: Sequence[ScaleLevel]) -> Table:
    columns: list[Filled[ScaleLevel]] = [
        words("Level", lambda step: say_level(step.rank, step.label)),
        words("What is seen", lambda step: step.description or None),
    ]
    columns += [_build_elsewhere(snapshot, other, levels) for other, levels in list_maps(snapshot, scale_id)]
    return build_table("What is seen at each level", steps, tuple(columns), "It has no levels.")


def _build_elsewhere(snapshot: Snapshot, scale_id: str, levels: LevelReading) -> Filled[ScaleLevel]:
    """Return the column of what levels count as on another scale."""
    labels = {step.rank: say_level(step.rank, step.label) for step in snapshot.scales.get(scale_id, ())}
    return words(f"Counts on scale {scale_id} as", lambda step: labels.get(levels[step.rank], "0, below the first"))


def _build_used(names: Names, scale_id: str, used: Sequence[Competency]) -> Listing:
    table = build_table(
        "Competencies that use it",
        used[:MOST_ROWS],
        (
            words("Competency", lambda row: names.ref("competencies", row.id)),
            words("Kind", lambda row: row.kind),
            words("Part of", lambda row: names.refs("competencies", row.broader)),
        ),
        "No competency uses it.",
    )
    act = tell_new("competencies", "Add a competency on it", scale=scale_id)
    return build_listing(table, len(used), narrow("competencies", scale=scale_id), act)


def describe_scale(view: ScaleView) -> Page:
    """Return the page of a scale."""
    return Page("scale.html", {"view": view}, way="framework", trail=list_trail("scales"))
