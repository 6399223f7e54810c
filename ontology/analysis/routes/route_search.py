"""Which sequences of moves are shown: legal ones that lose by leaving out any single intermediate role. Pure.

Sequences are tried by length, the least bound first. Most are settled by the outlook's tables; a bound of its own and
then the exact placement are worked out only for those that may still be listed. A cut never loses a route that would be
listed: a sequence is dropped only when its beginning is illegal, when a shorter one is proved legal and no dearer, or
when its bounds place it behind all that will be listed.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ontology.analysis.routes.route_bounds import RouteCosts, Sequenced
from ontology.analysis.routes.route_outlook import Batch, Outlook
from ontology.analysis.routes.route_ranking import Ranking, build_candidate

__all__ = ["RoutesAsked", "ShownRoutes", "find_intermediate_roles", "find_shown_routes"]


_KNOWN_MOVES: Final = 2
_ROWS_KEPT: Final = 300_000
_LISTING_SHARE: Final = 0.5
"""Of the time left: so much to list sequences, and of what is left then so much to bound them by their rivals."""


@dataclass(frozen=True, slots=True)
class RoutesAsked:
    """Which sequences are asked about: at most `max_moves` moves into the target, through `via`, never into `avoid`."""

    target: str
    max_moves: int
    avoid: frozenset[str] = frozenset()
    via: str | None = None

    def admits(self, sequence: Sequenced) -> bool:
        """Whether a sequence passes through `via`, where there is one."""
        return self.via is None or self.via in sequence

    def get_alternatives(self, sequence: Sequenced) -> list[Sequenced]:
        """Return the admitted sequences that leave out one intermediate role."""
        return [s for k in range(len(sequence) - 1) if self.admits(s := sequence[:k] + sequence[k + 1 :])]


@dataclass(frozen=True, slots=True)
class ShownRoutes:
    """The shown routes, ranked.

    `is_complete` is False when the deadline struck: then some are missing, or not proved. `is_cut` says that routes
    were left out that could not have come to be listed. `lower_bound` (minutes) holds for every legal sequence;
    infinite where there is none.
    """

    ranking: Ranking
    is_complete: bool
    is_cut: bool
    lower_bound: float


def find_intermediate_roles(costs: RouteCosts, asked: RoutesAsked) -> tuple[str, ...]:
    """Return the roles that may stand in between: with requirements, not avoided, nor the present role or target."""
    snapshot = costs.snapshot
    out = asked.avoid | {costs.profile.role, asked.target}
    return tuple(r for r in snapshot.roles if r not in out and snapshot.get_requirements(r))


def find_shown_routes(costs: RouteCosts, asked: RoutesAsked, rest_limit: int) -> ShownRoutes:
    """Return the shown routes to the target that what is asked admits.

    All that are best by an aim or in the trade-off, and at least the first `rest_limit` of the others.

    Notes
    -----
    At most (number of roles)^(max_moves - 1) sequences are looked at, as rows of arrays; those whose beginning is
    illegal are not made.
    """
    search = _Search(costs, asked, rest_limit)
    if costs.bound_with_all_growth(search.roles) < math.inf:
        for moves in range(1, min(asked.max_moves, len(search.roles)) + 1):
            search.look_at(moves)
    return search.summarise()


class _Search:
    """What is known so far.

    Attributes
    ----------
    ranking : Ranking
    roles : tuple of str
        Those that may stand in between, then the target.
    """

    def __init__(self, costs: RouteCosts, asked: RoutesAsked, rest_limit: int) -> None:
        self.ranking = Ranking(rest_limit)
        self.roles = (*find_intermediate_roles(costs, asked), asked.target)
        self._costs = costs
        self._asked = asked
        self._is_complete = True
        self._is_cut = False
        self._open_minutes = math.inf  # no sequence that is not settled costs less
        self._outlook: Outlook | None = None
        self._role_numbers = {role_id: number for number, role_id in enumerate(self.roles)}
        self._insertions: dict[tuple[Sequenced, int], NDArray[np.float64]] = {}

    def look_at(self, moves: int) -> None:
        """Settle the sequences of so many moves, the most promising ones first; by portions where time is short."""
        deadline = self._costs.deadline
        if deadline.is_over():
            self._leave_open(moves, 0)
            return
        self._outlook = self._outlook or self._costs.build_outlook(self.roles)
        batches = self._outlook.iterate(moves, self._asked.via)
        while True:
            rows, last = self._list_rows(moves, batches)
            rows.sort()
            self._settle_all(moves, self._refine(rows) if moves > 2 else rows)
            if last is None:
                return
            if deadline.is_over():
                self._leave_open(moves, last)
                return

    def _list_rows(self, moves: int, batches: Iterator[Batch]) -> tuple[list[tuple[int, Sequenced]], int | None]:
        """Return sequences that may come to be listed, with their bounds, and at which first role time was up.

        Half of the time left goes into it; None where the batches were at an end before.
        """
        assert self._outlook is not None
        deadline = self._costs.deadline.get_share(_LISTING_SHARE)
        rows: list[tuple[int, Sequenced]] = []
        for batch in batches:
            is_kept = self.ranking.find_listable(moves, batch.minutes, batch.months, self._costs.pace)
            self._is_cut = self._is_cut or not is_kept.all()
            rows += [
                (int(batch.minutes[k]), self._outlook.get_sequence(batch, int(k))) for k in np.flatnonzero(is_kept)
            ]
            if len(rows) > 2 * _ROWS_KEPT:
                rows = self._drop_least_promising(rows)
            if deadline.is_over():
                return rows, batch.beginning[0] if batch.beginning else 0
        return rows, None

    def _leave_open(self, moves: int, first: int) -> None:
        """Note that sequences of so many moves beginning with this role or a later one are not even listed."""
        self._is_complete = False
        bound = 0.0 if self._outlook is None or moves == 1 else self._outlook.bound_later(moves, first)
        self._open_minutes = min(self._open_minutes, bound)

    def _drop_least_promising(self, rows: list[tuple[int, Sequenced]]) -> list[tuple[int, Sequenced]]:
        """Return as many rows as there is room for; what is dropped leaves the answer best-found, with its bound."""
        rows.sort()
        self._is_complete = False
        self._open_minutes = min(self._open_minutes, rows[_ROWS_KEPT][0])
        return rows[:_ROWS_KEPT]

    def _settle_all(self, moves: int, rows: list[tuple[int, Sequenced]]) -> None:
        if rows and self._costs.deadline.is_over():
            self._is_complete = False
            self._open_minutes = min(self._open_minutes, rows[0][0])
            return
        roles = self._costs.snapshot.roles
        least = np.array([minutes for minutes, _ in rows], dtype=np.float64)
        months = np.array([sum(roles[r].months_to_full for r in s[:-1]) for _, s in rows], dtype=np.float64)
        is_listable = np.ones(len(rows), dtype=np.bool_)
        is_open = np.ones(len(rows), dtype=np.bool_)
        queue = [(minutes, number) for number, (minutes, _) in enumerate(rows)]  # in order, so it is a heap
        count = -1
        while queue:
            minutes, number = heapq.heappop(queue)
            if self._costs.deadline.is_over():
                self._is_complete = False
                self._open_minutes = min(self._open_minutes, minutes)
                return
            if len(self.ranking.candidates) != count:
                count = len(self.ranking.candidates)
                is_listable = self.ranking.find_listable(moves, least, months, self._costs.pace)
                self._is_cut = self._is_cut or not is_listable[is_open].all()
            if is_listable[number]:
                better = self._look_closer(rows[number][1], minutes)
                if better is not None:
                    least[number] = better
                    heapq.heappush(queue, (better, number))
                    continue
            is_open[number] = False

    def _look_closer(self, sequence: Sequenced, minutes: int) -> int | None:
        """Return a better bound of a sequence, for when its turn comes again; None where it is settled.

        So what is dear to know is asked only of those that are ahead by all that is known.
        """
        costs = self._costs
        if not self._may_be_listed(sequence, minutes):
            return None
        for rival in self._asked.get_alternatives(sequence):
            known = costs.find_value(rival)
            if known is not None and known.upper <= minutes:
                return None
        while True:
            lower = costs.get_known(sequence).lower
            if lower == math.inf:
                return None
            if lower > minutes:
                return int(lower)
            if costs.is_relaxed(sequence) or costs.deadline.is_over():
                break
            costs.tighten(sequence)
        self._settle(sequence, minutes)
        return None

    def _refine(self, rows: list[tuple[int, Sequenced]]) -> list[tuple[int, Sequenced]]:
        """Return the rows that are not settled by what is known of their rivals, with better bounds, in order."""
        kept = []
        deadline = self._costs.deadline.get_share(_LISTING_SHARE)
        for number, (minutes, sequence) in enumerate(rows):
            if deadline.is_over():
                kept += rows[number:]
                break
            bound = self._bound_by_rivals(sequence, minutes)
            if bound < math.inf:
                kept.append((int(bound), sequence))
        return sorted(kept)

    def _bound_by_rivals(self, sequence: Sequenced, bound: float) -> float:
        """Return a better lower bound of a sequence; infinite where a rival is known to be no dearer."""
        rivals = [sequence[:place] + sequence[place + 1 :] for place in range(len(sequence) - 1)]
        for place, rival in enumerate(rivals):
            bound = max(bound, self._bound_by_landmarks(rival, place, sequence[place]))
        for rival in rivals:
            if not self._asked.admits(rival):
                continue
            # so few sequences of two moves are rivals of so many that knowing them pays
            known = self._costs.get_value(rival) if len(rival) <= _KNOWN_MOVES else self._costs.find_value(rival)
            if known is not None and known.upper <= bound:
                return math.inf
        return bound

    def _bound_by_landmarks(self, rival: Sequenced, place: int, role_id: str) -> float:
        """Return a lower bound of a sequence from the landmarks of one that leaves out a role."""
        assert self._outlook is not None
        key = (rival, place)
        if key not in self._insertions:
            costs = self._costs
            if costs.keeps_first_gate(rival):
                self._insertions[key] = self._outlook.bound_insertions(rival, costs.get_landmarks(rival), place)
            else:
                self._insertions[key] = np.zeros(len(self.roles))
        return float(self._insertions[key][self._role_numbers[role_id]])

    def _settle(self, sequence: Sequenced, minutes: int) -> None:
        if not self._may_be_listed(sequence, minutes):
            return
        is_shown = self._is_shown(sequence)
        value = self._costs.get_known(sequence)
        if is_shown is None:
            self._is_complete = False
            self._open_minutes = min(self._open_minutes, value.lower)
        if is_shown is not False and value.upper < math.inf:
            self.ranking.add(build_candidate(self._costs, sequence, int(value.upper)))

    def _may_be_listed(self, sequence: Sequenced, minutes: float) -> bool:
        if self.ranking.can_be_listed(build_candidate(self._costs, sequence, int(minutes))):
            return True
        self._is_cut = True
        return False

    def _is_shown(self, sequence: Sequenced) -> bool | None:
        """Whether a sequence is legal and strictly cheaper than each one that leaves out a role; None if not known."""
        costs = self._costs
        rivals = [s for s in self._asked.get_alternatives(sequence) if costs.get_bounds(s).lower < math.inf]
        # what is dearer to know is asked last
        for look in (costs.get_bounds, costs.find_relaxed, costs.get_value):
            known = look(sequence)
            if known.lower == math.inf or not self._may_be_listed(sequence, known.lower):
                return False
            if any(self._is_no_dearer(rival, known.lower) for rival in rivals):
                return False
        value = costs.get_value(sequence)
        is_known = value.is_exact and all(costs.get_known(s).lower > value.upper for s in rivals)
        return True if is_known else None

    def _is_no_dearer(self, sequence: Sequenced, minutes: float) -> bool:
        """Whether a sequence is known to be legal with at most these minutes."""
        costs = self._costs
        if costs.get_known(sequence).lower > minutes or costs.find_relaxed(sequence, minutes).lower > minutes:
            return False
        return costs.get_value(sequence).upper <= minutes

    def summarise(self) -> ShownRoutes:
        """Return what was found, with a bound for every legal sequence."""
        best = self.ranking.get_best()[0]
        lower = self._open_minutes
        if lower < math.inf:
            # with the growth of every role for nothing no route can be cheaper
            lower = max(lower, self._costs.bound_with_all_growth(self.roles))
        if best is not None:
            lower = min(lower, self._costs.get_known(best.sequence).lower)
        # where nothing can be legal, nothing is missing either
        return ShownRoutes(self.ranking, self._is_complete or lower == math.inf, self._is_cut, lower)
