"""Editions of ESCO compared and published whole, both ways in; and what the files of the history cost a load.

Called by `python -m tests.benchmarks keeping`.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from unittest.mock import patch

from edited_esco import edit_framework
from editions import compare_beside, compare_published, require_exactly
from esco_edition import write_edition
from renumbered import renumber_many, weigh
from store_load import load_into_store
from usage import Usage, measure_usage

from loaders.draft_load import load_onto_draft, plan_draft_load
from ontology.analysis.compare.comparison import compare_states
from ontology.live.live_graph import LiveGraph
from ontology.live.publishing import publish_draft
from ontology.snapshot.snapshot import Snapshot
from ontology.store.bulk_history import PatchWriter

#: What prints a row: what it is, its goal, what it took, and its base.
Print = Callable[[str, str, Usage, Usage], None]
#: New ids of competencies and roles, and competencies that are gone and moved.
MANY = (5_000, 1_500, 1_000)


def print_load_without_files(folder: Path, print_row: Print) -> None:
    """Print what a load takes with the files of the history, beside one that writes none; both are not the first."""

    def load() -> Usage:
        with tempfile.TemporaryDirectory() as name:
            return measure_usage(lambda: load_into_store(folder, Path(name)).close())

    with patch.object(PatchWriter, "take", lambda *_, **__: None), patch.object(PatchWriter, "finish", lambda _: ()):
        without = load()
    print_row("load with history files : without", "of base <= 1.1", load(), without)


def print_editions(folder: Path, state: Snapshot, compiled: Usage, load: Usage, print_row: Print) -> None:
    """Print what comparing and publishing editions takes; and that what was edited is found, no more and no fewer."""
    copy = edit_framework(state)
    records = {name: dict(state.get_table(name)) for name in copy.records}
    edited = Snapshot({name: rows.values() for name, rows in copy.records.items()}, store_id="copy")
    usage = measure_usage(lambda: compare_states(state, edited))
    print_row("a copy with 40 edits compared, suggestions included : full compile", "of base <= 1", usage, compiled)
    many = renumber_many(state, *MANY)
    found: set[tuple[str, str, str]] = set()
    usage = measure_usage(
        lambda: found.update(
            (one.table, one.before[0], one.after[0])
            for one in compare_states(state, many.state).suggestions
            if one.kind == "same"
        )
    )
    precision, recall = weigh(found, many.same)
    what = f"{len(many.same):,} new ids (right {precision:.4f}, found {recall:.4f})"
    print_row(f"{what} : full compile", "", usage, compiled)
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        second = write_edition(place / "second", copy.records)
        for way in (compare_beside, compare_published):
            told = way(place / way.__name__, folder, second)
            require_exactly(told, records, copy)
            print(f"{way.__name__.replace('_', ' ')}, from files: exactly the 40 edits are found")
        _print_whole_edition(place, folder, load, print_row)


def _print_whole_edition(place: Path, folder: Path, load: Usage, print_row: Print) -> None:
    """Print what a whole new edition takes on its way over a draft."""
    graph = load_into_store(folder, place / "whole")
    many = renumber_many(graph.get_snapshot(), *MANY)
    tables = ("competencies", "roles", "requirements")
    edition = write_edition(place / "edition", {name: dict(many.state.get_table(name)) for name in tables})

    def put_in() -> None:
        plan = plan_draft_load(graph, "next", [edition], is_whole=True)
        load_onto_draft(graph, "next", plan, who="benchmark", why="a whole new edition")

    print_row("a whole new edition into a draft : load", "", measure_usage(put_in), load)
    print_row("that draft shown first : load", "", measure_usage(lambda: _show(graph)), load)

    def publish() -> None:
        publish_draft(graph, "next", "next", who="benchmark", reason="A new edition")

    print_row("that draft published : load", "of base <= 1", measure_usage(publish), load)
    graph.close()


def _show(graph: LiveGraph) -> Snapshot:
    return graph.drafts.get_state("next").snapshot
