"""The order of routes: the best by each aim, the trade-off between hours and months, and the rest. Pure.

A ranking grows route by route and can say of one not yet worked out, from a lower bound, that it cannot be listed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from ontology.analysis.routes.route_bounds import RouteCosts, Sequenced

__all__ = ["Candidate", "Ranking", "build_candidate"]

_MARGIN = 1e-6
"""Months that rounding in floating point stays well below."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A sequence with its minutes of study and its months, exact; infinite where there is no time to study."""

    sequence: Sequenced
    minutes: int
    months: Fraction | float

    def by_hours(self) -> tuple[int, Fraction | float, int, Sequenced]:
        """Return the key of the order by hours, then months, moves, ids."""
        return self.minutes, self.months, len(self.sequence), self.sequence

    def by_months(self) -> tuple[Fraction | float, int, int, Sequenced]:
        """Return the key of the order by months, then hours, moves, ids."""
        return self.months, self.minutes, len(self.sequence), self.sequence

    def by_moves(self) -> tuple[int, int, Fraction | float, Sequenced]:
        """Return the key of the order by moves, then hours, months, ids."""
        return len(self.sequence), self.minutes, self.months, self.sequence

    def is_beaten_by(self, other: Candidate) -> bool:
        """Whether the other is nowhere behind in hours and months and ahead in one."""
        is_no_worse = other.minutes <= self.minutes and other.months <= self.months
        return is_no_worse and (other.minutes < self.minutes or other.months < self.months)


def build_candidate(costs: RouteCosts, sequence: Sequenced, minutes: int) -> Candidate:
    """Return a sequence with its months: weeks of study by 12/52, and the time in each intermediate role."""
    in_roles = sum(costs.snapshot.roles[r].months_to_full for r in sequence[:-1])
    pace = costs.profile.study_hours_per_week
    if not minutes:
        return Candidate(sequence, minutes, Fraction(in_roles))
    if pace <= 0:
        return Candidate(sequence, minutes, math.inf)
    return Candidate(sequence, minutes, in_roles + Fraction(minutes, 60) / Fraction(pace) * Fraction(12, 52))


class Ranking:
    """The routes shown so far; at most `rest_limit` of those that are neither best nor trade-off will be listed."""

    def __init__(self, rest_limit: int) -> None:
        self.candidates: list[Candidate] = []
        self._rest_limit = rest_limit
        self._rest: list[Candidate] | None = None

    def add(self, candidate: Candidate) -> None:
        """Take in a shown route."""
        self.candidates.append(candidate)
        self._rest = None

    def get_best(self) -> tuple[Candidate | None, Candidate | None, Candidate | None]:
        """Return the best by study hours, by months and by moves."""
        return (
            min(self.candidates, key=Candidate.by_hours, default=None),
            min(self.candidates, key=Candidate.by_months, default=None),
            min(self.candidates, key=Candidate.by_moves, default=None),
        )

    def get_trade_off(self) -> list[Candidate]:
        """Return those that no other beats, by hours; equals stand together. O(n log n)."""
        kept: list[Candidate] = []
        for candidate in sorted(self.candidates, key=Candidate.by_hours):
            is_twin = bool(kept) and (candidate.minutes, candidate.months) == (kept[-1].minutes, kept[-1].months)
            if not kept or is_twin or candidate.months < kept[-1].months:
                kept.append(candidate)
        return kept

    def get_rest(self) -> list[Candidate]:
        """Return those neither best nor in the trade-off, by hours, months, moves and ids."""
        if self._rest is None:
            named = {candidate.sequence for candidate in (*self.get_best(), *self.get_trade_off()) if candidate}
            rest = (candidate for candidate in self.candidates if candidate.sequence not in named)
            self._rest = sorted(rest, key=Candidate.by_hours)
        return self._rest

    def find_listable(
        self, moves: int, minutes: NDArray[np.float64], months_in_roles: NDArray[np.float64], pace: float
    ) -> NDArray[np.bool_]:
        """Return which of many sequences of equal length may come to be listed, from least minutes; a few too many.

        As `can_be_listed`, in floating point and on the safe side.
        """
        rest = self.get_rest()
        if len(rest) < self._rest_limit or all(len(candidate.sequence) >= moves for candidate in self.candidates):
            return np.ones(len(minutes), dtype=np.bool_)
        study = minutes / 60 / pace * 12 / 52 if pace > 0 else np.where(minutes > 0, math.inf, 0.0)
        months = months_in_roles + study
        is_beaten = np.zeros(len(minutes), dtype=np.bool_)
        for candidate in self.get_trade_off():
            is_beaten |= (minutes >= candidate.minutes) & (months > float(candidate.months) + _MARGIN)
        return (minutes <= rest[self._rest_limit - 1].minutes) | ~is_beaten

    def can_be_listed(self, least: Candidate) -> bool:
        """Whether a route with at least these minutes and months may come to be listed.

        What is once in the rest stays there as more routes come in, so its first `rest_limit` only get better.
        """
        rest = self.get_rest()
        if len(rest) < self._rest_limit or least.by_hours() < rest[self._rest_limit - 1].by_hours():
            return True
        by_moves = min(self.candidates, key=Candidate.by_moves)
        if least.by_moves() < by_moves.by_moves():
            return True
        return not any(least.is_beaten_by(candidate) for candidate in self.candidates)
