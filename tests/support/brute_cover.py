"""Cover, staffing and plans by literal enumeration: slow, and written without the code it checks.

Everything is a plain set or tuple: `able` holds for each slot the set of people who can fill it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, combinations, product

Able = Sequence[frozenset[str]]


def iterate_subsets(items: Iterable[str]) -> Iterator[frozenset[str]]:
    """Yield every subset, smallest first, each size in sorted order."""
    pool = sorted(items)
    return map(frozenset, chain.from_iterable(combinations(pool, size) for size in range(len(pool) + 1)))


def iterate_assignments(able: Able) -> Iterator[tuple[str | None, ...]]:
    """Yield every assignment of different people (or nobody) to the slots."""
    for choice in product(*[[None, *sorted(people)] for people in able]):
        used = [person for person in choice if person is not None]
        if len(used) == len(set(used)):
            yield choice


def count_filled(able: Able) -> int:
    """Return the most slots that can be filled, by trying every assignment."""
    return max(sum(person is not None for person in choice) for choice in iterate_assignments(able))


def get_best_assignments(able: Able) -> list[tuple[str | None, ...]]:
    """Return every assignment that fills the most slots."""
    best = count_filled(able)
    return [choice for choice in iterate_assignments(able) if sum(p is not None for p in choice) == best]


def get_sometimes_empty(able: Able) -> set[int]:
    """Return the slots that some best assignment leaves empty."""
    return {slot for choice in get_best_assignments(able) for slot, person in enumerate(choice) if person is None}


def without(able: Able, away: frozenset[str]) -> list[frozenset[str]]:
    """Return the slots with some people away."""
    return [people - away for people in able]


def breaks(needs: Sequence[tuple[frozenset[str], int]], able: Able, away: frozenset[str]) -> bool:
    """Whether the absences make a need short that is not, or empty a slot.

    `needs` holds (people present and qualified, minimum).
    """
    falls = any(len(people) >= minimum > len(people - away) for people, minimum in needs)
    return falls or count_filled(without(able, away)) < count_filled(able)


def get_smallest_breaking(
    needs: Sequence[tuple[frozenset[str], int]], able: Able, people: Iterable[str]
) -> frozenset[str] | None:
    """Return the first smallest set of absences that breaks something; None where none does."""
    return next((away for away in iterate_subsets(people) if away and breaks(needs, able, away)), None)


def get_chance(rates: Sequence[float], minimum: int) -> float:
    """Return P(at least `minimum` present) by adding up all 2^n days."""
    total = 0.0
    for day in product([True, False], repeat=len(rates)):
        chance = 1.0
        for is_there, rate in zip(day, rates, strict=True):
            chance *= 1 - rate if is_there else rate
        if sum(day) >= minimum:
            total += chance
    return total
