"""Rows of a patch lead from the records before to those after; counts and lives say the same as the rows."""

from __future__ import annotations

from collections import Counter
from typing import Any

from edited_companies import build_edited
from hypothesis import given, settings
from hypothesis import strategies as st

from api.desk.history import count_commits
from ontology.history.life import find_life
from ontology.history.rows import list_others
from ontology.model.changes import Row
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.snapshot.snapshot import Snapshot
from ontology.store.history import read_commits, read_patches


def apply_row(row: Row, before: Snapshot) -> Any:
    """Return the record that a row leads to, by its columns alone."""
    table = TABLES[row.table]
    record = before.get_table(row.table).get(row.key)
    if row.change == "removed":
        assert record is not None
        return None
    own = {c.attribute for c in table.columns}
    values = {} if record is None else {name: getattr(record, name) for name in own}
    values |= dict(zip(table.key, row.key, strict=True))
    for change in row.columns:
        attribute = table.get_column(change.column).attribute
        if change.is_several:
            kept = set(values.get(attribute, ())) - set(change.before)
            values[attribute] = tuple(sorted(kept | set(change.after)))
        else:
            assert record is None or values[attribute] == change.before
            values[attribute] = change.after
    return table.build(**values)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000))
def test_rows_of_a_patch_lead_from_the_records_before_to_those_after(seed: int) -> None:
    company, told = build_edited(seed)
    for commit, rows in told:
        before, after = company.kept[commit.revision - 1], company.kept[commit.revision]
        found = {(row.table, row.key): apply_row(row, before) for row in rows}
        assert len(found) == len(rows)
        for name in TABLES:
            old, new = before.get_table(name), after.get_table(name)
            differing = {key for key in {*old, *new} if old.get(key) != new.get(key)}
            assert differing == {key for table, key in found if table == name}
            for key in differing:
                assert found[name, key] == new.get(key)


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000))
def test_counts_of_commits_are_those_of_their_rows(seed: int) -> None:
    company, told = build_edited(seed)
    counts = count_commits(company.graph, [commit for commit, _ in told])
    for (commit, rows), (_, patch) in zip(
        told, read_patches(company.graph.store, read_commits(company.graph.store)), strict=True
    ):
        expected = Counter((row.table, row.change) for row in rows)
        found = counts[commit.revision]
        assert {
            (table.table, kind): n
            for table in found.tables
            for kind, n in (("added", table.added), ("removed", table.removed), ("changed", table.changed))
            if n
        } == dict(expected)
        assert found.others == sum(map(len, list_others(patch.added, patch.removed)))
    assert counts[1].others == 1


def names(row: Row, table: str, record_id: str) -> bool:
    """Whether the record of a row names another, before or after."""
    for record in filter(None, (row.before, row.after)):
        for field in get_reference_fields(row.table, table):
            value = getattr(record, field)
            ids = value if isinstance(value, tuple) else (value,)
            if record_id in ids and is_referring(row.table, record, table, field):
                return True
    return False


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10_000))
def test_a_life_holds_each_row_about_a_record_and_what_named_it(seed: int) -> None:
    company, told = build_edited(seed)
    every = [(commit.revision, row) for commit, rows in reversed(told) for row in rows]
    present = company.graph.get_snapshot()
    for name in ("competencies", "roles", "courses", "people", "assessments", "cover_needs"):
        keys = sorted({row.key for _, row in every if row.table == name})
        for key in company.rng.sample(keys, min(4, len(keys))):
            wanted = {(name, key)}
            if name in ("competencies", "roles", "people"):
                is_personal = name == "people"
                wanted |= {
                    (row.table, row.key)
                    for _, row in every
                    if names(row, name, key[0]) and (row.table in PERSONAL_TABLES) == is_personal
                }
            life = find_life(company.graph, present, name, key)
            found = [(commit.revision, row) for commit, row in life.rows]
            assert sorted(found, key=repr) == sorted(
                [(revision, row) for revision, row in every if (row.table, row.key) in wanted], key=repr
            )
            assert [revision for revision, _ in found] == sorted((r for r, _ in found), reverse=True)
            assert life.exists == (key in present.get_table(name))
