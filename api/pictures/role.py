"""A role's competency model: what it asks, at which level from which day, and without what nothing begins.

The role at the left, one table at the right with a section for each necessity, so that rows and columns line up and
three lines say it all.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.pictures import style
from api.pictures.cards import bar, card, cell, count_lines, gap, line, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.names import Names
from api.pictures.paging import Layout, take_page
from api.pictures.text import format_count, format_number, get_link
from ontology.model.records import Requirement
from ontology.snapshot.names import get_name
from ontology.snapshot.snapshot import Snapshot

SECTIONS: Final = {"blocking": "Nothing begins without", "essential": "Essential", "desirable": "Desirable"}
#: Rows on a screen; more are counted, and stand behind the link.
MOST_ROWS: Final = 40
#: A scale with more ranks is told in numbers only.
_LONGEST_LADDER: Final = 9
_COLUMNS: Final = 34
#: Rows with a ladder that a page holds.
_LINES: Final = 33
_HEADERS: Final = ("first day", "alone", "full", "weight")
#: Grounds of the ladder: first day, alone, full, not asked.
_STEPS: Final = (style.DEEP_BLUE, style.mix(style.BLUE, 0.55), style.mix(style.BLUE, 0.18), style.WHITE)
_KEYS: Final = tuple(zip(_STEPS, ("needed on the first day", "to work alone", "full level"), strict=False))


def build_role_picture(snapshot: Snapshot, role_id: str, *, layout: Layout = "screen", page: int = 1) -> Picture:
    """Return the picture of what a role asks: blocking first, by weight. O(k log k) for k requirements."""
    role, names = snapshot.require_role(role_id), Names(snapshot)

    def count(asked: Requirement) -> float:
        # the second line of a name takes less than the ladder beside the first
        return (1 + count_lines(names.competency(asked.competency), _COLUMNS)) / 2

    ranked = rank_requirements(snapshot, role_id)
    part = take_page(ranked[:MOST_ROWS] if layout == "screen" else ranked, layout, page, lines=_LINES, count=count)
    shown = part.rows
    label, link = names.role(role_id), get_link("roles", role.id)
    frame = Frame(label, _tell_role(ranked), rank_gap=0.5, node_gap=0.18, sheet=part.sheet)
    facts = [f"family: {role.family}"] if role.family else []
    facts.append(f"full after about {format_count(role.months_to_full, 'month')}")
    markup = card(
        style.ROLE, label, *(line(small(fact, columns=26)) for fact in facts), border=2, is_tinted=True, columns=22
    )
    frame.add_node("role", markup, tooltip=". ".join(filter(None, (label, role.definition))), link=link)
    if shown:
        frame.add_node("asks", _build_table(names, ranked, shown, layout, link), tooltip=f"What {label} asks")
    sections = _list_sections(shown)
    for name in sections:
        colour, width = style.NECESSITIES[name]
        whole = sum(requirement.necessity == name for requirement in ranked)
        told = f"{SECTIONS[name]}: {format_count(whole, 'competency', 'competencies')}"
        frame.add_edge("role", f"asks:{name}", colour=colour, width=width, is_dashed=name == "desirable", tooltip=told)
    dashed = " A dashed line leads to what is desirable." if "desirable" in sections else ""
    notes = [f"Weight: 1 to 5.{dashed}"] if shown else []
    return frame.finish(_describe_role(names, ranked, shown), legend_keys=_KEYS if shown else (), notes=notes)


def rank_requirements(snapshot: Snapshot, role_id: str) -> list[Requirement]:
    """Return what a role asks in the order of reading: blocking first, then by weight and name."""
    order, known = {necessity: place for place, necessity in enumerate(SECTIONS)}, snapshot.competencies

    def rank(asked: Requirement) -> tuple[int, float, str, str]:
        return order[asked.necessity], -asked.weight, get_name(known, asked.competency), asked.competency

    return sorted(snapshot.get_requirements(role_id), key=rank)


def _tell_role(requirements: Sequence[Requirement]) -> str:
    counts = [(sum(r.necessity == name for r in requirements), name) for name in SECTIONS]
    told = ", ".join(f"{count} {name}" for count, name in counts if count)
    asked = format_count(len(requirements), "competency", "competencies")
    return f"Asks for {asked}: {told}." if requirements else "This role has no requirements yet."


def _describe_role(names: Names, requirements: Sequence[Requirement], shown: Sequence[Requirement]) -> str:
    sentences = [_tell_role(requirements)]
    for name in _list_sections(shown):
        rows = [f"{names.competency(r.competency)} ({format_levels(r)})" for r in shown if r.necessity == name]
        sentences.append(f"{SECTIONS[name]} ({name}): {'; '.join(rows)}.")
    left = len(requirements) - len(shown)
    return " ".join(sentences) + (f" Not drawn here: {left}." if left else "")


def format_levels(requirement: Requirement) -> str:
    """Return the three levels of a requirement in words, equal ones together."""
    full, first, alone = requirement.level, requirement.entry_level, requirement.unsupervised_level
    if full == first == alone:
        return f"level {full} from the first day"
    if first == alone:
        return f"first day and alone {first}, full {full}"
    return f"first day {first}, " + (f"alone and full {full}" if alone == full else f"alone {alone}, full {full}")


def _list_sections(rows: Sequence[Requirement]) -> list[str]:
    present = {requirement.necessity for requirement in rows}
    return [name for name in SECTIONS if name in present]


def _build_table(
    names: Names, ranked: Sequence[Requirement], shown: Sequence[Requirement], layout: Layout, link: str
) -> str:
    longest = min(max(len(_get_scale(names.snapshot, r)) for r in shown), _LONGEST_LADDER)
    rows: list[str] = []
    for name in _list_sections(shown):
        group = [requirement for requirement in shown if requirement.necessity == name]
        colour = style.NECESSITIES[name][0]
        ground = {"bgcolor": style.mix(colour)}
        whole = sum(requirement.necessity == name for requirement in ranked)
        count = f"{whole}" if whole == len(group) else f"{len(group)} of {whole}"
        title = cell(words(f"{SECTIONS[name]} ({count})", bold=True), port=name, **ground)
        quiet = (cell(small(header), align="CENTER", cellpadding=4, **ground) for header in _HEADERS)
        rows += [gap(8, 6)] * bool(rows) + [bar(colour, 6), row(title, cell(small("level"), **ground), *quiet)]
        rows += [_build_row(names, requirement, longest) for requirement in group]
    left = len(ranked) - len(shown)
    if left and layout == "screen":
        more = f"and {format_count(left, 'more, of less weight', 'more, of less weight')}: see the role's list"
        rows.append(line(small(more), colspan=6, link=link, tooltip=more))
    return table(*rows, border=1, colour=style.HAIR)


def _get_scale(snapshot: Snapshot, asked: Requirement) -> Sequence[object]:
    return snapshot.scales.get(snapshot.competencies[asked.competency].scale, ())


def _build_row(names: Names, asked: Requirement, longest: int) -> str:
    competency = names.snapshot.competencies[asked.competency]
    name = names.competency(competency.id)
    kind = "certificate, " if competency.is_certificate else ""
    told = f"{name}: {kind}{asked.necessity}, {format_levels(asked)}, weight {format_number(asked.weight)}"
    tooltip = ". ".join(filter(None, (told, competency.definition)))
    numbers = (asked.entry_level, asked.unsupervised_level, asked.level, asked.weight)
    return row(
        cell(words(name, columns=_COLUMNS), link=get_link("competencies", competency.id), tooltip=tooltip),
        cell(_build_ladder(asked, len(_get_scale(names.snapshot, asked)), longest)),
        *(cell(words(format_number(number)), align="CENTER") for number in numbers),
    )


def _build_ladder(asked: Requirement, ranks: int, longest: int) -> str:
    """Return the ranks of a scale as cells 1, 2, 3 ...; no cells where the scale is too long to be read as one."""
    ranks = 0 if ranks > longest else ranks
    limits = (asked.entry_level, asked.unsupervised_level, asked.level)
    cells = []
    for rank in range(1, ranks + 1):
        step = sum(rank > limit for limit in limits)
        ink = style.WHITE if not step else style.QUIET if step == len(limits) else style.INK
        look = {"bgcolor": _STEPS[step], "color": style.LINE, "border": "1", "cellpadding": "0"}
        cells.append(cell(small(f"{rank}", colour=ink), align="CENTER", width=17, height=15, **look))
    cells += [cell(width=17)] * (longest - ranks)
    return table(row(*cells), padding=0, spacing=1, align="LEFT") if cells else ""
