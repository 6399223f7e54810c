"""The needs of a team and its places as HTML, and a box for each member: the state first, a ruler of heads, on whom
it rests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache, partial
from html import escape
from typing import Any, Final, NamedTuple, TypeVar

from markupsafe import Markup

from api.desk.bounded import find_kept
from api.desk.names import Names
from api.desk.sheet import State
from api.pages.cards import begin_cell, build_frame, build_head
from api.pages.cells import build_link, build_links, build_prose, build_state
from api.pages.cover_rows import NeedView, PlaceView, build_need, order_needs
from api.pages.crews import Crew, CrewMember
from ontology.analysis.cover.coverage import CoverageResult, CoverageRow

__all__ = ["NeedRow", "Written", "write_boxes", "write_need_rows", "write_needs", "write_places"]

_NEEDS: Final = ("state", "what", "where", "present", "rests on")
_PLACES: Final = ("place", "crew", "could be held by")
_NEED_HEADS: Final = [build_head(name) for name in _NEEDS]
_PLACE_HEADS: Final = [build_head(name) for name in _PLACES]
_STATE, _WHAT, _WHERE, _PRESENT, _RESTS_ON = (begin_cell(name, is_head=name == "what") for name in _NEEDS)
_PLACE, _CREW, _HELD_BY = (begin_cell(name, is_head=name == "place") for name in _PLACES)
#: Squares of a ruler at the most; the number stands beside it.
_MOST_SQUARES: Final = 12
#: Rows of cover that are kept as they are written, about a kilobyte each.
_MOST_WRITTEN: Final = 4_000
#: A row as it is shown -> its HTML.
Written = dict[Any, str]
_Row = TypeVar("_Row", PlaceView, Crew)


class NeedRow(NamedTuple):
    """A need as it is written, and whether anything of it is otherwise than before."""

    text: str
    is_changed: bool


def write_need_rows(result: CoverageResult, before: CoverageResult, names: Names) -> tuple[NeedRow, ...]:
    """Return the needs of a team as rows of a table, the worse state first; kept with the state as it is seen.

    Of who is ticked away most needs know nothing: what is written of them stays.
    """
    written: dict[tuple[int, CoverageRow, CoverageRow | None], NeedRow] = names.keep("needs as they are written", dict)
    rows = []
    for number, (need, old) in enumerate(order_needs(result, before), start=1):
        key = number, need, None if old is need else old
        rows.append(find_kept(written, key, _MOST_WRITTEN, partial(_write_need, number, need, old, names)))
    return tuple(rows)


def _write_need(number: int, need: CoverageRow, old: CoverageRow, names: Names) -> NeedRow:
    view = build_need(number, need, old, names)
    return NeedRow(_build_need(view), bool(view.was or any(shift.was for shift in view.shifts)))


def write_needs(needs: Sequence[NeedRow], title: str) -> Markup:
    """Return the table of a team's needs."""
    return Markup(build_frame(escape(title), _NEED_HEADS, [need.text for need in needs], "cards cover"))


def write_places(places: Sequence[PlaceView], written: Written) -> Markup:
    """Return the table of a team's places."""
    rows = [_keep(written, row, _build_place) for row in places]
    return Markup(build_frame("Places and who could hold them", _PLACE_HEADS, rows))


def write_boxes(crews: Sequence[Crew], written: Written) -> Markup:
    """Return a box to tick for each member, crew by crew; who is recorded away cannot be unticked."""
    return Markup("\n".join([_keep(written, crew, _build_crew) for crew in crews]))


def _keep(written: Written, row: _Row, build: Callable[[_Row], str]) -> str:
    """Return what a row is written as: it says all of it, so the same row is the same text."""
    return find_kept(written, row, _MOST_WRITTEN, lambda: build(row))


def _build_crew(crew: Crew) -> str:
    boxes = "".join([_build_box(member) for member in crew.members])
    return f"<fieldset><legend>{escape(crew.name)}</legend>{boxes}</fieldset>"


def _build_box(member: CrewMember) -> str:
    ref = member.person
    id, note = escape(ref.id), f"<small>{build_prose(member.note)}</small>" if member.note else ""
    ticked = f"{' checked' if member.is_away else ''}{' disabled' if member.is_locked else ''}"
    return (
        f'\n<label class="choice" for="away-{id}"><input type="checkbox" id="away-{id}" name="away" value="{id}"'
        f"{ticked}>{escape(ref.name)}{note}</label>"
    )


def _build_need(need: NeedView) -> str:
    details = ""
    if need.shifts:
        shifts = "".join([_build_shift(row) for row in need.shifts])
        # a crew that changes is seen without opening its row
        is_open = " open" if any(row.was for row in need.shifts) else ""
        details = (
            f'<details id="{need.id}"{is_open}><summary>all {len(need.shifts)} crews</summary>\n'
            f'<ul class="crews">{shifts}</ul></details>'
        )
    lacking = build_links(need.not_appointed) if need.not_appointed else ""
    return (
        f"{_begin_row(need.was)}{_STATE}<span>{_build_state(need.state, need.was)}</span></td>\n"
        f"{_WHAT}<span>{build_link(need.competency)}<small>{need.about}</small>{details}</span></th>\n"
        f"{_WHERE}{escape(need.where)}</td>\n"
        f"{_PRESENT}{_build_heads(need.present, need.minimum, need.target)}</td>\n"
        f"{_RESTS_ON}<span>{_build_rest(need)}"
        f"{f'<small>able, not appointed: {lacking}</small>' if lacking else ''}</span></td></tr>"
    )


def _build_shift(row: NeedView) -> str:
    return (
        f"<li>{escape(row.where)}: {_build_state(row.state, row.was)}"
        f"<small>{row.present} of at least {row.minimum}: {_build_rest(row)}</small></li>"
    )


def _build_place(row: PlaceView) -> str:
    held_by = build_link(row.person) if row.person else ""
    if row.state:
        held_by = build_state(row.state.code, row.state.word, "filled" if row.is_changed else "")
    note = f" <small>{escape(row.note)}</small>" if row.note else ""
    return (
        f"{_begin_row(row.is_changed)}{_PLACE}<span>{build_link(row.place)}</span></th>"
        f"{_CREW}<span>{escape(row.where)}</span></td>{_HELD_BY}<span>{held_by}{note}</span></td></tr>"
    )


def _begin_row(is_changed: object) -> str:
    return '<tr role="row" class="changed">' if is_changed else '<tr role="row">'


def _build_state(state: State, was: str) -> str:
    return build_state(state.code, state.word, was, state.meaning)


def _build_rest(row: NeedView) -> str:
    """Return on whom it rests: a few names, and how many more there are."""
    more = f" and {row.more} more" if row.more else ""
    return (build_links(row.rests_on) or '<span class="quiet">nobody present</span>') + more


@lru_cache(maxsize=4096)
def _build_heads(present: int, minimum: int, target: int) -> str:
    """Return a ruler of heads: a black square a person present, a blue line under the minimum, white ones up to the
    wished number.
    """
    squares = "".join(
        f'<i class="{"has" if n <= present else "open"}{" asked" if n <= minimum else ""}"></i>'
        for n in range(1, min(max(present, minimum, target, 1), _MOST_SQUARES) + 1)
    )
    wished = f", {target} wished" if target > minimum else ""
    return (
        f'<span class="ruler"><span class="squares" aria-hidden="true">{squares}</span>'
        f"<small>{present} of at least {minimum}{wished}</small></span>"
    )
