"""Two states compared, as a picture: how much changed in which part of the framework, and what moved where.

Parts are the families of roles, the competencies at the top, and any other table. Those that changed stand at the left,
those that something moved into at the right.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from functools import cache
from typing import Any, Final, NamedTuple

from api.pictures import style
from api.pictures.cards import Entry, card, column, line, small
from api.pictures.frame import Frame, Picture
from api.pictures.paging import Layout, take_page
from api.pictures.text import format_count, get_link
from ontology.analysis.compare.compared_rows import ComparedRow
from ontology.model.changes import Row
from ontology.snapshot.names import get_name
from ontology.snapshot.snapshot import Snapshot

#: Parts that are drawn, on both sides together; the rest is counted.
_MOST: Final = 40
#: Parts at the left of one sheet of paper.
_LINES_EACH: Final = 3.5
_NO_FAMILY: Final = "Roles without a family"
#: Points: the thickest line, and a card.
_WIDEST: Final = 6.0
_CARD_PT: Final = 230


class _Part(NamedTuple):
    """A part of the framework: of which table, its id or name."""

    table: str
    id: str


def build_comparison_picture(
    rows: Sequence[ComparedRow],
    before: Snapshot,
    after: Snapshot,
    title: str,
    *,
    layout: Layout = "screen",
    page: int = 1,
) -> Picture:
    """Return the picture of how two states differ; O(rows)."""
    counts: defaultdict[_Part, Counter[str]] = defaultdict(Counter)
    moves: Counter[tuple[_Part, _Part]] = Counter()
    of_before, of_after = _make_finder(before), _make_finder(after)
    for one in rows:
        row = one.row
        find, record = (of_after, row.after) if row.after is not None else (of_before, row.before)
        part = find(row.table, record)
        if row.change == "changed":
            left = _find_left(row, before, one.from_id, of_before)
            if left is not None and left != part:
                moves[left, part] += 1
                part = left
        counts[part][row.change] += 1
    entered = list(dict.fromkeys(target for _, target in sorted(moves)))[: _MOST // 2]
    order = sorted(counts, key=lambda part: (-sum(counts[part].values()), part))
    drawn = take_page(order[: _MOST - len(entered)], layout, page, lines=24, count=lambda _: _LINES_EACH)
    answer = _tell(rows, moves)
    frame = Frame(title, answer, rank_gap=1.2, sheet=drawn.sheet)
    _draw(frame, drawn.rows, counts, moves, entered, (before, after))
    sentences = [answer]
    sentences += [f"{_name(part, before, after)}: {_tell_counts(counts[part])}." for part in drawn.rows]
    sentences += [
        f"{format_count(n, 'record')} moved from {_name(one, before, after)} to {_name(other, before, after)}."
        for (one, other), n in sorted(moves.items())
        if one in drawn.rows and other in entered
    ]
    rest = len(order) - min(len(order), _MOST - len(entered))
    notes = [f"Not drawn here: {format_count(rest, 'part')} with fewer changes."] if rest else []
    return frame.finish(" ".join(sentences), notes=notes)


def _draw(
    frame: Frame,
    parts: Sequence[_Part],
    counts: dict[_Part, Counter[str]],
    moves: Counter[tuple[_Part, _Part]],
    entered: Sequence[_Part],
    states: tuple[Snapshot, Snapshot],
) -> None:
    if not parts:
        frame.add_calm("Nothing came, went or changed.")
        return
    edges = [(one, other, n) for (one, other), n in sorted(moves.items()) if one in parts and other in entered]
    left = [_build_entry(part, states, _tell_counts(counts[part])) for part in parts]
    frame.add_node("changed", column(left), tooltip="Where it changed")
    targets = list(dict.fromkeys(other for _, other, _ in edges))
    if not targets:
        return
    came = {part: sum(n for _, other, n in edges if other == part) for part in targets}
    right = [_build_entry(part, states, f"{format_count(came[part], 'record')} moved here") for part in targets]
    frame.add_node("entered", column(right), tooltip="What something moved into")
    ports_left = {part: entry.port for part, entry in zip(parts, left, strict=True)}
    ports_right = {part: entry.port for part, entry in zip(targets, right, strict=True)}
    for one, other, n in edges:
        frame.add_edge(
            f"changed:{ports_left[one]}",
            f"entered:{ports_right[other]}",
            tooltip=f"{format_count(n, 'record')} moved from {_name(one, *states)} to {_name(other, *states)}",
            width=min(1 + n / 2, _WIDEST),
        )


def _build_entry(part: _Part, states: tuple[Snapshot, Snapshot], told: str) -> Entry:
    name = _name(part, *states)
    colour = {"roles": style.ROLE, "competencies": style.COMPETENCY}.get(part.table, style.COURSE)
    is_there = part.table == "competencies" and part.id in states[1].competencies
    link = get_link("competencies", part.id) if is_there else ""
    port = f"p{part.table}-{part.id}".encode().hex()
    return Entry(port, card(colour, name, line(small(told), width=_CARD_PT)), f"{name}: {told}", link)


def _make_finder(state: Snapshot) -> Any:
    """Return what finds the part that a record of a table belongs to."""

    @cache
    def find_top(competency_id: str) -> str:
        seen: set[str] = set()
        while competency_id not in seen and competency_id in state.competencies:
            seen.add(competency_id)
            broader = state.competencies[competency_id].broader
            if not broader:
                break
            competency_id = broader[0]
        return competency_id

    def find(table: str, record: Any) -> _Part:
        if table == "competencies":
            return _Part("competencies", find_top(record.broader[0]) if record.broader else record.id)
        if table == "roles":
            return _Part("roles", record.family)
        if table == "requirements":
            role = state.roles.get(record.role)
            return _Part("roles", role.family if role is not None else "")
        return _Part(table, "")

    return find


def _find_left(row: Row, before: Snapshot, from_id: str, find: Any) -> _Part | None:
    """Return the part in which a changed record was in the first state, where that can differ."""
    key = (from_id,) if from_id else row.key
    if row.table not in ("roles", "competencies") or key not in before.get_table(row.table):
        return None
    part: _Part = find(row.table, before.get_table(row.table)[key])
    return part


def _name(part: _Part, before: Snapshot, after: Snapshot) -> str:
    if part.table == "competencies":
        state = after if part.id in after.competencies else before
        return get_name(state.competencies, part.id)
    if part.table == "roles":
        return f"Roles: {part.id}" if part.id else _NO_FAMILY
    return part.table.replace("_", " ").capitalize()


def _tell_counts(counts: Counter[str]) -> str:
    return ", ".join(f"{counts[change]:,} {change}" for change in ("added", "removed", "changed") if counts[change])


def _tell(rows: Sequence[ComparedRow], moves: Counter[tuple[_Part, _Part]]) -> str:
    told = _tell_counts(Counter(one.row.change for one in rows)) or "Nothing differs"
    moved = f"; {format_count(moves.total(), 'record')} moved to another part" if moves else ""
    return f"{told}{moved}."
