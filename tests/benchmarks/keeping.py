"""Keeping a framework at the size of ESCO: edits, past states, a whole new edition published.

Run: python -m tests.benchmarks keeping. Everything in one run; ratios, since machines differ. The edition is made of
the official files by a fixed seed: competencies go with all that names them, others get another definition.
"""

from __future__ import annotations

import dataclasses
import gc
import random
import sys
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

import edition_ways
import effect
import queries
from store_load import DEFAULT_FOLDER, load_into_store
from usage import Usage, measure_usage

from api.desk.question import COMPANY, Subject
from api.questions.framework.to_mend import AskToMend
from api.questions.framework.to_mend import compute as list_all_to_mend
from ontology.analysis.compare.comparison import compare_states
from ontology.checks.changes import find_referrers
from ontology.live.as_of import PastStates
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import Change, LiveGraph
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store.engine import Store
from ontology.store.history import read_commits, read_patches

#: Competencies that go, and others that get another definition: some 40,000 quads come and go.
REMOVED = 500
REWORDED = 8_000
#: Commits that are looked back over.
EDITS = 500
#: Edits of a draft.
DRAFTED = 100


def build_edition(snapshot: Snapshot, seed: int = 16) -> Change:
    """Return the change to another edition of the framework."""
    rng = random.Random(seed)
    competencies = list(snapshot.competencies.values())
    gone = {competency.id for competency in rng.sample(competencies, min(REMOVED, len(competencies) // 4))}
    remove = [("competencies", (one,)) for one in sorted(gone)]
    put: dict[tuple[str, Any], Any] = {}
    for referrers in find_referrers(snapshot, [("competencies", one) for one in sorted(gone)]).values():
        for name, key_text in referrers:
            key = tuple(key_text.split("~"))
            if name != "competencies":
                remove.append((name, key))
            elif key[0] not in gone:
                record = snapshot.competencies[key[0]]
                kept = tuple(one for one in record.broader if one not in gone)
                put[name, key] = dataclasses.replace(record, broader=kept)
    others = [competency for competency in competencies if competency.id not in gone]
    for record in rng.sample(others, min(REWORDED, len(others))):
        present = put.get(("competencies", (record.id,)), record)
        put["competencies", (record.id,)] = dataclasses.replace(present, definition=f"{record.definition} (revised)")
    return Change(put=tuple((name, record) for (name, _), record in put.items()), remove=tuple(dict.fromkeys(remove)))


def print_row(what: str, goal: str, ours: Usage, base: Usage) -> None:
    """Print what something took, and how it compares with its base: by the clock, and in processor time."""
    clock, cpu = base.wall_s / ours.wall_s, base.cpu_s / ours.cpu_s
    print(f"{what:<62}{goal:>14}{ours.wall_s:>8.3g}{ours.cpu_s:>8.3g}{1 / clock:>9.3g}{clock:>8.3g}{cpu:>12.3g}")


def get_size(folder: Path) -> int:
    """Return the bytes that a folder takes."""
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def measure_commits(folder: Path, n: int) -> float:
    """Return the bytes on disk that each of n commits of one changed value adds to a small store."""
    store = Store.open(folder, create=True)
    quads = [
        (ns.GRAPH_FRAMEWORK, f"<{ns.ID}x/{i}>", f"<{ns.NW}weight>", ns.typed_term("1", "decimal")) for i in range(n)
    ]
    store.commit(quads, [], who="benchmark", why="all")
    store.close()
    before = get_size(folder)
    store = Store.open(folder)
    for graph, subject, predicate, term in quads:
        changed = (graph, subject, predicate, ns.typed_term("2.5", "decimal"))
        store.commit([changed], [(graph, subject, predicate, term)], who="benchmark", why="an edit")
    store.close()
    return (get_size(folder) - before) / n


def edit_often(graph: LiveGraph, n: int, seed: int = 16) -> list[Usage]:
    """Change a requirement n times, each in a commit of its own; return what each took until the next answer."""
    rng = random.Random(seed)
    requirements = list(graph.get_snapshot().get_table("requirements").values())
    usages = []
    for number in range(n):
        present = rng.choice(requirements)
        edited = dataclasses.replace(present, weight=1 + number % 9 / 2)

        def edit(edited: Any = edited) -> None:
            graph.apply(Change(put=(("requirements", edited),)), who="benchmark", why="an edit")
            assert edited in graph.get_snapshot().get_requirements(edited.role)

        usages.append(measure_usage(edit))
    return usages


def measure_as_of(graph: LiveGraph, revision: int, wanted: Snapshot) -> Usage:
    """Return what the Snapshot of a revision takes that is not kept yet; it is the one that was there then."""
    found: list[Snapshot] = []
    present = graph.get_snapshot()
    gc.collect()
    usage = measure_usage(lambda: found.append(PastStates(graph.store).get_snapshot(revision, present)))
    assert found[0] == wanted
    return usage


def measure_draft(graph: LiveGraph, n: int, seed: int = 16) -> Usage:
    """Return what the first answer on a draft of n edits takes: requirements changed, competencies renamed."""
    rng = random.Random(seed)
    snapshot = graph.get_snapshot()
    requirements = rng.sample(list(snapshot.get_table("requirements").values()), n // 2)
    competencies = rng.sample(list(snapshot.competencies.values()), n - n // 2)
    put = [("requirements", dataclasses.replace(one, weight=4.5)) for one in requirements]
    put += [("competencies", dataclasses.replace(one, label=f"{one.label} (new)")) for one in competencies]
    graph.drafts.start("measured", "Measured", who="benchmark")
    graph.drafts.edit("measured", Change(put=tuple(put)), who="benchmark", why="edits")
    vars(graph).pop("drafts")  # as a process that never saw it
    gc.collect()
    role = requirements[0].role

    def ask() -> None:
        shown = graph.drafts.get_state("measured").snapshot
        assert requirements[0] not in shown.get_requirements(role)

    return measure_usage(ask)


def main(folder: Path = DEFAULT_FOLDER) -> None:
    """Print the tables."""
    effect.main()
    if not folder.is_dir():
        print(f"{folder} is not there: name the folder of the official ESCO files")
        return
    with tempfile.TemporaryDirectory() as name:
        graphs: list[LiveGraph] = []
        load = measure_usage(lambda: graphs.append(load_into_store(folder, Path(name))))
        graph, store = graphs[0], Path(name) / "store"
        first = graph.get_snapshot()
        files, whole = get_size(store / "history"), get_size(store)
        grown = measure_commits(Path(name) / "small", EDITS) / 1e3
        edits = edit_often(graph, EDITS)
        compiled = sorted((measure_usage(lambda: compile_snapshot(graph.store)) for _ in range(3)), key=by_time)[1]
        heads = f"{'goal':>14}{'s':>8}{'cpu s':>8}{'of base':>9}{'faster':>8}{'faster, cpu':>12}"
        print(f"{'what : its base':<62}{heads}")
        print(f"{'history files of the load : store':<62}{'<= 0.15':>14}{'':>16}{files / whole:>9.3g}")
        print(f"{f'{EDITS} commits on disk, kB each':<62}{'<= 10':>14}{'':>16}{grown:>9.3g}")
        edit = sorted(edits, key=by_time)[EDITS // 2]
        print_row("a requirement edited, then an answer : full compile", ">= 20 times", edit, compiled)
        # brings what looking back imports
        PastStates(graph.store).get_snapshot(graph.store.revision - 1, graph.get_snapshot())
        as_of = measure_as_of(graph, first.revision, first)
        print_row(f"as of {EDITS} commits back : full compile", ">= 12 times", as_of, compiled)
        draft = measure_draft(graph, DRAFTED)
        print_row(f"first answer on a draft of {DRAFTED} edits : full compile", ">= 30 times", draft, compiled)
        edition = build_edition(graph.get_snapshot())
        before = graph.get_snapshot()
        publish = measure_usage(lambda: graph.apply(edition, who="benchmark", why="a new edition"))
        n_records = f"{len(edition.remove):,} removed, {len(edition.put):,} changed"
        print_row(f"a whole new edition ({n_records}) : load", "of base <= 1", publish, load)
        across = measure_as_of(graph, before.revision, before)
        ((_, patch),) = read_patches(graph.store, read_commits(graph.store)[-1:])
        quads = len(patch.added) + len(patch.removed)
        print_row(f"as of across a bulk commit of {quads:,} quads : full compile", ">= 2 times", across, compiled)
        published = graph.get_snapshot()
        compare = measure_usage(lambda: compare_states(before, published))
        print_row("two editions compared, suggestions included : full compile", "of base <= 1", compare, compiled)
        ask = AskToMend(on=date(2026, 11, 24), least_people=5)
        to_mend = measure_usage(lambda: list_all_to_mend(published, Subject(COMPANY), ask))
        print_row("what is to mend, the whole list : full compile", "of base <= 4", to_mend, compiled)
        graph.close()
        edition_ways.print_load_without_files(folder, print_row)
        edition_ways.print_editions(folder, first, compiled, load, print_row)
    queries.main(folder)


def by_time(usage: Usage) -> float:
    """Return the seconds on the clock."""
    return usage.wall_s


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else DEFAULT_FOLDER)
