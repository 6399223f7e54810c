"""A layered layout: every line leads from one layer to a later one, and nothing lies on anything. Imports nothing.

Layers by the longest way from a beginning, order in a layer by the middle of the neighbours (Sugiyama, Tagawa and Toda
1981), places in a layer by least squares (pooled neighbours, the classic isotonic regression). "Along" is the
direction of the lines, "across" the other one; the caller turns both into x and y.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, NamedTuple

Edge = tuple[str, str]
Point = tuple[float, float]

_SWEEPS: Final = 12
_SMOOTHINGS: Final = 8
#: Room across for a line that passes a layer.
_LINE: Final = 5.0


class Size(NamedTuple):
    """Extent of a node, in points."""

    along: float
    across: float


class Arrangement(NamedTuple):
    """Nodes by their lowest corner, lines by the points they pass in the layers between; in points."""

    places: dict[str, Point]
    passes: dict[Edge, list[tuple[Point, Point]]]
    along: float
    across: float


@dataclass(slots=True)
class _Work:
    """Layers of items: a node is (name,), a line that passes a layer (tail, head, layer)."""

    layers: list[list[tuple[object, ...]]]
    before: defaultdict[tuple[object, ...], list[tuple[object, ...]]]
    after: defaultdict[tuple[object, ...], list[tuple[object, ...]]]


def arrange_layers(
    sizes: Mapping[str, Size], edges: Sequence[Edge], gaps: Mapping[str, float], gap_across: float
) -> Arrangement:
    """Return the layout of an acyclic graph.

    Parameters
    ----------
    sizes : mapping of node to Size
        In an order in which every edge leads forward.
    edges : sequence of (tail, head)
        Each once.
    gaps : mapping of node to float
        Points free before a node; a layer takes the largest of its nodes.
    gap_across : float
        Points between two nodes of a layer.

    Notes
    -----
    O(s (n + m) log n) for n nodes and passed layers, m edges and s sweeps.
    """
    ranks = _rank(list(sizes), edges)
    work = _build(sizes, edges, ranks)
    _order(work)
    across = _place(work, sizes, gap_across)
    starts, total = _place_layers(work, sizes, gaps)
    least = min(across[item] - _extent(item, sizes) / 2 for item in across)
    most = max(across[item] + _extent(item, sizes) / 2 for item in across)
    places: dict[str, Point] = {}
    passes: dict[Edge, list[tuple[Point, Point]]] = defaultdict(list)
    for (start, depth), layer in zip(starts, work.layers, strict=True):
        for item in layer:
            centre = across[item] - least
            if len(item) == 1:
                name = str(item[0])
                size = sizes[name]
                places[name] = (start + (depth - size.along) / 2, centre - size.across / 2)
            else:
                passes[(str(item[0]), str(item[1]))].append(((start, centre), (start + depth, centre)))
    return Arrangement(places, dict(passes), total, most - least)


def _rank(names: Sequence[str], edges: Sequence[Edge]) -> dict[str, int]:
    """Return each node's layer: the longest way from a beginning, then as late as what follows allows."""
    after: defaultdict[str, list[str]] = defaultdict(list)
    before: defaultdict[str, list[str]] = defaultdict(list)
    for tail, head in edges:
        after[tail].append(head)
        before[head].append(tail)
    ranks: dict[str, int] = {}
    for name in names:
        ranks[name] = max((ranks[tail] + 1 for tail in before[name]), default=0)
    for name in reversed(names):
        if after[name]:
            ranks[name] = min(ranks[head] for head in after[name]) - 1
    return ranks


def _build(sizes: Mapping[str, Size], edges: Sequence[Edge], ranks: Mapping[str, int]) -> _Work:
    work = _Work([[] for _ in range(max(ranks.values()) + 1)], defaultdict(list), defaultdict(list))
    for name in sizes:
        work.layers[ranks[name]].append((name,))
    for tail, head in edges:
        chain: list[tuple[object, ...]] = [(tail,)]
        for rank in range(ranks[tail] + 1, ranks[head]):
            chain.append((tail, head, rank))
            work.layers[rank].append(chain[-1])
        chain.append((head,))
        for first, second in pairwise(chain):
            work.after[first].append(second)
            work.before[second].append(first)
    return work


