"""What is hidden of figures about few people cannot be worked out by who knows the rules and all that is told."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import product

import pytest

from api.access import small_groups
from api.access.small_groups import LEAST, Told, protect, protect_all

Row = tuple[int, ...]


def find_pinned(families: Iterable[tuple[Row, ...]], largest: int) -> list[tuple[Row, ...]]:
    """Return families of rows of which a hidden cell is the same in all that are told alike.

    Families that reach the largest count tried are left out: others that are told alike were not tried.
    """
    alike: defaultdict[tuple[Told, ...], list[tuple[Row, ...]]] = defaultdict(list)
    for family in families:
        alike[tuple(protect_all(family))].append(family)
    pinned = []
    for told, members in alike.items():
        if any(count >= largest for family in members for row in family for count in row):
            continue
        hidden = [(n, i) for n, row in enumerate(told) for i, cell in enumerate(row.cells) if cell is None]
        if any(len({family[n][i] for family in members}) == 1 for n, i in hidden):
            pinned.append(members[0])
    return pinned


def iterate_neighbours(row: Row, largest: int) -> Iterator[Row]:
    """Yield the rows that are one person away: who comes, goes, or changes cells."""
    steps = [{i: step} for i in range(len(row)) for step in (-1, 1)]
    steps += [{i: -1, j: 1} for i in range(len(row)) for j in range(len(row)) if i != j]
    for step in steps:
        other = tuple(count + step.get(i, 0) for i, count in enumerate(row))
        if all(0 <= count <= largest for count in other):
            yield other


@pytest.mark.parametrize(("cells", "largest"), [(1, 14), (2, 14), (3, 13), (4, 10)])
def test_no_row_by_itself_tells_a_hidden_cell(cells: int, largest: int) -> None:
    assert find_pinned(((row,) for row in product(range(largest + 1), repeat=cells)), largest) == []


@pytest.mark.parametrize(("cells", "largest"), [(1, 14), (2, 13), (3, 11)])
def test_no_pair_of_questions_that_differ_by_one_person_tells_a_hidden_cell(cells: int, largest: int) -> None:
    rows = product(range(largest + 1), repeat=cells)
    pairs = ((row, other) for row in rows for other in iterate_neighbours(row, largest))
    # what the last but one reaches has neighbours that were not tried
    assert find_pinned(pairs, largest - 1) == []


def test_no_three_questions_in_a_row_tell_one() -> None:
    largest = 11
    rows = product(range(largest + 1), repeat=2)
    chains = (
        (row, other, third)
        for row in rows
        for other in iterate_neighbours(row, largest)
        for third in iterate_neighbours(other, largest)
    )
    assert find_pinned(chains, largest - 2) == []


def test_the_search_would_find_a_rule_that_tells(monkeypatch: pytest.MonkeyPatch) -> None:
    # hiding what is small alone: the total tells it
    def find_small(counts: Row, least: int) -> frozenset[int]:
        return frozenset(i for i, count in enumerate(counts) if count < least)

    monkeypatch.setattr(small_groups, "_find_hidden", find_small)
    assert find_pinned(((row,) for row in product(range(12), repeat=2)), 11)


def test_what_is_large_is_told_as_it_is() -> None:
    assert protect((5, 9, 40)) == Told((5, 9, 40), 54)
    assert protect((12,), least=12) == Told((12,), 12)


def test_with_what_is_small_goes_the_next_smallest_and_of_few_nothing_is_told() -> None:
    assert protect((3, 9, 40)) == Told((None, None, 40), 52)
    assert protect((3, 9, 9, 40)) == Told((None, None, None, 40), 61), "which of two alike is hidden would tell"
    assert protect((0, 0, 7)) == Told((None, None, None), 7), "nothing and nothing would be the only filling"
    assert protect((2, 1)) == Told((None, None), None)
    assert protect((LEAST - 1,)) == Told((None,), None)


def test_days_that_differ_by_one_person_hide_the_same_and_others_do_not_suffer() -> None:
    august, september, a_year_ago = (5, 9, 20), (4, 9, 20), (12, 14, 30)
    told = protect_all([august, september, a_year_ago])
    assert told == [Told((None, None, 20), None), Told((None, None, 20), None), Told(a_year_ago, 56)]
