"""What several sheets in figures share: a sheet without what tells of persons, places without who stands there."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Any, Final, TypeVar

from api.access.figures import HiddenFigure
from api.desk.names import Names, join_names
from api.desk.sheet import Fact, Part, Sheet, Table
from ontology.analysis.cover.coverage import STATES

if TYPE_CHECKING:  # what short questions share brings no solver
    from ontology.analysis.cover.fragile_needs import FragileNeed
    from ontology.analysis.outlook.company_cover import CompanyNeed
    from ontology.analysis.places.filling import FilledPlaces

#: The order of needs whose figures are not all told, in words.
BY_STATE: Final = "First the worse state; then the higher criticality; then by team, competency, level and shift."
_UNTOLD: Final = str(HiddenFigure())
_N = TypeVar("_N", "FragileNeed", "CompanyNeed")
_F = TypeVar("_F", bound="FilledPlaces")


def tell_or_not(sentence: str, number: int) -> str:
    """Return a sentence about a number of people, or that it is not told: of another day no number is.

    Examples
    --------
    >>> tell_or_not("12 people wait.", 12)
    '12 people wait.'
    """
    return "Of another day than today no number of people is told." if str(number) == _UNTOLD else sentence


def order_by_state(needs: Sequence[_N]) -> tuple[_N, ...]:
    """Return needs in an order that does not tell how many people each has."""
    return tuple(sorted(needs, key=lambda need: (STATES.index(need.state), -need.criticality, _get_key(need))))


def _get_key(need: FragileNeed | CompanyNeed) -> tuple[str, ...]:
    level = f"{need.level:09}"
    return getattr(need, "team", ""), need.competency, level, need.applies, need.shift or ""


def leave_out(sheet: Sheet, *names: str) -> Sheet:
    """Return a sheet without the columns, tables and facts of these names."""
    parts = tuple(
        _keep_columns(part, names) for part in sheet.parts if not (isinstance(part, Table) and part.title in names)
    )
    return dataclasses.replace(sheet, parts=parts, facts=tuple(fact for fact in sheet.facts if fact.name not in names))


def _keep_columns(part: Part, names: Collection[str]) -> Part:
    if not isinstance(part, Table):
        return part
    kept = [n for n, column in enumerate(part.columns) if column.name not in names]
    columns = tuple(part.columns[n] for n in kept)
    return dataclasses.replace(part, columns=columns, rows=tuple(tuple(row[n] for n in kept) for row in part.rows))


def hide_slots(result: _F, least: int) -> _F:
    """Return places with each empty one told once, where how many slots are empty would tell how few are filled."""
    if min(result.filled, result.together_filled if result.together_slots else least) >= least:
        return result
    changed: dict[str, Any] = {
        name: tuple(dict.fromkeys(getattr(result, name))) for name in ("unfilled", "unfilled_before")
    }
    bottleneck = dataclasses.replace(result.bottleneck, places=tuple(dict.fromkeys(result.bottleneck.places)))
    return dataclasses.replace(result, **changed, bottleneck=bottleneck)


def show_filled_in_figures(result: FilledPlaces, names: Names, title: str) -> Sheet:
    """Return which places stay empty, whoever fills the others."""
    empty = [names.place(place) for place in dict.fromkeys(result.unfilled)]
    empty += [names.need(row.competency, row.level, row.shift) for row in result.unfilled_needs]
    lead = "Every slot can be filled by those present."
    if empty:
        lead = f"Not every slot can be filled by those present: {join_names(empty)}."
    elif not result.places and not result.together_slots:
        lead = "The team has no places."
    facts = [Fact("Slots of places", str(result.places)), Fact("Of them filled", str(result.filled))]
    if result.together_slots:
        facts += [
            Fact("Slots of needs together", str(result.together_slots)),
            Fact("Of these filled", str(result.together_filled)),
        ]
    return Sheet(title=title, lead=lead, facts=tuple(facts))
