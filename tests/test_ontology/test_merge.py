"""The merge rule, clause by clause: B at the base, D in the draft, N now."""

from __future__ import annotations

from typing import Any

import pytest

from ontology.live.merge import WHOLE, Sides, change_node, merge_node

LEVEL, LABEL, BROADER, NOTE = "<level>", "<label>", "<broader>", "<of others>"
IS = ("<type>", "<Requirement>")


def facts(*pairs: tuple[str, str]) -> frozenset[tuple[str, str]]:
    return frozenset((IS, *pairs)) if pairs else frozenset()


def is_single(predicate: str) -> bool:
    return predicate in (LEVEL, LABEL)


def merge(base: Any, draft: Any, now: Any, chosen: Any = None) -> tuple[frozenset[tuple[str, str]], list[Any]]:
    merged, clashes = merge_node(Sides(("g", "<s>"), base, draft, now), is_single, lambda clash: chosen)
    return merged, [clash.of for clash in clashes]


ONE, TWO, THREE = (facts((LEVEL, f'"{n}"')) for n in (1, 2, 3))
NONE = facts()


@pytest.mark.parametrize(
    ("base", "draft", "now", "merged", "clashes"),
    [
        (ONE, NONE, NONE, NONE, []),  # 1: gone on both sides
        (ONE, NONE, ONE, NONE, []),  # 1: removed in the draft alone
        (ONE, NONE, TWO, NONE, [WHOLE]),  # 1: removed here, changed there
        (ONE, TWO, NONE, TWO, [WHOLE]),  # 2: changed here, removed there
        (ONE, ONE, TWO, TWO, []),  # 3: d = b
        (ONE, TWO, ONE, TWO, []),  # 3: n = b
        (ONE, TWO, TWO, TWO, []),  # 3: n = d
        (ONE, TWO, THREE, TWO, [(LEVEL, "")]),  # 3: all differ
        (NONE, ONE, NONE, ONE, []),  # made in the draft
        (NONE, ONE, ONE, ONE, []),  # made alike on both sides
        (NONE, ONE, TWO, ONE, [(LEVEL, "")]),  # made differently
    ],
)
def test_each_clause(base: Any, draft: Any, now: Any, merged: Any, clashes: Any) -> None:
    assert merge(base, draft, now) == (merged, clashes)


@pytest.mark.parametrize("predicate", [BROADER, NOTE])
def test_several_values_are_joined_and_never_a_conflict(predicate: str) -> None:
    base, draft, now = (facts(*((predicate, one) for one in some)) for some in (["a", "b"], ["b", "c"], ["a", "d"]))
    assert merge(base, draft, now) == (facts((predicate, "c"), (predicate, "d")), [])


def test_a_text_in_a_language_is_a_property_of_its_own() -> None:
    plain, german, french = (LABEL, '"Pump"'), (LABEL, '"Pumpe"@de'), (LABEL, '"Pompe"@fr')
    assert merge(facts(plain), facts(plain, german), facts(plain, french)) == (facts(plain, german, french), [])
    other = (LABEL, '"Förderpumpe"@de')
    assert merge(facts(plain), facts(plain, german), facts(plain, other)) == (facts(plain, german), [(LABEL, "de")])


@pytest.mark.parametrize(("chosen", "merged"), [("draft", TWO), ("published", THREE)])
def test_who_decides_takes_one_side(chosen: str, merged: Any) -> None:
    assert merge(ONE, TWO, THREE, chosen) == (merged, [])
    assert merge(ONE, NONE, THREE, chosen) == (NONE if chosen == "draft" else THREE, [])
    assert merge(ONE, TWO, NONE, chosen) == (TWO if chosen == "draft" else NONE, [])


def test_an_edit_seen_on_the_present_is_led_back_to_the_base() -> None:
    base, now = facts((LEVEL, '"1"'), (BROADER, "a")), facts((LEVEL, '"1"'), (LABEL, '"x"'), (BROADER, "b"))
    sides = Sides(("g", "<s>"), base, base, now)
    after = facts((LEVEL, '"2"'), (LABEL, '"x"'), (BROADER, "b"), (BROADER, "c"))
    draft = change_node(sides, now, after, is_single)
    assert draft == facts((LEVEL, '"2"'), (BROADER, "a"), (BROADER, "c"))
    assert merge(base, draft, now) == (after, [])
