"""What all courses together reach from some levels, worked out from what is known of fewer levels. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from ontology.analysis.paths.offers import Catalogue, Offer

__all__ = ["Reach"]


class Reach:
    """Closures of levels under all offers of a catalogue."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._waiting: dict[str, list[Offer]] = {}
        self._open: list[Offer] = []
        for offer in catalogue.offers:
            if not offer.conditions:
                self._open.append(offer)
            for i, _ in offer.conditions:
                self._waiting.setdefault(i, []).append(offer)

    def start(self, held: Mapping[str, int]) -> dict[str, int]:
        """Return the levels that all offers reach from the levels held. O(size)."""
        levels = dict(held)
        stack = list(held)
        for offer in self._open:
            self._take(offer, levels, stack)
        return self._close(levels, stack)

    def extend(self, reached: Mapping[str, int], raised: Mapping[str, int]) -> dict[str, int]:
        """Return the closure of a closure and some levels more. O(what these levels touch)."""
        levels = dict(reached)
        stack = []
        for i, level in raised.items():
            if level > levels.get(i, 0):
                levels[i] = level
                stack.append(i)
        return self._close(levels, stack)

    def _close(self, levels: dict[str, int], stack: list[str]) -> dict[str, int]:
        while stack:
            for offer in self._waiting.get(stack.pop(), ()):
                if all(levels.get(i, 0) >= level for i, level in offer.conditions):
                    self._take(offer, levels, stack)
        return levels

    @staticmethod
    def _take(offer: Offer, levels: dict[str, int], stack: list[str]) -> None:
        for i, level in offer.effects:
            if level > levels.get(i, 0):
                levels[i] = level
                stack.append(i)
