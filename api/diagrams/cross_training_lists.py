"""The lists below the picture of a cross-training plan: what stays missing, what changes without it, what lapses.

Imports cards, cross_training_changes, names, style, text, the snapshot and the answers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from api.diagrams import style
from api.diagrams.cards import card, cell, count_lines, listing, row, state, words
from api.diagrams.cross_training_changes import Change
from api.diagrams.names import get_label, get_place_label, get_shift_label
from api.diagrams.text import format_count, get_link
from ontology.analysis.training.plan_effect import UnrenewedLevel
from ontology.analysis.training.training_reasons import UnmetGoal
from ontology.analysis.training.unmet_slots import UnmetPlaces
from ontology.graph.snapshot import Snapshot

__all__ = ["Missing", "build_lists", "count_list_lines", "describe_lapse", "describe_missing"]

#: What a plan does not close.
Missing = UnmetGoal | UnmetPlaces

_NAME_COLUMNS: Final = 40
_REASON_COLUMNS: Final = 66


def build_lists(snapshot: Snapshot, items: Sequence[object]) -> list[str]:
    """Return those of some rows that are no learners as lists, each as markup."""
    missing = [item for item in items if isinstance(item, UnmetGoal | UnmetPlaces)]
    others = [item for item in items if isinstance(item, Change)]
    lapses = [item for item in items if isinstance(item, UnrenewedLevel)]
    lists = [_build_missing(snapshot, missing)] if missing else []
    lists += [_build_others(others)] if others else []
    return lists + ([_build_lapses(snapshot, lapses)] if lapses else [])


def count_list_lines(item: object) -> float:
    """Return the lines that a row of a list takes on paper."""
    return count_lines(item.reason, _REASON_COLUMNS) if isinstance(item, UnmetGoal | UnmetPlaces) else 1.5


def _build_missing(snapshot: Snapshot, missing: Sequence[Missing]) -> str:
    rows = [
        row(
            cell(words(describe_missing(snapshot, item), columns=_NAME_COLUMNS)),
            cell(words(item.reason, columns=_REASON_COLUMNS)),
        )
        for item in missing
    ]
    return card(style.SHORT, "Still missing after the plan", *rows, span=2)


def describe_missing(snapshot: Snapshot, item: Missing) -> str:
    """Return how many people lack, or slots stay empty, and for what."""
    people = format_count(item.missing, "person", "people")
    if isinstance(item, UnmetPlaces):
        names = [get_place_label(snapshot, place) for place in dict.fromkeys(item.places)]
        names += [get_label(snapshot.competencies, i) for i in dict.fromkeys(item.competencies)]
        return f"{people} for {', '.join(names)}"
    what = people if item.kind == "need" else format_count(item.missing, "empty slot")
    if item.place is not None:
        return f"{what}: {get_place_label(snapshot, item.place)}"
    shift = get_shift_label(snapshot, item.shift)
    label = f"{get_label(snapshot.competencies, item.competency or '')}, level {item.level}"
    label += f" (group {item.together})" if item.together else ""
    return f"{what}: {label}{f', {shift}' if shift else ''}"


def _build_others(changes: Sequence[Change]) -> str:
    rows = [
        (
            cell(words(change.label, columns=_NAME_COLUMNS), link=change.link, tooltip=change.told),
            words(change.where, columns=36),
            *(state(side.words, style.STATES[side.state]) for side in (change.now, change.then)),
        )
        for change in changes
    ]
    return listing(("changes without training", "where", "now", "then"), rows)


def _build_lapses(snapshot: Snapshot, lapses: Sequence[UnrenewedLevel]) -> str:
    rows = []
    for lapse in lapses:
        name = get_label(snapshot.people, lapse.person)
        level = f"{get_label(snapshot.competencies, lapse.competency)}, level {lapse.level}"
        told = describe_lapse(snapshot, lapse)
        rows.append(
            (
                cell(words(name, columns=26), link=get_link("people", lapse.person), tooltip=told),
                words(level, columns=_NAME_COLUMNS),
                words(lapse.valid_until.isoformat()),
                words(_name_renewal(snapshot, lapse), columns=36),
            )
        )
    return listing(("expires before then", "level", "last day", "not in the plan, would renew it"), rows)


def _name_renewal(snapshot: Snapshot, lapse: UnrenewedLevel) -> str:
    if lapse.renewal is None:
        return "no single course"
    day = "" if lapse.last_day_to_act is None else f", last start day {lapse.last_day_to_act.isoformat()}"
    return f"{get_label(snapshot.courses, lapse.renewal)}{day}{' (passed)' if lapse.is_late else ''}"


def describe_lapse(snapshot: Snapshot, lapse: UnrenewedLevel) -> str:
    """Return in words, without a full stop, who loses what when, and what would keep it."""
    level = f"{get_label(snapshot.competencies, lapse.competency)} at level {lapse.level}"
    told = f"{get_label(snapshot.people, lapse.person)} holds {level} to {lapse.valid_until.isoformat()}"
    return f"{told}; not in the plan, would renew it: {_name_renewal(snapshot, lapse)}"
