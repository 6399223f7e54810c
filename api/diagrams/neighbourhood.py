"""A competency among its neighbours: broader, narrower, courses that reach it, roles that ask for it.

Imports canvas, cards, style, text and the snapshot. What leads to the competency stands at the left, what it leads
to at the right, each kind in a box of its own with its name and count.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final, TypeVar

from api.diagrams import style
from api.diagrams.canvas import Canvas, Picture
from api.diagrams.cards import (
    Key,
    Line,
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
from ontology.records import Competency, Outcome, Requirement

#: A box holds no more cards than this; the rest is counted in words.
MOST_CARDS: Final = 20

_T = TypeVar("_T")


def build_neighbourhood_picture(snapshot: Snapshot, competency_id: str) -> Picture:
    """Return the picture of a competency and everything one step away from it.

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
    O(k log k) for k neighbours, at most 20 of a kind drawn: courses by level, roles by level and weight.
    """
    competency = snapshot.require_competency(competency_id)
    broader = [snapshot.competencies[i] for i in competency.broader if i in snapshot.competencies]
    narrower = [snapshot.competencies[i] for i in snapshot.get_narrower(competency_id)]
    outcomes = sorted(
        snapshot.get_outcomes_of_competency(competency_id),
        key=lambda o: (o.level, o.renews, snapshot.courses[o.course].label, o.course),
    )
    requirements = sorted(
        snapshot.get_requirements_of_competency(competency_id),
        key=lambda r: (-r.level, -r.weight, snapshot.roles[r.role].label, r.role),
    )
    subtitle = build_subtitle(broader, narrower, outcomes, requirements)
    keys = [build_kind_keys(broader or narrower, outcomes, requirements), build_ruler_keys() if requirements else []]
    canvas = Canvas(competency.label, subtitle, keys, nodesep=0.08, ranksep=1 + 0.03 * len(requirements[:MOST_CARDS]))
    _add_centre(canvas, snapshot, competency)
    centre = get_node_name("competency", competency_id)

    _add_box(canvas, "broader", "Broader", by_name(broader), lambda c, box: _add_competency(canvas, snapshot, c, box))
    _add_box(
        canvas,
        "courses",
        "Courses that reach it",
        outcomes,
        lambda o, box: _add_course(canvas, snapshot, o, box),
    )
    _add_box(
        canvas,
        "narrower",
        "Narrower",
        by_name(narrower),
        lambda c, box: _add_competency(canvas, snapshot, c, box),
    )
    _add_box(
        canvas,
        "roles",
        "Roles that ask for it",
        requirements,
        lambda r, box: _add_role(canvas, snapshot, r, box),
    )
    for other in by_name(broader)[:MOST_CARDS]:
        name = get_node_name("competency", other.id)
        canvas.add_edge(name, centre, tooltip=f"{other.label} is broader", mark=style.COMPETENCY, arrowhead="none")
    for outcome in outcomes[:MOST_CARDS]:
        name = get_node_name("course", outcome.course)
        canvas.add_edge(name, centre, tooltip=format_outcome(outcome), mark=style.COURSE)
    for other in by_name(narrower)[:MOST_CARDS]:
        name = get_node_name("competency", other.id)
        canvas.add_edge(centre, name, tooltip=f"{other.label} is narrower", mark=style.COMPETENCY, arrowhead="none")
    for requirement in requirements[:MOST_CARDS]:
        name = get_node_name("role", requirement.role)
        mark = style.NECESSITIES[requirement.necessity]
        # written from left to right, so that roles stand at the right; the arrow still points at what is asked for
        canvas.add_edge(centre, name, tooltip=f"asked for at level {requirement.level}", mark=mark, dir="back")
    return canvas.finish(build_description(snapshot, competency, broader, narrower, outcomes, requirements))


def by_name(competencies: Sequence[Competency]) -> list[Competency]:
    return sorted(competencies, key=lambda c: (c.label, c.id))


def _add_box(canvas: Canvas, name: str, words: str, items: Sequence[_T], add: Callable[[_T, Any], str]) -> None:
    if not items:
        return
    with canvas.add_cluster(name, f"{words} ({len(items)})") as box:
        names = [add(item, box) for item in items[:MOST_CARDS]]
        if len(items) > MOST_CARDS:
            names.append(f"more/{name}")
            words = f"and {len(items) - MOST_CARDS} more, not drawn"
            card = build_card(style.HAIR, [build_note(words)], dashed=True)
            canvas.add_card(names[-1], card, tooltip=words, into=box)
    canvas.keep_order(names)


def _add_centre(canvas: Canvas, snapshot: Snapshot, competency: Competency) -> None:
    kind = competency.kind + (", an error can hurt someone" if competency.safety else "")
    rows = [build_note(kind, 40), Line(competency.label, style.NAME_PT + 2, bold=True, columns=26)]
    if competency.definition:
        rows.append(Line(competency.definition, columns=42, max_lines=6))
    rows += [
        Line(f"{level.rank}  {level.label}", style.TEXT_PT, columns=38)
        for level in snapshot.scales.get(competency.scale, ())
    ]
    if competency.validity_months:
        rows.append(build_note(f"counts for {format_count(competency.validity_months, 'month')}", 40))
    canvas.add_card(
        get_node_name("competency", competency.id),
        build_main_card(style.COMPETENCY, rows),
        link=get_link("competencies", competency.id),
        tooltip=". ".join(filter(None, (f"Competency {competency.id}: {competency.label}", competency.definition))),
    )


def _add_competency(canvas: Canvas, snapshot: Snapshot, competency: Competency, box: Any) -> str:
    name = get_node_name("competency", competency.id)
    rows = [build_name(competency.label, 32), build_note(competency.kind)]
    canvas.add_card(
        name,
        build_card(style.COMPETENCY.colour, rows),
        link=get_link("competencies", competency.id),
        tooltip=". ".join(filter(None, (f"{competency.label} ({competency.id})", competency.definition))),
        into=box,
    )
    return name


def format_outcome(outcome: Outcome) -> str:
    return f"renews level {outcome.level}" if outcome.renews else f"reaches level {outcome.level}"


def _add_course(canvas: Canvas, snapshot: Snapshot, outcome: Outcome, box: Any) -> str:
    course = snapshot.courses[outcome.course]
    name = get_node_name("course", course.id)
    facts = [format_outcome(outcome), f"{format_number(course.hours)} h", *filter(None, [course.method])]
    canvas.add_card(
        name,
        build_card(style.COURSE.colour, [build_name(course.label, 32), build_note(", ".join(facts), 44)]),
        link=get_link("courses", course.id),
        tooltip=f"{course.label} ({course.id}): {', '.join(facts)}",
        into=box,
    )
    return name


def _add_role(canvas: Canvas, snapshot: Snapshot, requirement: Requirement, box: Any) -> str:
    role = snapshot.roles[requirement.role]
    name = get_node_name("role", role.id)
    levels = (requirement.level, requirement.entry_level, requirement.unsupervised_level)
    scale = snapshot.scales.get(snapshot.competencies[requirement.competency].scale, ())
    ruler = build_ruler(len(scale), *levels, requirement.necessity)
    words = f"{format_levels(*levels)}; weight {format_number(requirement.weight)}"
    canvas.add_card(
        name,
        build_card(
            style.ROLE.colour,
            [build_name(role.label, 32), ruler, build_note(words, 48)],
            dashed=requirement.necessity == "desirable",
        ),
        link=get_link("roles", role.id),
        tooltip=f"{role.label} ({role.id}): {requirement.necessity}, {words}",
        into=box,
    )
    return name


def build_kind_keys(competencies: Any, outcomes: Any, requirements: Any) -> list[Key]:
    keys = [Key(style.COMPETENCY.colour, "competency")]
    if outcomes:
        keys.append(Key(style.COURSE.colour, "course"))
    if requirements:
        keys.append(Key(style.ROLE.colour, "role (dashed: desirable there)"))
    return keys


def build_subtitle(
    broader: Sequence[Any], narrower: Sequence[Any], outcomes: Sequence[Any], requirements: Sequence[Any]
) -> str:
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
