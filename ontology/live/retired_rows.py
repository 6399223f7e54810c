"""Two rows that become one when a competency takes the place of another: the higher counts, the stricter holds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, Final

from ontology.errors import InputError
from ontology.model.records import NECESSITIES, CoverNeed, EntryCondition, Outcome, Requirement

__all__ = ["merge_rows"]

#: Of cover needs, what asks more the higher it is.
_HIGHER: Final = ("minimum", "target", "criticality", "occasions_per_year", "hours_per_year")


def merge_rows(moved: Any, there: Any) -> Any:
    """Return the row that a moved one and the one that is there already become; of other tables the latter stays.

    Raises
    ------
    InputError
        Both are cover needs, of different groups.
    """
    if isinstance(moved, Requirement):
        return _merge_requirements(moved, there)
    if isinstance(moved, Outcome):
        return replace(there, level=max(moved.level, there.level), renews=moved.renews and there.renews)
    if isinstance(moved, EntryCondition):
        return replace(there, level=max(moved.level, there.level))
    if isinstance(moved, CoverNeed):
        return _merge_needs(moved, there)
    return there


def _merge_requirements(moved: Requirement, there: Requirement) -> Requirement:
    remarks = dict.fromkeys(filter(None, (there.remark, moved.remark)))
    return replace(
        there,
        level=max(moved.level, there.level),
        entry_level=max(moved.entry_level, there.entry_level),
        unsupervised_level=max(moved.unsupervised_level, there.unsupervised_level),
        weight=max(moved.weight, there.weight),
        necessity=min(moved.necessity, there.necessity, key=NECESSITIES.index),
        learned_on_job=_merge_learned(moved.learned_on_job, there.learned_on_job),
        remark="; ".join(remarks),
    )


def _merge_learned(one: bool | None, other: bool | None) -> bool | None:
    """Return whether time in the role is enough: not where one says no; where one says nothing, as is usual."""
    if one is False or other is False:
        return False
    return None if one is None or other is None else True


def _merge_needs(moved: CoverNeed, there: CoverNeed) -> CoverNeed:
    if moved.together and there.together and moved.together != there.together:
        reason = (
            f"would make one need of two groups in team {there.team}: {moved.together} and {there.together} "
            f"for {there.competency} at level {there.level}; give both the same group first"
        )
        raise InputError(f"replaced_by {reason}.", parameter="replaced_by", value=there.competency, reason=reason)
    higher = {name: _get_higher((getattr(moved, name), getattr(there, name))) for name in _HIGHER}
    return replace(there, together=there.together or moved.together, **higher)


def _get_higher(values: Iterable[Any]) -> Any:
    return max((value for value in values if value is not None), default=None)
