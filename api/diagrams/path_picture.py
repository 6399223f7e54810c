"""A learning path as an AND/OR picture: courses, levels, what waits for what. Imports path_blocks, path_nodes, packing.

Parts that do not hang together are blocks of their own, put side by side. On paper a part too large for a page is
told course by course on the sheets that follow.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from api.diagrams import old_style as style
from api.diagrams.canvas import Picture
from api.diagrams.drawing import Drawing
from api.diagrams.old_cards import Key, Line
from api.diagrams.packing import Spot, pack_blocks
from api.diagrams.path_blocks import AimsBlock, PartBlock, build_part_block
from api.diagrams.path_nodes import PathPart, build_parts
from api.diagrams.path_sheet import build_path_content
from api.diagrams.path_words import (
    CAUTION,
    Aim,
    build_description,
    build_subtitle,
    get_aims,
    get_reached_levels,
    get_title,
)
from api.diagrams.placed_cards import Card, build_fixed_card
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import FORMATS, Format, PageError
from api.diagrams.sheet_picture import draw_sheet, plan_sheet
from api.diagrams.start import build_start_cell, get_start_name
from api.diagrams.text import format_count, get_link
from ontology.analysis.paths.learning_path import LearningPathResult
from ontology.analysis.profiles.levels import Profile
from ontology.graph.snapshot import Snapshot

#: Points: the width of a screen, between blocks, the cards of start and target.
_SCREEN_WIDTH: Final = 1240
_GAP: Final = 12
_HEAD_WIDTH: Final = 190
#: A path whose graph would take more pages is told course by course.
_MOST_PAGES: Final = 4
_PAPER: Final = (FORMATS[0], FORMATS[-1])

Block = PartBlock | AimsBlock


class _Path(NamedTuple):
    """A path with what the picture needs of it."""

    snapshot: Snapshot
    profile: Profile
    result: LearningPathResult
    aims: list[Aim]
    parts: list[PathPart]

    @property
    def target(self) -> str:
        """What it leads to."""
        role = self.result.role
        return self.snapshot.roles[role].label if role in self.snapshot.roles else "Target levels"

    @property
    def title(self) -> str:
        """The title of the picture."""
        return get_title(self.result, get_start_name(self.snapshot, self.profile), self.target)

    @property
    def description(self) -> str:
        """The picture in words."""
        reaches = get_reached_levels(self.snapshot, self.profile, self.result)
        return build_description(self.snapshot, self.result, self.aims, reaches)


def build_learning_path_picture(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> Picture:
    """Return the picture of a learning path, for a screen.

    Parameters
    ----------
    snapshot : Snapshot
    profile : Profile
        The one the answer was computed for.
    result : LearningPathResult

    Notes
    -----
    O(c^2 + t) for c courses and t target levels, and the layout of `layers.arrange_layers`.
    """
    path = _read(snapshot, profile, result)
    blocks: list[Block] = [_build_screen_block(part) for part in path.parts]
    widest = max((block.width for block in blocks), default=0)
    width = int(max(_SCREEN_WIDTH, widest))
    blocks += _build_aims_blocks(path, width)
    heading = _build_heading(path, width, "", "")
    cards = _build_head(path)
    first = heading.height + max(card.height for _, card in cards) + _GAP
    spots = pack_blocks([(block.width, block.height) for block in blocks], width, float("inf"), _GAP, first)
    return _draw(path, blocks, spots, heading, cards, 0, "", "")


def build_path_pages(snapshot: Snapshot, profile: Profile, result: LearningPathResult, page: int = 1) -> Picture:
    """Return one page of a learning path on paper.

    Raises
    ------
    PageError
        There is no such page.
    """
    path = _read(snapshot, profile, result)
    plans = [_plan_paper(path, sheet) for sheet in _PAPER]
    # fewest courses that have to be told on lists, then fewest pages
    sheet, blocks, spots, left = min(plans, key=lambda plan: (sum(len(p.steps) for p in plan[3]), plan[2][-1].page))
    drawn = 1 + max(spot.page for spot in spots)
    if drawn > _MOST_PAGES:
        blocks = [block for block in blocks if isinstance(block, AimsBlock)]
        left = path.parts
        spots = _pack(path, sheet, blocks, left)
        drawn = 1 + max(spot.page for spot in spots)
    steps = {step for part in left for step in part.steps}
    content = build_path_content(snapshot, profile, result, path.aims, steps)
    plan = plan_sheet(content) if steps else None
    total = drawn + (len(plan.pages) if plan else 0)
    if not 1 <= page <= total:
        raise PageError(page, total)
    if plan and page > drawn:
        return draw_sheet(content, plan, page - drawn, ahead=drawn)
    more = f" (page {page} of {total})" if total > 1 else ""
    words = _tell_rest(left, drawn) if left else ""
    heading = _build_heading(path, sheet.width, more, words)
    return _draw(path, blocks, spots, heading, _build_head(path), page - 1, sheet.name, more)


def _tell_rest(left: Sequence[PathPart], drawn: int) -> str:
    count = sum(len(part.steps) for part in left)
    return (
        f" {format_count(count, 'course')} make too large a graph for paper: told one by one from page {drawn + 1} on."
    )


def _read(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> _Path:
    aims = get_aims(snapshot, profile, result)
    return _Path(snapshot, profile, result, aims, build_parts(snapshot, profile, result))


def _build_screen_block(part: PathPart) -> PartBlock:
    """Return a part from left to right; from top to bottom where that alone fits a screen."""
    level = build_part_block(part)
    if level.width <= _SCREEN_WIDTH:
        return level
    upright = build_part_block(part, is_upright=True)
    return upright if upright.width < level.width else level


def _plan_paper(path: _Path, sheet: Format) -> tuple[Format, list[Block], list[Spot], list[PathPart]]:
    """Return what stands where on pages of a format, and the parts too large for one."""
    heading = _build_heading(path, sheet.width, " (page 10 of 10)", _tell_rest(path.parts, 1))
    room = sheet.room - heading.height
    blocks: list[Block] = []
    left = []
    for part in path.parts:
        for is_upright in (False, True):
            block = build_part_block(part, is_upright=is_upright)
            if block.width <= sheet.width and block.height <= room:
                blocks.append(block)
                break
        else:
            left.append(part)
    blocks += _build_aims_blocks(path, sheet.width)
    return sheet, blocks, _pack(path, sheet, blocks, left), left


def _pack(path: _Path, sheet: Format, blocks: Sequence[Block], left: Sequence[PathPart]) -> list[Spot]:
    """Return where blocks stand on pages; the first page has the cards of start and target."""
    heading = _build_heading(path, sheet.width, " (page 10 of 10)", _tell_rest(left, 1) if left else "")
    head = max(card.height for _, card in _build_head(path)) + _GAP
    sizes = [(block.width, block.height) for block in blocks]
    spots = pack_blocks(sizes, sheet.width, sheet.room - heading.height, _GAP, head)
    return [Spot(spot.page, spot.x, spot.y + heading.height) for spot in spots] or [Spot(0, 0, 0)]


def _build_heading(path: _Path, width: int, more: str, words: str) -> Card:
    subtitle = build_subtitle(path.result, path.aims) + words
    return build_fixed_heading(path.title + more, subtitle, _build_keys(path), CAUTION, width)


def _build_keys(path: _Path) -> list[list[Key]]:
    if not path.parts:
        return []
    keys = [
        Key(style.COURSE.colour, "course, numbered in an order that can be followed", "box", sample="1"),
        Key(style.ROLE.colour, "target level"),
        Key(style.COMPETENCY.colour, "level on the way"),
    ]
    return [
        keys,
        [
            Key(style.COURSE.colour, "reaches a level", "line"),
            Key(style.COMPETENCY.colour, "is needed; a bar joins all that a course needs", "line"),
            Key(style.INK, "else by: another course that reaches it, on its own conditions", "none"),
        ],
    ]


def _build_head(path: _Path) -> list[tuple[tuple[str, str, str], Card]]:
    """Return the cards of start and target, each with name, link and tooltip."""
    result = path.result
    unassessed = ", ".join(path.snapshot.competencies[i].label for i in result.assess_first)
    count = format_count(len(result.assess_first), "competency", "competencies")
    more = [Line(f"not assessed in {count}: assess first", bold=True)] if unassessed else []
    cell = build_start_cell(path.snapshot, path.profile, more, f"Assess first: {unassessed}" if unassessed else "")
    look = style.PERSON if path.profile.kind == "person" else style.ROLE
    start = build_fixed_card(cell.rows, _HEAD_WIDTH, look.colour, border=look.colour, border_width=2, ground=look.tint)
    reached = sum(bool(aim.step) for aim in path.aims)
    held = sum(aim.step == 0 for aim in path.aims)
    rows = [
        Line("target", colour=style.QUIET),
        Line(path.target, style.NAME_PT, bold=True),
        Line(f"{format_count(len(path.aims), 'target level')}: {reached} reached by these courses"),
        Line(f"{held} held already, {len(path.aims) - reached - held} not reached"),
    ]
    target = build_fixed_card(
        rows, _HEAD_WIDTH, style.ROLE.colour, border=style.ROLE.colour, border_width=2, ground=style.ROLE.tint
    )
    link = get_link("roles", result.role) if result.role else ""
    return [((cell.name, cell.link, cell.tooltip), start), (("target", link, f"Target: {path.target}"), target)]


def _build_aims_blocks(path: _Path, width: int) -> list[Block]:
    blocks: list[Block] = []
    for words, aims, mark in (
        ("Not reached", [aim for aim in path.aims if aim.step is None], style.NOT_REACHED),
        ("Held already", [aim for aim in path.aims if aim.step == 0], style.COMPETENCY),
    ):
        if aims:
            columns = min(len(aims), max(1, (width - 16) // 190))
            column_width = min(190, (width - 16) // columns - 9)
            blocks.append(AimsBlock(f"{words} ({len(aims)})", aims, mark, columns, column_width))
    return blocks


def _draw(
    path: _Path,
    blocks: Sequence[Block],
    spots: Sequence[Spot],
    heading: Card,
    cards: Sequence[tuple[tuple[str, str, str], Card]],
    page: int,
    name: str,
    more: str,
) -> Picture:
    drawing = Drawing(path.title + more, name)
    drawing.add_card("heading", 0, 0, heading, tooltip=drawing.title)
    if page == 0:
        for position, ((card_name, link, tooltip), card) in enumerate(cards):
            drawing.add_card(
                card_name, position * (_HEAD_WIDTH + _GAP), heading.height, card, link=link, tooltip=tooltip
            )
    for block, spot in zip(blocks, spots, strict=False):
        if spot.page == page:
            block.draw(drawing, spot.x, spot.y)
    return drawing.finish(path.description, CAUTION)
