"""Loading ESCO: from the official files into the on-disk store, against pyoxigraph's bulk load and rdflib's parse.

Before it, loading a company from CSV (company_load), which needs no official files.

Run: python -m tests.benchmarks store-load. All in one run, each figure the median of three; ratios, since
machines differ, and ours and its peer in turns, since what else a machine does changes. The peers get the same quads
as N-Quads text (Oxigraph) and N-Triples text (rdflib, in memory). Processor time counts every thread; it hardly depends
on what else runs, but does not know what runs side by side. Peak memory is what each row takes beyond what it found.
"""

from __future__ import annotations

import gc
import resource
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

import company_load
import pyoxigraph
import rdflib
from usage import Figures, Usage, measure_usage, summarise

from loaders.pipeline import load_paths
from ontology.live.compile import compile_snapshot
from ontology.live.live_graph import LiveGraph
from ontology.model.records import Requirement
from ontology.rdf import namespaces as ns
from ontology.snapshot.indexes import list_indexes
from ontology.snapshot.snapshot import Snapshot

RUNS = 3
DEFAULT_FOLDER = Path(__file__).resolve().parents[3] / "shared" / "reference" / "esco"


def measure_in_turns(works: Sequence[Callable[[Path], object]], runs: int = RUNS) -> list[Figures]:
    """Return the figures of each work, all of them run in turns, each run in an empty folder of its own."""
    usages: list[list[Usage]] = [[] for _ in works]
    for _ in range(runs):
        for work, found in zip(works, usages, strict=True):
            with tempfile.TemporaryDirectory() as name:
                gc.collect()
                found.append(measure_usage(partial(work, Path(name))))
    return [summarise(found) for found in usages]


def load_into_store(source: Path, target: Path) -> LiveGraph:
    """Load the official files into a store on disk and return it, open."""
    graph = LiveGraph.open(target / "store", create=True)
    load_paths(graph, [source], skip_faulty=True)
    return graph


def measure_edits(snapshot: Snapshot) -> Figures:
    """Return the figures from one edited requirement to an answer from the next Snapshot."""
    for name in list_indexes(Snapshot):
        getattr(snapshot, name)
    usages = []
    for record in list(snapshot.get_table("requirements").values())[:2_000:50]:
        edited = replace(record, weight=4.5)

        def edit(edited: Requirement = edited) -> None:
            after = snapshot.with_changes([("requirements", edited)], revision=snapshot.revision + 1)
            assert edited in after.get_requirements(edited.role)

        usages.append(measure_usage(edit))
    return summarise(usages)


def main(folder: Path = DEFAULT_FOLDER) -> None:
    """Print both tables."""
    company_load.main()
    if not folder.is_dir():
        print(f"{folder} is not there: name the folder of the official ESCO files")
        return
    keep = Path(tempfile.mkdtemp())
    graph = load_into_store(folder, keep)
    quads = [quad for name in ns.DATA_GRAPHS for quad in graph.store.read_graph(name)]
    lines = "".join(f"{s} {p} {o} <{g}> .\n" for g, s, p, o in quads).encode()
    triples = "".join(f"{s} {p} {o} .\n" for _, s, p, o in quads)

    def bulk_load(target: Path) -> None:
        store = pyoxigraph.Store(str(target / "peer"))
        store.bulk_load(lines, format=pyoxigraph.RdfFormat.N_QUADS)
        store.flush()

    def join() -> list[tuple[object, ...]]:
        """Ask one query for every requirement with all its columns, as engine and Python hand the rows over."""
        optional = " ".join(
            f"OPTIONAL {{ ?q <{ns.NW}{name}> ?{name} }}"
            for name in ("entryLevel", "unsupervisedLevel", "weight", "necessity", "learnedOnJob", "measuredLevel")
        )
        query = (
            f"SELECT * WHERE {{ GRAPH <{ns.GRAPH_FRAMEWORK}> {{ ?q <{ns.NW}role> ?role ; "
            f"<{ns.NW}competency> ?competency ; <{ns.NW}level> ?level {optional} }} }}"
        )
        return list(graph.store.select_terms(query))

    ours, bulk = measure_in_turns([lambda target: load_into_store(folder, target).close(), bulk_load])
    (parse,) = measure_in_turns([lambda target: rdflib.Graph().parse(data=triples, format="nt")], runs=1)
    compiled, joined = measure_in_turns([lambda target: compile_snapshot(graph.store), lambda target: join()])
    edits = measure_edits(graph.get_snapshot())
    print(f"{len(quads):,} quads of {folder.name}")
    print(f"{'what':<58}{'median s':>10}{'max s':>8}{'ratio':>9}{'cpu s':>8}{'ratio':>9}{'peak MB':>9}")
    for what, row, base in (
        ("official files -> checked -> store on disk", ours, bulk),
        ("Oxigraph bulk load of the same quads (peer)", bulk, bulk),
        ("rdflib parse of the same triples, in memory (peer)", parse, bulk),
        ("full compile of the Snapshot", compiled, joined),
        ("one joined SPARQL query of the requirements to rows (peer)", joined, joined),
        ("Snapshot after one edit, its indexes in use", edits, compiled),
    ):
        clock, cpu = row.median_s / base.median_s, row.cpu_s / base.cpu_s
        print(
            f"{what:<58}{row.median_s:>10.4g}{row.max_s:>8.4g}{clock:>9.4g}{row.cpu_s:>8.4g}{cpu:>9.4g}{row.peak_mb:>9.0f}"
        )
    print(f"peak memory of this process: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:,.0f} MB")
    graph.close()
    shutil.rmtree(keep)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else DEFAULT_FOLDER)
