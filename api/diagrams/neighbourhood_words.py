"""A competency's neighbourhood in words: legend, counts, description. Imports style, text and the snapshot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from api.diagrams import old_style as style
from api.diagrams.old_cards import Key, format_levels
from api.diagrams.text import format_count
from ontology.graph.snapshot import Snapshot
from ontology.records import Competency, Outcome, Requirement


def by_name(competencies: Sequence[Competency]) -> list[Competency]:
    """Return competencies by label."""
    return sorted(competencies, key=lambda c: (c.label, c.id))


def format_outcome(outcome: Outcome) -> str:
    """Return what a course does, with the level."""
    return f"renews level {outcome.level}" if outcome.renews else f"reaches level {outcome.level}"


def build_kind_keys(competencies: Any, outcomes: Any, requirements: Any) -> list[Key]:
    """Return the legend of kinds."""
    keys = [Key(style.COMPETENCY.colour, "competency")]
    if outcomes:
        keys.append(Key(style.COURSE.colour, "course"))
    if requirements:
        keys.append(Key(style.ROLE.colour, "role (dashed: desirable there)"))
    return keys


def build_subtitle(
    broader: Sequence[Any], narrower: Sequence[Any], outcomes: Sequence[Any], requirements: Sequence[Any]
) -> str:
    """Return the neighbours, counted."""
    parts = [
        format_count(len(broader), "broader competency", "broader competencies"),
        format_count(len(narrower), "narrower one"),
        f"reached by {format_count(len(outcomes), 'course')}",
        f"asked for by {format_count(len(requirements), 'role')}",
    ]
    return "Competency with " + ", ".join(parts) + "."


def build_description(
    snapshot: Snapshot,
    competency: Competency,
    broader: Sequence[Competency],
    narrower: Sequence[Competency],
    outcomes: Sequence[Outcome],
    requirements: Sequence[Requirement],
) -> str:
    """Return the neighbourhood in words."""
    sentences = [build_subtitle(broader, narrower, outcomes, requirements)]
    if broader:
        sentences.append(f"Broader: {'; '.join(c.label for c in by_name(broader))}.")
    if narrower:
        sentences.append(f"Narrower: {'; '.join(c.label for c in by_name(narrower))}.")
    if outcomes:
        courses = [f"{snapshot.courses[o.course].label} ({format_outcome(o)})" for o in outcomes]
        sentences.append(f"Courses: {'; '.join(courses)}.")
    if requirements:
        roles = [
            f"{snapshot.roles[r.role].label} ({r.necessity}, "
            + format_levels(r.level, r.entry_level, r.unsupervised_level)
            + ")"
            for r in requirements
        ]
        sentences.append(f"Roles: {'; '.join(roles)}.")
    return " ".join(sentences)
