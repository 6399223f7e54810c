"""O*NET ratings (importance and level of an element in an occupation) as requirements.

Importance runs 1-5 and level 0-7 (O*NET Scales Reference).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from loaders.open_data.faults import Faults, Progress, parse_number, read_text
from loaders.open_data.onet_sheets import (
    CONTENT_MODEL,
    ELEMENT,
    NOT_RELEVANT,
    OCCUPATIONS,
    SCALE,
    SOC,
    SUPPRESS,
    VALUE,
    Sheet,
)
from ontology.model.records import Requirement

LEVEL_SCALE: Final = "LV"
IMPORTANCE_SCALE: Final = "IM"
MAX_RANK: Final = 7
DEFAULT_WEIGHT: Final = 3.0

_LIMITS: Final = {LEVEL_SCALE: (0.0, 7.0), IMPORTANCE_SCALE: (1.0, 5.0)}
_SUPPRESSED: Final = {
    frozenset((LEVEL_SCALE,)): "The publisher recommends suppressing this level: low precision.",
    frozenset((IMPORTANCE_SCALE,)): "The publisher recommends suppressing this importance: low precision.",
    frozenset(_LIMITS): "The publisher recommends suppressing this level and importance: low precision.",
}


def round_half_up(value: float) -> int:
    """Return the nearest whole number of a value >= 0; halves go up.

    Examples
    --------
    >>> [round_half_up(value) for value in (0.49, 0.5, 2.49, 2.5, 6.96)]
    [0, 1, 2, 3, 7]
    """
    return math.floor(value + 0.5)


@dataclass(slots=True)
class Rating:
    """Importance and level of one element in one occupation, as far as they have been read."""

    file: str
    row: int
    importance: float | None = None
    level: float | None = None
    is_not_relevant: bool = False
    is_faulty: bool = False
    suppressed: set[str] = field(default_factory=set)


@dataclass(slots=True)
class Ratings:
    """All ratings of the occupations and elements that exist.

    `kinds` holds rated element -> "skill" or "knowledge", by the file that rates it; `occupations` are the codes with
    at least one sound rating.
    """

    by_pair: dict[tuple[str, str], Rating] = field(default_factory=dict)
    kinds: dict[str, str] = field(default_factory=dict)

    @property
    def occupations(self) -> set[str]:
        """Codes of the occupations with at least one rating."""
        return {soc for soc, _ in self.by_pair}

    def build_requirements(self, faults: Faults) -> list[Requirement]:
        """Return a requirement for every pair whose level is at least 0.5 and that is not marked not relevant."""
        requirements: list[Requirement] = []
        for (soc, element_id), rating in self.by_pair.items():
            level, weight = rating.level, rating.importance
            if level is None:
                if not rating.is_faulty:
                    faults.add_remark(
                        rating.file, rating.row, ELEMENT, element_id, "There is no level row: no requirement."
                    )
                continue
            rank = round_half_up(level)
            if rating.is_not_relevant or not rank:
                continue
            if weight is None:
                weight = DEFAULT_WEIGHT
                if not rating.is_faulty:
                    faults.add_remark(
                        rating.file, rating.row, ELEMENT, element_id, "There is no importance row: weight 3 is used."
                    )
            remark = _SUPPRESSED[frozenset(rating.suppressed)] if rating.suppressed else ""
            requirements.append(
                Requirement(soc, element_id, rank, rank, rank, weight, "essential", None, level, remark)
            )
        return requirements


def read_ratings(
    sheet: Sheet,
    kind: str,
    occupations: set[str],
    elements: set[str],
    ratings: Ratings,
    faults: Faults,
    progress: Progress | None = None,
) -> None:
    """Add the rows of one file of ratings; a faulty row becomes an error finding.

    Parameters
    ----------
    sheet : Sheet
        Skills or Knowledge: a row per occupation, element and scale.
    kind : {"skill", "knowledge"}
        What the file's elements are.
    occupations, elements : set of str
        The ids that exist.
    ratings : Ratings
        Grows.
    faults : Faults
        Grows.
    progress : callable, optional
        Told as the rows are read.
    """
    by_pair, kinds = ratings.by_pair, ratings.kinds
    for row, (code, element_cell, scale_cell, value, suppress, not_relevant) in sheet.iterate(progress):
        soc, element_id, scale = read_text(code), read_text(element_cell), read_text(scale_cell)
        if soc not in occupations:
            faults.add_error(sheet.file, row, SOC, soc, f"There is no such occupation in {OCCUPATIONS}.")
            continue
        if element_id not in elements:
            faults.add_error(sheet.file, row, ELEMENT, element_id, f"There is no such element in {CONTENT_MODEL}.")
            continue
        limits = _LIMITS.get(scale)
        if limits is None:
            faults.add_error(sheet.file, row, SCALE, scale, "A rating is of the scale IM (importance) or LV (level).")
            continue
        kinds.setdefault(element_id, kind)
        rating = by_pair.get((soc, element_id))
        if rating is None:
            rating = by_pair[soc, element_id] = Rating(sheet.file, row)
        number = parse_number(value)
        if number is None or not limits[0] <= number <= limits[1]:
            reason = f"The scale {scale} takes a number from {limits[0]:g} to {limits[1]:g}."
            faults.add_error(sheet.file, row, VALUE, value, reason)
            rating.is_faulty = True
            continue
        if scale == LEVEL_SCALE:
            is_duplicate = rating.level is not None
            if not is_duplicate:
                rating.level, rating.row = number, row
        else:
            is_duplicate = rating.importance is not None
            if not is_duplicate:
                rating.importance = number
        if is_duplicate:
            faults.add_error(sheet.file, row, SCALE, scale, f"{soc} and {element_id} have this: duplicate key.")
            continue
        rating.is_not_relevant |= _read_mark(sheet.file, row, NOT_RELEVANT, not_relevant, faults)
        if _read_mark(sheet.file, row, SUPPRESS, suppress, faults):
            rating.suppressed.add(scale)


def _read_mark(file: str, row: int, column: str, cell: object, faults: Faults) -> bool:
    """Return whether a Y/N column says Y; blank (where the publisher makes no statement) is no."""
    if cell in ("N", "", "Y", None):
        return cell == "Y"
    mark = read_text(cell).upper()
    if mark not in ("Y", "N", "N/A", ""):
        faults.add_remark(file, row, column, cell, "The mark is Y, N or empty: read as N.")
    return mark == "Y"
