"""Level facts of a catalogue as bits: what goals can depend on, and which of them share courses. Pure.

A fact is a competency at a level. Sets of facts are Python integers, because union, intersection and inclusion of a few
thousand facts are then single steps. Goals that share no course from the levels held can be worked out one by one, and
come back in the questions of many sequences.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from ontology.analysis.engine.bits import iterate_bits
from ontology.analysis.paths.offers import Catalogue, Fact

__all__ = ["LevelFacts"]

_SPREADS_KEPT: Final = 50_000


class LevelFacts:
    """The facts of a catalogue, by number.

    Parameters
    ----------
    goals : iterable of fact
        All that may ever be asked for; a competency's highest level asked, here or by a course, is its highest fact.
    """

    def __init__(self, catalogue: Catalogue, goals: Iterable[Fact]) -> None:
        tops: dict[str, int] = {}
        for i, level in goals:
            tops[i] = max(level, tops.get(i, 0))
        for offer in catalogue.offers:
            for i, level in offer.conditions:
                tops[i] = max(level, tops.get(i, 0))
        self._first: dict[str, int] = {}
        self._facts: list[Fact] = []
        for i in sorted(tops):
            self._first[i] = len(self._facts)
            self._facts.extend((i, level) for level in range(1, tops[i] + 1))
        self._tops = tops
        self._catalogue = catalogue
        self._offer_numbers = {offer.id: number for number, offer in enumerate(catalogue.offers)}
        self._links: list[tuple[int, int] | None] = [None] * len(self._facts)
        self._spreads: dict[tuple[int, int], tuple[int, int]] = {}

    def __len__(self) -> int:
        return len(self._facts)

    def get_fact(self, number: int) -> Fact:
        """Return the competency and the level of a fact."""
        return self._facts[number]

    def get_number(self, fact: Fact) -> int:
        """Return the number of a fact that is within the levels asked."""
        return self._first[fact[0]] + fact[1] - 1

    def get_held(self, levels: Mapping[str, int]) -> int:
        """Return the facts that levels hold. O(levels)."""
        held = 0
        for i, level in levels.items():
            first = self._first.get(i)
            if first is not None and level > 0:
                held |= ((1 << min(level, self._tops[i])) - 1) << first
        return held

    def _get_links(self, number: int) -> tuple[int, int]:
        """Return which offers give a fact, and all the facts that these ask."""
        links = self._links[number]
        if links is None:
            i, level = self._facts[number]
            gives = asks = 0
            for reached, offer in self._catalogue.by_competency.get(i, ()):
                if reached >= level:
                    gives |= 1 << self._offer_numbers[offer.id]
                    for condition in offer.conditions:
                        asks |= 1 << self.get_number(condition)
            links = self._links[number] = gives, asks
        return links

    def spread(self, number: int, held: int) -> tuple[int, int]:
        """Return the facts not held that a fact can depend on, itself included, and the offers that give them.

        O(these facts), once for each fact and what is held of all that it could depend on.
        """
        if held:
            held &= self.spread(number, 0)[0]
        key = (number, held)
        known = self._spreads.get(key)
        if known is not None:
            return known
        facts = waiting = 1 << number
        offers = 0
        while waiting:
            low = waiting & -waiting
            gives, asks = self._get_links(low.bit_length() - 1)
            offers |= gives
            fresh = asks & ~held & ~facts
            facts |= fresh
            waiting = (waiting ^ low) | fresh
        if len(self._spreads) >= _SPREADS_KEPT:
            self._spreads.clear()
        self._spreads[key] = facts, offers
        return facts, offers

    def split(self, goals: int, held: int) -> list[tuple[int, int, int]]:
        """Return the goals in groups that share nothing, each with the facts it can depend on and their offers.

        O(goals x groups) after the spreads.
        """
        groups: list[tuple[int, int, int]] = []
        for number in iterate_bits(goals):
            together = 1 << number
            facts, offers = self.spread(number, held)
            apart = []
            for group in groups:
                if group[2] & offers or group[1] & facts:
                    together |= group[0]
                    facts |= group[1]
                    offers |= group[2]
                else:
                    apart.append(group)
            groups = [*apart, (together, facts, offers)]
        return groups

    def has_offer(self, offers: int, offer_id: str) -> bool:
        """Whether an offer is one of a set of them."""
        return bool(offers >> self._offer_numbers[offer_id] & 1)
