"""Comparing says what a patch says; it mirrors, renumbering is nothing, suggestions follow the slow rule."""

from __future__ import annotations

import random
from dataclasses import replace

from compared_states import draw_framework, edit_records, find_likely_slowly, renumber
from edited_companies import build_edited
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.analysis.compare.comparison import compare_states
from ontology.analysis.compare.pairs import find_pairs
from ontology.analysis.compare.same import find_likely
from ontology.model.tables import PERSONAL_TABLES


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10_000))
def test_comparing_two_revisions_says_what_the_commit_between_says(seed: int) -> None:
    company, told = build_edited(seed)
    for commit, rows in told:
        before, after = company.kept[commit.revision - 1], company.kept[commit.revision]
        found = [one.row for one in compare_states(before, after, "ids").rows]
        assert found == [row for row in rows if row.table not in PERSONAL_TABLES]


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10_000))
def test_comparing_the_other_way_round_is_the_mirror(seed: int) -> None:
    company, _ = build_edited(seed)
    before, after = company.kept[1], company.kept[-1]
    there, back = compare_states(before, after, "ids"), compare_states(after, before, "ids")
    mirrored = {"added": "removed", "removed": "added", "changed": "changed"}
    assert {(r.row.table, r.row.key, mirrored[r.row.change]) for r in there.rows} == {
        (r.row.table, r.row.key, r.row.change) for r in back.rows
    }
    changed = {
        (r.row.table, r.row.key, c.column): (c.before, c.after, c.stated)
        for r in there.rows
        for c in r.row.columns
        if r.row.change == "changed"
    }
    assert changed == {
        (r.row.table, r.row.key, c.column): (c.after, c.before, c.stated)
        for r in back.rows
        for c in r.row.columns
        if r.row.change == "changed"
    }
    for one, other in zip(there.tables, back.tables, strict=True):
        assert (one.added, one.removed, one.changed) == (other.removed, other.added, other.changed)
        assert one.before - one.removed == one.after - one.added


@settings(max_examples=draws(40), deadline=None)
@given(st.integers(0, 100_000))
def test_renumbering_with_concepts_kept_changes_nothing(seed: int) -> None:
    rng = random.Random(seed)
    before, renumbered = draw_framework(rng), 0
    for table in ("competencies", "roles"):
        before = edit_records(before, table, lambda one: replace(one, exact_match=(f"http://x.example/{one.id}",)))
    after = before
    for table in ("competencies", "roles"):
        ids = [key[0] for key in before.get_table(table)]
        # among each other too, so that an id is given to something else
        fresh = rng.sample([*ids, *(f"n{i}" for i in range(len(ids)))], len(ids))
        after = renumber(after, table, dict(zip(ids, fresh, strict=True)))
        renumbered += sum(one != other for one, other in zip(ids, fresh, strict=True))
    found = compare_states(before, after)
    assert not found.rows
    assert len(found.identities) == renumbered


@settings(max_examples=draws(60), deadline=None)
@given(st.integers(0, 100_000))
def test_suggestions_are_those_of_the_rule_computed_plainly(seed: int) -> None:
    rng = random.Random(seed)
    before, other = draw_framework(rng), draw_framework(rng)
    after = before if rng.random() < 0.5 else other
    for table in ("competencies", "roles", "courses"):
        ids = [key[0] for key in after.get_table(table)]
        after = renumber(after, table, {one: f"n-{one}" for one in ids if rng.random() < 0.7})
    quick = find_likely(before, after, find_pairs(before, after, "known"))
    slow = find_likely_slowly(before, after, find_pairs(before, after, "known"))
    assert {(one.table, one.before, one.after): one.score for one in quick} == slow
