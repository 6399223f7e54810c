"""The lists below the picture of a cross-training plan: what stays missing, what changes without it, what lapses."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

from api.desk.plain_cells import say_day, say_month
from api.pictures import style
from api.pictures.cards import card, cell, count_lines, listing, row, state, words
from api.pictures.cross_training_changes import Change
from api.pictures.names import Names
from api.pictures.text import format_count, get_link
from ontology.analysis.training.plan_effect import UnrenewedLevel
from ontology.analysis.training.training_reasons import UnmetGoal
from ontology.analysis.training.unmet_slots import UnmetPlaces

#: What a plan does not close.
Missing = UnmetGoal | UnmetPlaces

_NAME_COLUMNS: Final = 46
_REASON_COLUMNS: Final = 66


def build_lists(names: Names, items: Sequence[object]) -> list[str]:
    """Return those of some rows that are no learners as lists, each as markup."""
    return [
        _build_missing(names, [item for item in items if isinstance(item, UnmetGoal | UnmetPlaces)]),
        _build_others([item for item in items if isinstance(item, Change)]),
        _build_lapses(names, [item for item in items if isinstance(item, Lapses)]),
    ]


def count_list_lines(item: object) -> float:
    """Return the lines that a row of a list takes on paper."""
    if isinstance(item, Lapses):
        return max(1.5, len(item.people) / 2)
    return count_lines(item.reason, _REASON_COLUMNS) if isinstance(item, UnmetGoal | UnmetPlaces) else 1.5


def _build_missing(names: Names, missing: Sequence[Missing]) -> str:
    rows = [
        row(
            cell(words(describe_missing(names, item), columns=_NAME_COLUMNS)),
            cell(words(item.reason, columns=_REASON_COLUMNS)),
        )
        for item in missing
    ]
    return card(style.SHORT, "Still missing after the plan", *rows, span=2) if rows else ""


def describe_missing(names: Names, item: Missing) -> str:
    """Return how many people lack, or slots stay empty, and for what."""
    people = format_count(item.missing, "person", "people")
    if isinstance(item, UnmetPlaces):
        goals = [names.place(place) for place in dict.fromkeys(item.places)]
        goals += [names.competency(i) for i in dict.fromkeys(item.competencies)]
        return f"{people} for {', '.join(goals)}"
    what = people if item.kind == "need" else format_count(item.missing, "empty slot")
    if item.place is not None:
        return f"{what}: {names.place(item.place)}"
    shift = names.shift(item.shift)
    label = f"{names.competency(item.competency or '')}, level {item.level}"
    label += f" (group {item.together})" if item.together else ""
    return ", ".join(filter(None, (f"{what}: {label}", shift)))


def _build_others(changes: Sequence[Change]) -> str:
    rows = [
        (
            cell(words(change.label, columns=_NAME_COLUMNS), link=change.link, tooltip=change.told),
            words(change.where, columns=50),
            *(state(side.words, style.STATES[side.state]) for side in (change.now, change.then)),
        )
        for change in changes
    ]
    return listing(("changes without training", "where", "now", "then"), rows)


class Lapses(NamedTuple):
    """A level that several people lose on one day; `lapse` is that of the first of them."""

    lapse: UnrenewedLevel
    people: tuple[str, ...]


def group_lapses(lapses: Iterable[UnrenewedLevel]) -> list[Lapses]:
    """Return who loses the same level on the same day, and could renew it by the same course, together."""
    groups: dict[UnrenewedLevel, list[str]] = {}
    for lapse in lapses:
        groups.setdefault(replace(lapse, person=""), []).append(lapse.person)
    return [Lapses(lapse, tuple(people)) for lapse, people in groups.items()]


def _build_lapses(names: Names, rows: Sequence[Lapses]) -> str:
    listed = []
    for item in rows:
        level = f"{names.competency(item.lapse.competency)}, level {item.lapse.level}"
        link = get_link("competencies", item.lapse.competency)
        listed.append(
            (
                cell(words(level, columns=_NAME_COLUMNS), link=link, tooltip=describe_lapses(names, item)),
                words(say_month(item.lapse.valid_until)),
                words(names.join("people", item.people), columns=36),
                words(_name_renewal(names, item.lapse), columns=36),
            )
        )
    return listing(("expires before then", "last day", "of", "not in the plan, would renew it"), listed)


def _name_renewal(names: Names, lapse: UnrenewedLevel) -> str:
    if lapse.renewal is None:
        return "no single course"
    day = "" if lapse.last_day_to_act is None else f", last start day {say_month(lapse.last_day_to_act)}"
    return f"{names.course(lapse.renewal)}{day}{' (passed)' if lapse.is_late else ''}"


def describe_lapses(names: Names, item: Lapses) -> str:
    """Return in words, without a full stop, who loses what when, and what would keep it."""
    level = f"{names.competency(item.lapse.competency)} at level {item.lapse.level}"
    told = f"{level} expires after {say_day(item.lapse.valid_until)}: {names.join('people', item.people)}"
    return f"{told}; not in the plan, would renew it: {_name_renewal(names, item.lapse)}"
