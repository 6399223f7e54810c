"""What may have been split, merged or replaced: records without a counterpart, by what hangs below them.

What a record lost and another that came has below it tells that the other is a part of it; the mirror tells of a merge.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal

from ontology.analysis.compare.candidates import rate_pair
from ontology.analysis.compare.neighbours import TOLD, Neighbour, list_below
from ontology.analysis.compare.pairs import Pairs
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Became", "find_parts"]

#: Of what a part has below it so many at least, and this share, come from the whole.
_LEAST: Final = 2
_SHARE: Final = 0.5
#: From this share on a split or merge is told.
_TOLD: Final = 0.5

Below = dict[str, frozenset[Neighbour]]


@dataclass(frozen=True, slots=True)
class Became:
    """What records may have become."""

    table: str
    kind: Literal["split", "merge", "replaced"]
    before: tuple[str, ...]
    after: tuple[str, ...]
    score: float


@dataclass(frozen=True, slots=True)
class _Side:
    """One state, seen for parts: what every record has below it, in words of the second state, and its counterparts."""

    below: Below
    counterparts: Mapping[str, str]
    unpaired: tuple[str, ...]


def find_parts(before: Snapshot, after: Snapshot, pairs: Pairs) -> list[Became]:
    """Return what may have been split, merged, replaced, in the order of tables and ids; pairs hold the suggested ones.

    Notes
    -----
    O(e) for e edges of what hangs below records.
    """
    return [one for table in TOLD for one in _find_of_table(before, after, pairs, table)]


def _find_of_table(before: Snapshot, after: Snapshot, pairs: Pairs, table: str) -> Iterator[Became]:
    ones, others = pairs.list_unpaired(before, after, table)
    if not ones and not others:
        return
    here = _Side(_read_below(before, table, pairs), pairs.forward[table], tuple(ones))
    there = _Side(_read_below(after, table, None), pairs.back[table], tuple(others))
    parts = _find_parts(here, there, lambda one, other: rate_pair(before, after, table, one, other))
    whole = _find_parts(there, here, lambda one, other: rate_pair(before, after, table, other, one))
    yield from _tell_replaced(table, here, there, parts, whole)
    for one, of_one in parts.items():
        members = tuple(sorted({*_list_counterpart(here, one), *of_one}))
        share = _find_share(here.below[one], [there.below[other] for other in members])
        if len(members) > 1 and share >= _TOLD:
            yield Became(table, "split", (one,), members, share)
    for other, of_other in whole.items():
        members = tuple(sorted({*_list_counterpart(there, other), *of_other}))
        share = _find_share(there.below[other], [here.below[one] for one in members])
        if len(members) > 1 and share >= _TOLD:
            yield Became(table, "merge", members, (other,), share)


def _read_below(state: Snapshot, table: str, pairs: Pairs | None) -> Below:
    """Return id -> what is below it, read through pairs; what has no counterpart stays as what it was, marked."""
    below: Below = {}
    for key in state.get_table(table):
        own = list_below(state, table, key[0])
        if pairs is not None:
            own = frozenset(
                (relation, name, pairs.forward[name][one])
                if one in pairs.forward[name]
                else (f"former {relation}", name, one)
                for relation, name, one in own
            )
        below[key[0]] = own
    return below


def _find_parts(whole: _Side, part: _Side, rate: Callable[[str, str], float]) -> dict[str, list[str]]:
    """Return of each record of one side its parts on the other, by id."""
    lost: dict[str, frozenset[Neighbour]] = {}
    by_lost: defaultdict[Neighbour, list[str]] = defaultdict(list)
    for one, below in whole.below.items():
        counterpart = whole.counterparts.get(one)
        lost[one] = below - part.below[counterpart] if counterpart is not None else below
        for neighbour in lost[one]:
            by_lost[neighbour].append(one)
    parts: defaultdict[str, list[str]] = defaultdict(list)
    for other in part.unpaired:
        shared = Counter(one for neighbour in part.below[other] for one in by_lost.get(neighbour, ()))
        most = max(shared.values(), default=0)
        if most < _LEAST or most < _SHARE * len(part.below[other]):
            continue
        candidates = [one for one, n in shared.items() if n == most]
        if len(candidates) > 1:
            candidates.sort(key=lambda one: (-rate(one, other), one))
        parts[candidates[0]].append(other)
    return {one: sorted(parts[one]) for one in sorted(parts)}


def _list_counterpart(side: _Side, one: str) -> Iterator[str]:
    counterpart = side.counterparts.get(one)
    if counterpart is not None:
        yield counterpart


def _tell_replaced(
    table: str, here: _Side, there: _Side, parts: Mapping[str, list[str]], whole: Mapping[str, list[str]]
) -> Iterator[Became]:
    """Yield pairs without counterparts of which each is the only part of the other."""
    for one, of_one in parts.items():
        if one in here.counterparts or len(of_one) != 1:
            continue
        (other,) = of_one
        if whole.get(other) == [one]:
            own, theirs = here.below[one], there.below[other]
            score = round(len(own & theirs) / len(own | theirs), 4)
            yield Became(table, "replaced", (one,), (other,), score)


def _find_share(own: frozenset[Neighbour], others: list[frozenset[Neighbour]]) -> float:
    """Return which share of what is below one is below others."""
    return round(len(own & frozenset().union(*others)) / len(own), 4)
