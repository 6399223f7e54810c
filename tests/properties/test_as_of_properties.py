"""As of any revision is the copy that was kept when it was made: every table, text and bulk, restarts and restores."""

from __future__ import annotations

import tempfile
from pathlib import Path

from edited_companies import EditedCompany
from effort import draws
from hypothesis import given, settings
from hypothesis import strategies as st
from working_companies import build_working_company

from ontology.live.compile import compile_snapshot
from ontology.live.joined import join_states
from ontology.live.live_graph import LiveGraph
from ontology.live.patch import patch_snapshot
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store.backups import backup_store, restore_store
from ontology.store.history import read_commits, read_patches


def require_all_kept(company: EditedCompany) -> None:
    """Compare every revision, in an order that leads to each from another one."""
    revisions = list(range(len(company.kept)))
    company.rng.shuffle(revisions)
    present = company.graph.get_snapshot()
    for revision in revisions:
        found = company.graph.past.get_snapshot(revision, present)
        assert found == company.kept[revision], revision
        assert found.revision == revision


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000))
def test_as_of_a_revision_is_the_copy_kept_of_it(seed: int) -> None:
    edit_and_compare(seed)


def edit_and_compare(seed: int) -> EditedCompany:
    company = EditedCompany(seed)
    for step in range(14):
        if step % 5 == 4:
            company.load()
        company.edit()
        require_all_kept(company)
    return company


def test_commits_as_text_and_in_bulk_are_among_them() -> None:
    """By lot every load of a company can be refused: of this one none is."""
    company = edit_and_compare(7)
    assert {commit.is_bulk for commit in read_commits(company.graph.store)} == {True, False}
    assert len(company.kept) > 4


@settings(max_examples=3, deadline=None)
@given(st.integers(0, 10_000))
def test_as_of_holds_over_restarts_and_restores(seed: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        path, copy = Path(name) / "store", Path(name) / "copy"
        company = EditedCompany(seed, path)
        edit_and_reopen(company)
        company.close()
        backup_store(path, copy)
        of_backup = list(company.kept)
        company.open()
        edit_and_reopen(company)
        company.close()
        restore_store(copy, path)
        # revision numbers come again, with other content
        company.kept = of_backup
        company.open()
        require_all_kept(company)
        edit_and_reopen(company)
        company.close()


def edit_and_reopen(company: EditedCompany) -> None:
    for _ in range(3):
        company.edit()
    company.load()
    require_all_kept(company)
    company.close()
    company.open()
    require_all_kept(company)


def test_as_of_each_of_five_hundred_revisions_is_the_copy_kept_of_it() -> None:
    company = EditedCompany(16)
    while len(company.kept) <= 500:
        company.edit()
    require_all_kept(company)


@settings(max_examples=7, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_a_patch_leads_from_any_state_to_any_other(seed: int, other: int) -> None:
    """The quads of two companies, whatever they have in common."""
    states = []
    for one in (seed, other):
        graph = LiveGraph.in_memory()
        graph.load(build_working_company(one), who="t", why="w")
        quads = {quad for name in ns.DATA_GRAPHS for quad in graph.store.read_graph(name)}
        states.append((graph.get_snapshot(), quads))
    (first, of_first), (second, of_second) = states
    assert patch_snapshot(first, of_second - of_first, of_first - of_second) == second
    assert patch_snapshot(Snapshot({}), of_first, ()) == first
    assert patch_snapshot(first, (), of_first) == Snapshot({})
    assert patch_snapshot(first, (), ()) == first


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10_000))
def test_patches_lead_from_the_empty_store_to_the_present_one(seed: int) -> None:
    company = EditedCompany(seed)
    for _ in range(6):
        company.edit()
    snapshot = Snapshot({})
    for commit, patch in read_patches(company.graph.store, read_commits(company.graph.store)):
        snapshot = patch_snapshot(snapshot, patch.added, patch.removed, revision=commit.revision)
        assert (len(patch.added), len(patch.removed)) == (commit.n_added, commit.n_removed)
    assert snapshot == compile_snapshot(company.graph.store)


@settings(max_examples=draws(15), deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 10_000))
def test_todays_people_fit_under_the_framework_of_another_state(seed: int, other: int) -> None:
    framework, people = (Snapshot(build_working_company(one)) for one in (seed, other))
    joined = join_states(framework, people)
    left_out = dict(joined.left_out)
    for name, table in TABLES.items():
        rows = joined.snapshot.get_table(name)
        is_framework = table.graph in (ns.GRAPH_FRAMEWORK, ns.GRAPH_OFFERS)
        source = (framework if is_framework else people).get_table(name)
        assert rows.items() <= source.items()
        assert len(source) - len(rows) == left_out.get(name, 0)
        for record in rows.values():
            for to in TABLES:
                for field in get_reference_fields(name, to):
                    if is_referring(name, record, to, field):
                        value = getattr(record, field)
                        ids = {key[0] for key in joined.snapshot.get_table(to)}
                        assert ids.issuperset(value if isinstance(value, tuple) else (value,) if value else ())
    assert join_states(framework, framework).left_out == ()
    assert join_states(framework, framework).snapshot == framework
