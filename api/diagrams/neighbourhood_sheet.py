"""A competency's neighbours on sheets: a column for each kind. Imports neighbourhood_words, sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.neighbourhood_words import (
    build_description,
    build_kind_keys,
    build_subtitle,
    by_name,
    format_outcome,
)
from api.diagrams.old_cards import Key, Line, Ruler, build_note, build_ruler_keys, format_levels
from api.diagrams.sheet import NAME_COLUMNS, NOTE_COLUMNS, Cell, Group
from api.diagrams.sheet_picture import SheetContent, build_sheet_picture
from api.diagrams.text import format_count, format_number, get_link, get_node_name
from ontology.graph.snapshot import Snapshot
from ontology.records import Competency, Outcome, Requirement


def build_neighbourhood_sheet(snapshot: Snapshot, competency_id: str, page: int = 1) -> Picture:
    """Return one page of a competency's neighbourhood on paper, with every neighbour.

    Raises
    ------
    UnknownIdError
        There is no such competency.
    PageError
        There is no such page.
    """
    around = read_neighbourhood(snapshot, competency_id)
    return build_sheet_picture(
        SheetContent(
            snapshot.competencies[competency_id].label,
            around.subtitle,
            around.keys,
            "",
            around.middle,
            style.COMPETENCY,
            [around.broader, around.narrower, around.courses, around.roles],
            around.description,
        ),
        page,
    )


class Neighbourhood(NamedTuple):
    """A competency with everything one step away from it, as cards and in words."""

    middle: Cell
    broader: Group
    narrower: Group
    courses: Group
    roles: Group
    subtitle: str
    keys: list[list[Key]]
    description: str


def read_neighbourhood(snapshot: Snapshot, competency_id: str, most_cards: int | None = None) -> Neighbourhood:
    """Return what is around a competency; a group holds at most so many cards, the rest is counted.

    Raises
    ------
    UnknownIdError
        There is no such competency.
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

    def build_group(key: str, words: str, cells: Sequence[Cell], colour: str) -> Group:
        shown = list(cells[:most_cards])
        if len(shown) < len(cells):
            more = f"and {len(cells) - len(shown)} more, not drawn"
            shown.append(Cell(f"more/{key}", (build_note(more),), style.HAIR, more, is_dashed=True))
        return Group(key, f"{words} ({len(cells)})", tuple(shown), colour)

    near = style.COMPETENCY.colour
    return Neighbourhood(
        _build_head(snapshot, competency),
        build_group("broader", "Broader", [_build_competency(c, "broader", broader) for c in by_name(broader)], near),
        build_group(
            "narrower", "Narrower", [_build_competency(c, "narrower", broader) for c in by_name(narrower)], near
        ),
        build_group(
            "courses", "Courses that reach it", [_build_course(snapshot, o) for o in outcomes], style.COURSE.colour
        ),
        build_group(
            "roles", "Roles that ask for it", [_build_role(snapshot, r) for r in requirements], style.ROLE.colour
        ),
        build_subtitle(broader, narrower, outcomes, requirements),
        [build_kind_keys(broader or narrower, outcomes, requirements), build_ruler_keys() if requirements else []],
        build_description(snapshot, competency, broader, narrower, outcomes, requirements),
    )


def _name(label: str) -> Line:
    return Line(label, style.NAME_PT, bold=True, columns=NAME_COLUMNS, max_lines=None)


def _build_head(snapshot: Snapshot, competency: Competency) -> Cell:
    kind = competency.kind + (", an error can hurt someone" if competency.safety else "")
    rows = [
        build_note(kind, 40),
        Line(competency.label, style.NAME_PT + 2, bold=True, columns=40, max_lines=None),
    ]
    if competency.definition:
        rows.append(Line(competency.definition, columns=70, max_lines=6))
    rows += [
        Line(f"{level.rank}  {level.label}", style.TEXT_PT, columns=60)
        for level in snapshot.scales.get(competency.scale, ())
    ]
    if competency.validity_months:
        rows.append(build_note(f"counts for {format_count(competency.validity_months, 'month')}", 40))
    return Cell(
        get_node_name("competency", competency.id),
        tuple(rows),
        style.COMPETENCY.colour,
        ". ".join(filter(None, (f"Competency {competency.id}: {competency.label}", competency.definition))),
        get_link("competencies", competency.id),
    )


def _build_competency(competency: Competency, kind: str, broader: list[Competency]) -> Cell:
    # in a cycle one competency is both broader and narrower: it has a card in each column
    is_again = kind == "narrower" and competency.id in {c.id for c in broader}
    more = ("narrower",) if is_again else ()
    return Cell(
        get_node_name("competency", competency.id, *more),
        (_name(competency.label), build_note(competency.kind, NOTE_COLUMNS)),
        style.COMPETENCY.colour,
        ". ".join(filter(None, (f"{competency.label} ({competency.id}) is {kind}", competency.definition))),
        get_link("competencies", competency.id),
        style.COMPETENCY,
    )


def _build_course(snapshot: Snapshot, outcome: Outcome) -> Cell:
    course = snapshot.courses[outcome.course]
    facts = [format_outcome(outcome), f"{format_number(course.hours)} h", *filter(None, [course.method])]
    return Cell(
        get_node_name("course", course.id, str(outcome.level), "renews" if outcome.renews else "reaches"),
        (_name(course.label), build_note(", ".join(facts), NOTE_COLUMNS)),
        style.COURSE.colour,
        f"{course.label} ({course.id}): {', '.join(facts)}",
        get_link("courses", course.id),
        style.COURSE,
    )


def _build_role(snapshot: Snapshot, requirement: Requirement) -> Cell:
    role = snapshot.roles[requirement.role]
    levels = (requirement.level, requirement.entry_level, requirement.unsupervised_level)
    scale = snapshot.scales.get(snapshot.competencies[requirement.competency].scale, ())
    words = f"{format_levels(*levels)}; weight {format_number(requirement.weight)}"
    return Cell(
        get_node_name("role", role.id),
        (
            _name(role.label),
            Ruler(len(scale), *levels, requirement.necessity),
            build_note(words, NOTE_COLUMNS),
        ),
        style.ROLE.colour,
        f"{role.label} ({role.id}): {requirement.necessity}, {words}",
        get_link("roles", role.id),
        style.NECESSITIES[requirement.necessity],
        is_dashed=requirement.necessity == "desirable",
    )
