"""Levels as a table with rulers: what each rests on, until when it counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields
from functools import partial
from html import escape
from operator import attrgetter
from typing import Any, Final

from markupsafe import Markup

from api.desk.bounded import find_kept
from api.desk.names import Names
from api.pages.cards import begin_cell, build_frame, build_head
from api.pages.cells import build_link, build_short_day, build_state, escape_text
from api.pages.ruler import write_ruler
from api.pages.spans import tell_age
from ontology.analysis.profiles.known_levels import KnownLevel
from ontology.snapshot.snapshot import Snapshot

__all__ = ["write_level_rows", "write_level_table"]

#: Rows of levels that are kept as they are written, about a kilobyte each.
_MOST_WRITTEN: Final = 4_000
_COLUMNS: Final = ("Competency", "Level", "Rests on", "Counts until")
_HEADS: Final = [build_head(name) for name in _COLUMNS]
_COMPETENCY, _LEVEL, _RESTS_ON, _UNTIL = (begin_cell(name, is_head=name == "Competency") for name in _COLUMNS)
_STATES: Final = {"lapsed": "lapsed", "suspended": "suspended", "review-due": "review due"}
_SUSPENDED: Final = "comes back once what it hangs on is held again"
_AGE: Final = "age_days"
#: All that a row says but its age, which is told in months for most of a year.
_get_shown: Final = attrgetter(*[one.name for one in fields(KnownLevel) if one.name != _AGE])


def write_level_table(rows: Sequence[str], caption: str) -> Markup:
    """Return the table of some levels, given as they are written."""
    return Markup(f'<div class="rows">{build_frame(escape(caption), _HEADS, rows, "cards levels")}</div>')


def write_level_rows(levels: Iterable[KnownLevel], snapshot: Snapshot, names: Names) -> tuple[str, ...]:
    """Return levels as rows of a table; what says the same is written once and kept with the state as it is seen."""
    written: dict[tuple[Any, str], str] = snapshot.keep("rows of levels as they are written", dict)
    rows = []
    for level in levels:
        age = "" if level.age_days is None else tell_age(level.age_days)
        build = partial(_build_row, level, age, snapshot, names)
        rows.append(find_kept(written, (_get_shown(level), age), _MOST_WRITTEN, build))
    return tuple(rows)


def _build_row(row: KnownLevel, age: str, snapshot: Snapshot, names: Names) -> str:
    necessity = f"<small>{row.necessity}</small>" if row.necessity else ""
    state = build_state(row.state, _STATES[row.state]) if row.state in _STATES else ""
    day = f"{build_short_day(row.date)}, " if row.date else ""
    steps = len(snapshot.scales.get(snapshot.competencies[row.competency].scale, ()))
    ruler = write_ruler(row.level, row.asked, max(steps, row.asked or 0, row.level or 0))
    return (
        f'<tr role="row">{_COMPETENCY}<span>{build_link(names.refer("competencies", row.competency))}{necessity}'
        f"</span></th>\n{_LEVEL}<span>{ruler}{state}</span></td>\n"
        f"{_RESTS_ON}<span>{escape_text(_tell_rests(row, names))}"
        f"<small>{day}{escape_text(_tell_detail(row, age, names))}</small></span></td>\n"
        f"{_UNTIL}<span>{_build_until(row)}</span></td></tr>"
    )


def _tell_rests(row: KnownLevel, names: Names) -> str:
    if row.source is None:
        return "nothing yet"
    who = f", {names.person(row.assessor)}" if row.assessor else ""
    return f"{row.source}{who}"


def _tell_detail(row: KnownLevel, age: str, names: Names) -> str:
    if not age:
        return "the first step is to ask for an assessment"
    told = age
    if row.by_equivalence:
        told += f"; it counts by {names.competency(row.by_equivalence)}"
    if row.carried_from:
        told += f"; it was recorded of {names.competency(row.carried_from)}, which is retired"
    return f"{told}; {_SUSPENDED}" if row.state == "suspended" else told


def _build_until(row: KnownLevel) -> str:
    if row.until is None:
        return "no end" if row.state == "ok" else "–"
    then = "<small>then it wants a fresh look</small>" if row.then == "review-due" else ""
    return build_short_day(row.until) + then