def _order(work: _Work) -> None:
    """Order each layer by the middle of its neighbours, down and up; keep the order with the fewest crossings."""
    best = [list(layer) for layer in work.layers]
    fewest = _count_crossings(work)
    for sweep in range(_SWEEPS):
        if not fewest:
            break
        is_down = sweep % 2 == 0
        layers = work.layers if is_down else work.layers[::-1]
        near = work.before if is_down else work.after
        for fixed, layer in pairwise(layers):
            places = {item: position for position, item in enumerate(fixed)}
            own = {item: position for position, item in enumerate(layer)}
            keys = {
                item: sum(places[other] for other in near[item]) / len(near[item]) if near[item] else own[item]
                for item in layer
            }
            layer.sort(key=lambda item: (keys[item], own[item]))
        crossings = _count_crossings(work)
        if crossings < fewest:
            fewest, best = crossings, [list(layer) for layer in work.layers]
    work.layers[:] = best


def _count_crossings(work: _Work) -> int:
    total = 0
    for first, second in pairwise(work.layers):
        places = {item: position for position, item in enumerate(second)}
        ends = [place for item in first for place in sorted(places[other] for other in work.after[item])]
        total += sum(later < earlier for i, earlier in enumerate(ends) for later in ends[i + 1 :])
    return total


def _extent(item: tuple[object, ...], sizes: Mapping[str, Size]) -> float:
    return sizes[str(item[0])].across if len(item) == 1 else _LINE


def _place(work: _Work, sizes: Mapping[str, Size], gap: float) -> dict[tuple[object, ...], float]:
    """Return the middle of every item across: near its neighbours, in order, apart."""
    places: dict[tuple[object, ...], float] = {}
    for layer in work.layers:
        y = 0.0
        for item in layer:
            y += _extent(item, sizes) / 2
            places[item] = y
            y += _extent(item, sizes) / 2 + gap
    for turn in range(_SMOOTHINGS):
        is_down = turn % 2 == 0
        near = work.before if is_down else work.after
        for layer in work.layers if is_down else work.layers[::-1]:
            wishes = [
                sum(places[other] for other in near[item]) / len(near[item]) if near[item] else places[item]
                for item in layer
            ]
            weights = [3.0 if len(item) > 1 else 1.0 if near[item] else 0.2 for item in layer]
            apart = [
                (_extent(item, sizes) + _extent(other, sizes)) / 2 + (gap if len(item) == len(other) == 1 else gap / 2)
                for item, other in pairwise(layer)
            ]
            places.update(zip(layer, fit_in_order(wishes, weights, apart), strict=True))
    return places


def fit_in_order(wishes: Sequence[float], weights: Sequence[float], apart: Sequence[float]) -> list[float]:
    """Return places nearest to the wishes (least weighted squares), each at least `apart` after the one before.

    Examples
    --------
    >>> fit_in_order([0, 0], [1, 1], [10])
    [-5.0, 5.0]
    """
    shift = [0.0]
    for distance in apart:
        shift.append(shift[-1] + distance)
    pools: list[tuple[float, float, int]] = []
    for wish, weight, offset in zip(wishes, weights, shift, strict=False):
        mean, total, count = wish - offset, weight, 1
        while pools and pools[-1][0] > mean:
            other, other_weight, other_count = pools.pop()
            mean = (mean * total + other * other_weight) / (total + other_weight)
            total, count = total + other_weight, count + other_count
        pools.append((mean, total, count))
    means = [mean for mean, _, count in pools for _ in range(count)]
    return [mean + offset for mean, offset in zip(means, shift, strict=False)]


def _place_layers(
    work: _Work, sizes: Mapping[str, Size], gaps: Mapping[str, float]
) -> tuple[list[tuple[float, float]], float]:
    """Return where each layer begins along, and how deep it is; and where the last one ends."""
    starts = []
    at = 0.0
    for number, layer in enumerate(work.layers):
        names = [str(item[0]) for item in layer if len(item) == 1]
        at += max((gaps[name] for name in names), default=0.0) if number else 0.0
        depth = max(sizes[name].along for name in names)
        starts.append((at, depth))
        at += depth
    return starts, at
