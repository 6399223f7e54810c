"""Quick lower bounds for all sequences of moves at once, so that only the promising ones are ever worked out. Pure.

Every role's landmarks are found once, from the profile. A landmark of a later role still counts where the time in the
roles before it brings nothing of its zone, and where none of its courses stands in a landmark counted before. Both are
tables of truth values, so a beginning is extended by every role in a few array operations.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix

from ontology.analysis.paths.offers import Fact
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.moves import MoveCosts
from ontology.analysis.routes.route_landmarks import JointLandmarks, Landmark
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Batch", "Outlook"]

_Truths = NDArray[np.bool_]
_Numbers = NDArray[np.float64]
_Levels = NDArray[np.int16]


class Batch(NamedTuple):
    """Sequences `beginning`, one of `lasts`, target: their lower bounds in minutes, and months in the roles between.

    The direct move has the target itself as last.
    """

    beginning: tuple[int, ...]
    lasts: NDArray[np.intp]
    minutes: _Numbers
    months: _Numbers


@dataclass(frozen=True, slots=True)
class _Beginning:
    """Roles moved into so far, and what that leaves: landmarks no growth has met, those sharing no course."""

    roles: tuple[int, ...]
    is_open: _Truths
    is_apart: _Truths
    minutes_first: float
    minutes_after_target: float
    levels: _Levels
    reached: _Levels
    months: float


class _Facts(NamedTuple):
    """Level facts of all roles in a row: role, competency, level."""

    role: NDArray[np.intp]
    competency: NDArray[np.intp]
    level: _Levels


class Outlook:
    """Bounds for the sequences of one question.

    Parameters
    ----------
    roles : sequence of str
        Those that may stand in between, then the target.
    gates : mapping of str to facts
        Role -> levels that must be there when its preparation starts.
    limit_minutes : int or None
        Of one preparation.
    get_reached : callable
        Roles moved into -> levels that time in them and then all courses reach.
    """

    def __init__(
        self,
        moves: MoveCosts,
        profile: Profile,
        roles: tuple[str, ...],
        gates: Mapping[str, tuple[Fact, ...]],
        limit_minutes: int | None,
        get_reached: Callable[[tuple[str, ...]], Mapping[str, int]],
    ) -> None:
        snapshot: Snapshot = moves.snapshot
        self.roles = roles
        self._limit = math.inf if limit_minutes is None else float(limit_minutes)
        self._number = {i: n for n, i in enumerate(snapshot.competencies)}
        self._get_reached = get_reached
        self._entries = self._build_facts({r: tuple(moves.get_entry_levels(r).items()) for r in roles})
        self._gates = self._build_facts(gates)
        self._growth = self._build_growth(snapshot)
        self._months = np.array([snapshot.roles[r].months_to_full for r in roles], dtype=np.float64)
        self._held = self._as_array(profile.levels)
        self._build_tables([moves.get_landmarks(profile.levels, role_id) for role_id in roles])

    # ---- tables ----

    def _as_array(self, levels: Mapping[str, int]) -> _Levels:
        array = np.zeros(len(self._number), dtype=np.int16)
        for i, level in levels.items():
            array[self._number[i]] = level
        return array

    def _build_facts(self, facts: Mapping[str, tuple[Fact, ...]]) -> _Facts:
        rows = [(n, self._number[i], level) for n, r in enumerate(self.roles) for i, level in facts[r]]
        columns = np.array(rows, dtype=np.intp).reshape(len(rows), 3).T
        return _Facts(columns[0], columns[1], columns[2].astype(np.int16))

    def _build_growth(self, snapshot: Snapshot) -> _Levels:
        growth = np.zeros((len(self.roles), len(self._number)), dtype=np.int16)
        for n, role_id in enumerate(self.roles):
            for requirement in snapshot.get_requirements(role_id):
                if snapshot.is_learned_on_job(requirement):
                    growth[n, self._number[requirement.competency]] = requirement.level
        return growth

    def _build_tables(self, landmarks: list[tuple[Landmark, ...]]) -> None:
        """Build for every landmark: its role, its minutes, which roles' growth meets it, which share a course."""
        flat = [landmark for of_role in landmarks for landmark in of_role]
        self._role_of = np.repeat(np.arange(len(landmarks)), [len(of_role) for of_role in landmarks])
        minutes = np.array([landmark.minutes for landmark in flat], dtype=np.float64)
        self._is_barrier = np.isinf(minutes)
        self._minutes = np.where(self._is_barrier, 0.0, minutes)
        self._of_target = np.flatnonzero(self._role_of == len(landmarks) - 1)
        count = len(flat)
        self._is_met = self._find_met(flat)
        names = sorted({course for landmark in flat for course in landmark.courses})
        self._course = {course: n for n, course in enumerate(names)}
        pairs = [(n, self._course[course]) for n, landmark in enumerate(flat) for course in landmark.courses]
        rows, columns = np.array(pairs, dtype=np.intp).reshape(len(pairs), 2).T
        ones = np.ones(len(pairs), dtype=np.int32)
        shape = (len(names), len(self.roles))
        self._holds = csr_matrix((ones, (rows, columns)), shape=(count, len(names)))
        used = csr_matrix((ones, (columns, self._role_of[rows])), shape=shape)
        self._is_shared = (self._holds @ used).toarray() > 0

    def _find_met(self, landmarks: Sequence[Landmark]) -> _Truths:
        """Return for every landmark and role whether time in the role brings something of the zone."""
        is_met = np.zeros((len(landmarks), len(self.roles)), dtype=np.bool_)
        zones = [(n, self._number[i], level) for n, landmark in enumerate(landmarks) for i, level in landmark.zone]
        if zones:
            of, competency, level = np.array(zones, dtype=np.intp).T
            met = self._growth[:, competency] >= level.astype(np.int16)
            starts = np.flatnonzero(np.r_[True, of[1:] != of[:-1]])
            is_met[of[starts]] = np.logical_or.reduceat(met, starts, axis=1).T
        return is_met

    # ---- one role more ----

    def bound_insertions(self, sequence: tuple[str, ...], joint: JointLandmarks, place: int) -> _Numbers:
        """Return for every role a lower bound of the sequence with this role put in before one of its moves.

        What the sequence's own landmarks ask and time in the role does not bring, and the role's landmarks that share
        no course with them.
        """
        minutes = np.array([landmark.minutes for landmark in joint.landmarks], dtype=np.float64)
        is_later = np.array(joint.moves, dtype=np.intp) >= place
        is_met = self._find_met(joint.landmarks)
        if place:
            # what the next move's level limit asks of courses may now wait until the role before has brought it
            is_met |= is_met[:, [self.roles.index(sequence[place - 1])]]
        is_asked = ~(is_met & is_later[:, None])
        barriers = np.isinf(minutes)
        bound: _Numbers = np.where(barriers, 0.0, minutes) @ is_asked
        bound[is_asked[barriers].any(axis=0)] = math.inf
        taken = np.zeros(self._holds.shape[1], dtype=np.int32)
        taken[[self._course[c] for landmark in joint.landmarks for c in landmark.courses if c in self._course]] = 1
        counts = (self._holds @ taken) == 0
        counts &= ~self._is_met[:, [self.roles.index(role_id) for role_id in sequence[:place]]].any(axis=1)
        return bound + np.bincount(self._role_of, np.where(counts, self._minutes, 0.0), len(self.roles))

    # ---- sequences ----

    def get_sequence(self, batch: Batch, place: int) -> tuple[str, ...]:
        """Return the role ids of a sequence of a batch."""
        last = self.roles[batch.lasts[place]]
        beginning = tuple(self.roles[role] for role in batch.beginning)
        return (last,) if last == self.roles[-1] else (*beginning, last, self.roles[-1])

    def iterate(self, moves: int, via: str | None) -> Iterator[Batch]:
        """Yield the sequences of so many moves that may be legal, beginnings in the order of role numbers.

        Some batches are empty, so that who has little time can stop after any beginning.
        """
        target = len(self.roles) - 1
        start = self._start()
        if moves == 1:
            is_legal = self._may_move(start, self._held)[target] and start.minutes_after_target <= self._limit
            if via is None and is_legal:
                yield Batch((), np.array([target]), np.array([start.minutes_after_target]), np.zeros(1))
            return
        via_number = None if via is None else self.roles.index(via)
        for beginning in self._iterate_beginnings(start, moves - 2, via_number):
            yield self._close(beginning, via_number)

    def bound_later(self, moves: int, first: int) -> float:
        """Return a lower bound of every sequence of so many moves, 2 or more, whose first role is this or a later one.

        What the target's landmarks ask after the first role, less the most that the other roles' growth could meet.
        O(roles^2 x landmarks of the target).
        """
        start = self._start()
        may = self._find_next(start)
        may[:first] = False
        may[-1] = False
        firsts = np.flatnonzero(may)
        if not firsts.size:
            return math.inf
        met, minutes = self._is_met[self._of_target], self._minutes[self._of_target]
        _, after = self._add_up(start)
        left = np.where(met[:, firsts], 0.0, minutes[:, None])
        gains = np.sort(left.T @ met[:, :-1], axis=1)
        most = gains[:, gains.shape[1] - (moves - 2) :].sum(axis=1)
        return max(0.0, float((left.sum(axis=0) + after[firsts] - most).min()))

    def _start(self) -> _Beginning:
        nothing = np.ones(len(self._minutes), dtype=np.bool_)
        target_minutes = float(self._minutes[self._of_target].sum())
        reached = self._as_array(self._get_reached(()))
        return _Beginning((), nothing, nothing, 0.0, target_minutes, self._held, reached, 0.0)

    def _iterate_beginnings(self, beginning: _Beginning, more: int, via: int | None) -> Iterator[_Beginning]:
        if not more:
            yield beginning
            return
        for role in np.flatnonzero(self._find_next(beginning)[:-1]):
            yield from self._iterate_beginnings(self._extend(beginning, int(role)), more - 1, via)

    def _find_next(self, beginning: _Beginning) -> _Truths:
        """Return which roles may be moved into next."""
        first, _ = self._add_up(beginning)
        may = self._may_move(beginning, beginning.levels) & (
            beginning.minutes_first + first <= self._limit * (len(beginning.roles) + 1)
        )
        may[list(beginning.roles)] = False
        return may

    def _may_move(self, beginning: _Beginning, levels: _Levels) -> _Truths:
        """Return for every role whether no barrier, gate or entry level out of reach stands before it."""
        may = np.ones(len(self.roles), dtype=np.bool_)
        may[self._role_of[self._is_barrier & beginning.is_open]] = False
        may[self._entries.role[self._entries.level > beginning.reached[self._entries.competency]]] = False
        # what the levels are when the preparation starts: `levels` are those with courses before, where there are any
        may[self._gates.role[self._gates.level > levels[self._gates.competency]]] = False
        return may

    def _add_up(self, beginning: _Beginning) -> tuple[_Numbers, _Numbers]:
        """Return for every role the minutes it adds: after the beginning, and after target and beginning."""
        counted = np.where(beginning.is_open & beginning.is_apart, self._minutes, 0.0)
        first: _Numbers = np.bincount(self._role_of, counted, len(self.roles)).astype(np.float64)
        counted[self._is_shared[:, -1]] = 0.0
        return first, np.bincount(self._role_of, counted, len(self.roles)).astype(np.float64)

    def _extend(self, beginning: _Beginning, role: int) -> _Beginning:
        first, after = self._add_up(beginning)
        roles = (*beginning.roles, role)
        is_open = beginning.is_open & ~self._is_met[:, role]
        target = self._of_target
        return _Beginning(
            roles=roles,
            is_open=is_open,
            is_apart=beginning.is_apart & ~self._is_shared[:, role],
            minutes_first=beginning.minutes_first + float(first[role]),
            minutes_after_target=beginning.minutes_after_target
            - float(self._minutes[target][beginning.is_open[target] & ~is_open[target]].sum())
            + float(after[role]),
            levels=np.maximum(beginning.reached, self._growth[role]),
            reached=self._as_array(self._get_reached(tuple(self.roles[r] for r in roles))),
            months=beginning.months + float(self._months[role]),
        )

    def _close(self, beginning: _Beginning, via: int | None) -> Batch:
        """Return the sequences beginning, any role, target."""
        may = self._find_next(beginning)
        may[-1] = False
        if via is not None and via not in beginning.roles:
            may &= np.arange(len(may)) == via
        lasts = np.flatnonzero(may)
        target = self._of_target
        open_after = beginning.is_open[target][:, None] & ~self._is_met[np.ix_(target, lasts)]
        apart = beginning.is_apart[target][:, None] & ~self._is_shared[np.ix_(target, lasts)]
        gates = self._gates.role == len(self.roles) - 1
        competencies, levels = self._gates.competency[gates], self._gates.level[gates]
        is_gate_open = (self._growth[np.ix_(lasts, competencies)] >= levels) | (
            beginning.reached[competencies] >= levels
        )
        is_legal = ~(open_after & self._is_barrier[target][:, None]).any(axis=0) & is_gate_open.all(axis=1)
        first, after = self._add_up(beginning)
        minutes = self._minutes[target]
        lost = minutes @ (beginning.is_open[target][:, None] & ~open_after)
        bound = np.maximum(
            beginning.minutes_first + first[lasts] + minutes @ (open_after & apart),
            beginning.minutes_after_target - lost + after[lasts],
        )
        is_legal &= bound <= self._limit * (len(beginning.roles) + 2)
        months = beginning.months + self._months[lasts]
        return Batch(beginning.roles, lasts[is_legal], bound[is_legal], months[is_legal])
