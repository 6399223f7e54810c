"""A role's competency model: what it asks, at which level from which day, and without what nothing begins.

Imports cards, frame, paging, style, text and the snapshot. The role at the left, one table at the right with a section
for each necessity, so that rows and columns line up and three lines say it all.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from api.pictures import style
from api.pictures.cards import bar, card, cell, count_lines, gap, row, small, table, words
from api.pictures.frame import Frame, Picture
from api.pictures.paging import Layout, take_page
from api.pictures.text import format_count, format_number, get_link, get_name
from ontology.model.records import Requirement
from ontology.snapshot.snapshot import Snapshot

SECTIONS: Final = {"blocking": "Nothing begins without", "essential": "Essential", "desirable": "Desirable"}
#: Rows on a screen; more are counted, and stand behind the link.
MOST_ROWS: Final = 40
#: A scale with more ranks is told in numbers only.
_LONGEST_LADDER: Final = 9
_COLUMNS: Final = 34
#: Rows with a ladder that a page holds.
_LINES: Final = 33
_HEADERS: Final = ("first day", "unsupervised", "full", "weight")
#: Grounds of the ladder: first day, unsupervised, full, not asked.
_STEPS: Final = (style.DEEP_BLUE, style.mix(style.BLUE, 0.55), style.mix(style.BLUE, 0.18), style.WHITE)
_KEYS: Final = tuple(zip(_STEPS, ("needed on the first day", "to work unsupervised", "full level"), strict=False))


def build_role_picture(snapshot: Snapshot, role_id: str, layout: Layout = "screen", page: int = 1) -> Picture:
    """Return the picture of what a role asks.

    Raises
    ------
    UnknownIdError
        There is no such role.
    PageError
        There is no such page.

    Notes
    -----
    O(k log k) for k requirements: blocking first, then essential, by weight; on a screen 40 of them.
    """
    role = snapshot.require_role(role_id)
    ranked = sorted(snapshot.get_requirements(role_id), key=lambda r: _rank(snapshot, r))
    left_out = ranked[MOST_ROWS:] if layout == "screen" else []
    shown = ranked[:MOST_ROWS] if left_out else ranked
    part = take_page(shown, layout, page, lines=_LINES, count=partial(_count_lines, snapshot))
    label, link = get_name(role.label, role.id), get_link("roles", role.id)
    frame = Frame(label, tell_role(ranked), rank_gap=0.5, node_gap=0.18, sheet=part.sheet)
    facts = [
        f"family: {role.family}" if role.family else "",
        f"full after about {format_count(role.months_to_full, 'month')}",
    ]
    rows = [row(cell(small(fact, columns=26))) for fact in facts if fact]
    frame.add_node(
        "role",
        card(style.ROLE, label, *rows, border=2, is_tinted=True, columns=22),
        tooltip=". ".join(filter(None, (label, role.definition))),
        link=link,
    )
    if part.rows:
        more = f"and {format_count(len(left_out), 'more, of less weight', 'more, of less weight')}: see the role's list"
        frame.add_node(
            "asks",
            _build_table(snapshot, ranked, part.rows, more if left_out else "", link),
            tooltip=f"What {label} asks",
        )
    for name in _list_sections(part.rows):
        colour, width = style.NECESSITIES[name]
        count = sum(requirement.necessity == name for requirement in ranked)
        told = f"{SECTIONS[name]}: {format_count(count, 'competency', 'competencies')}"
        frame.add_edge("role", f"asks:{name}", colour=colour, width=width, is_dashed=name == "desirable", tooltip=told)
    dashed = " A dashed line leads to what is desirable." if "desirable" in _list_sections(part.rows) else ""
    notes = [f"Weight: 1 to 5.{dashed}"] if part.rows else []
    return frame.finish(describe_role(snapshot, ranked, part.rows), legend_keys=_KEYS if part.rows else (), notes=notes)


def tell_role(requirements: Sequence[Requirement]) -> str:
    """Return what the role asks, counted."""
    counts = [(sum(r.necessity == name for r in requirements), name) for name in SECTIONS]
    told = ", ".join(f"{count} {name}" for count, name in counts if count)
    asked = format_count(len(requirements), "competency", "competencies")
    return f"Asks for {asked}: {told}." if requirements else "This role has no requirements yet."


def describe_role(snapshot: Snapshot, requirements: Sequence[Requirement], shown: Sequence[Requirement]) -> str:
    """Return the picture in words."""
    sentences = [tell_role(requirements)]
    for name in _list_sections(shown):
        rows = [f"{_name(snapshot, r)} ({format_levels(r)})" for r in shown if r.necessity == name]
        sentences.append(f"{SECTIONS[name]} ({name}): {'; '.join(rows)}.")
    left = len(requirements) - len(shown)
    return " ".join(sentences) + (f" Not drawn here: {left}." if left else "")


def format_levels(requirement: Requirement) -> str:
    """Return the three levels of a requirement in words, equal ones together."""
    full, first, alone = requirement.level, requirement.entry_level, requirement.unsupervised_level
    if full == first == alone:
        return f"level {full} from the first day"
    if first == alone:
        return f"first day and unsupervised {first}, full {full}"
    return f"first day {first}, " + (
        f"unsupervised and full {full}" if alone == full else f"unsupervised {alone}, full {full}"
    )


def _rank(snapshot: Snapshot, requirement: Requirement) -> tuple[int, float, str, str]:
    order = list(SECTIONS).index(requirement.necessity)
    return order, -requirement.weight, _name(snapshot, requirement), requirement.competency


def _name(snapshot: Snapshot, requirement: Requirement) -> str:
    return get_name(snapshot.competencies[requirement.competency].label, requirement.competency)


def _count_lines(snapshot: Snapshot, requirement: Requirement) -> float:
    # the second line of a name takes less than the ladder beside the first
    return (1 + count_lines(_name(snapshot, requirement), _COLUMNS)) / 2


def _list_sections(rows: Sequence[Requirement]) -> list[str]:
    present = {requirement.necessity for requirement in rows}
    return [name for name in SECTIONS if name in present]


def _build_table(
    snapshot: Snapshot, ranked: Sequence[Requirement], shown: Sequence[Requirement], more: str, link: str
) -> str:
    longest = max(len(snapshot.scales.get(snapshot.competencies[r.competency].scale, ())) for r in shown)
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
        rows += [_build_row(snapshot, requirement, min(longest, _LONGEST_LADDER)) for requirement in group]
    if more:
        rows.append(row(cell(small(more), colspan=6, link=link, tooltip=more)))
    return table(*rows, border=1, colour=style.HAIR)


def _build_row(snapshot: Snapshot, asked: Requirement, longest: int) -> str:
    competency = snapshot.competencies[asked.competency]
    name = _name(snapshot, asked)
    kind = "certificate, " if competency.is_certificate else ""
    told = f"{name}: {kind}{asked.necessity}, {format_levels(asked)}, weight {format_number(asked.weight)}"
    ranks = len(snapshot.scales.get(competency.scale, ()))
    numbers = (asked.entry_level, asked.unsupervised_level, asked.level, asked.weight)
    return row(
        cell(
            words(name, columns=_COLUMNS),
            link=get_link("competencies", competency.id),
            tooltip=". ".join(filter(None, (told, competency.definition))),
        ),
        cell(_build_ladder(asked, ranks, longest)),
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
        number = small(f"{rank}", colour=ink)
        look = {"bgcolor": _STEPS[step], "color": style.LINE, "border": "1", "cellpadding": "0"}
        cells.append(cell(number, align="CENTER", width=17, height=15, **look))
    cells += [cell(width=17)] * (longest - ranks)
    return table(row(*cells), padding=0, spacing=1, align="LEFT") if cells else ""
