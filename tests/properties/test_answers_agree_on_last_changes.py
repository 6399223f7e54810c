"""When a record changed last is what its life says: of a role and a course with what is part of them."""

from __future__ import annotations

from edited_companies import build_edited
from hypothesis import given, settings
from hypothesis import strategies as st

from ontology.history.last_change import find_last_change
from ontology.history.life import find_life

#: Of a table: the tables whose records are part of one of it, their keys beginning with its.
PARTS = {"roles": ("requirements",), "courses": ("outcomes", "entry_conditions")}


@settings(max_examples=3, deadline=None)
@given(st.integers(0, 10_000), st.data())
def test_a_record_changed_last_when_its_life_says_so(seed: int, data: st.DataObject) -> None:
    company, told = build_edited(seed)
    graph = company.graph
    revision = data.draw(st.integers(1, graph.get_snapshot().revision))
    state = company.kept[revision]
    for name in ("competencies", "roles", "courses", "requirements", "cover_needs", "assessments"):
        keys = sorted(state.get_table(name))
        for key in company.rng.sample(keys, min(4, len(keys))):
            wanted = {name, *PARTS.get(name, ())}
            expected = max(
                commit.revision
                for commit, rows in told
                for row in rows
                if commit.revision <= revision and row.table in wanted and row.key[: len(key)] == key
            )
            found = find_last_change(graph, revision, name, key)
            assert found is not None
            assert found.revision == expected
            if name not in PARTS:
                life = find_life(graph, state, name, key)
                own = [commit.revision for commit, row in life.rows if (row.table, row.key) == (name, key)]
                assert own[0] == expected
