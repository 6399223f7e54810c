"""Which competencies are missing in most of the moves into a role, or out of it. Pure.

A company of thousands of roles has millions of pairs of them, so levels and entry levels are held as arrays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from ontology.analysis.routes.moves import get_entry_levels
from ontology.snapshot.snapshot import Snapshot

__all__ = ["MissingMost"]

_NAMED = 5

_Counts = NDArray[np.int64]


class MissingMost:
    """Counts over the pairs of roles.

    Parameters
    ----------
    profiles : mapping
        Role id -> the levels of its full profile, for every role of the graph.
    """

    def __init__(self, snapshot: Snapshot, profiles: Mapping[str, Mapping[str, int]]) -> None:
        self._entries = {role_id: get_entry_levels(snapshot, role_id) for role_id in profiles}
        #: In the order of ids: of competencies that are missing equally often, the first is told first.
        self._ids = sorted({i for entries in self._entries.values() for i in entries})
        self._places = {competency_id: place for place, competency_id in enumerate(self._ids)}
        self._profiles = profiles
        self._levels = np.zeros((len(self._ids), len(profiles)), dtype=np.int16)
        for number, levels in enumerate(profiles.values()):
            for competency_id, level in levels.items():
                if competency_id in self._places:
                    self._levels[self._places[competency_id], number] = level
        pairs = [(self._places[i], entry) for entries in self._entries.values() for i, entry in entries.items()]
        self._asked = np.array([place for place, _ in pairs], dtype=np.int64)
        self._asked_levels = np.array([entry for _, entry in pairs], dtype=np.int16)
        self._numbers = {role_id: number for number, role_id in enumerate(profiles)}

    def list_into(self, role_id: str) -> tuple[str, ...]:
        """Return what is missing in most moves from the other roles into one, the most first. O(entries * roles)."""
        counts = np.zeros(len(self._ids), dtype=np.int64)
        for competency_id, entry in self._entries[role_id].items():
            place = self._places[competency_id]
            counts[place] = np.count_nonzero(self._levels[place] < entry)
        return self._name(counts - self._count_own(role_id))

    def list_out_of(self, role_id: str) -> tuple[str, ...]:
        """Return what is missing in most moves out of a role into the others, the most first. O(all entries)."""
        held = self._levels[:, self._numbers[role_id]]
        missing = self._asked[self._asked_levels > held[self._asked]]
        counts = np.bincount(missing, minlength=len(self._ids)).astype(np.int64)
        return self._name(counts - self._count_own(role_id))

    def _count_own(self, role_id: str) -> _Counts:
        """Return what a role lacks of itself: a level that hangs on another one counts as none."""
        own = np.zeros(len(self._ids), dtype=np.int64)
        for competency_id, entry in self._entries[role_id].items():
            own[self._places[competency_id]] = entry > self._profiles[role_id].get(competency_id, 0)
        return own

    def _name(self, counts: _Counts) -> tuple[str, ...]:
        found: Sequence[int] = np.flatnonzero(counts).tolist()
        if len(found) > _NAMED:
            least = np.partition(counts, -_NAMED)[-_NAMED]
            found = np.flatnonzero(counts >= max(1, least)).tolist()
        most = sorted(found, key=lambda place: (-counts[place], place))[:_NAMED]
        return tuple(self._ids[place] for place in most)
