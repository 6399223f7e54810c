"""Loading a company from CSV: the command's time, processor time and peak memory, each in a process of its own.

The company is that of company_cover with 192,000 assessments, invented; then the same with rows in the tables of
memberships, appointments, practice, obligations, sessions, bookings and the newcomers' plans. The peer is the engine's
own bulk load of the quads that came of the first: no checks, no records, no history. Ratios to it, since machines
differ. Peak memory is what the operating system says of the whole process (wait4(2)).
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from company_cover import ON, build_large_company
from usage import Figures, Usage, summarise

from loaders.tables.table_writers import export_csv
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot
from ontology.store.commit_text import write_lines
from ontology.store.engine import Store

RUNS = 3
ASSESSMENTS = 192_000
#: What the whole load may take, in MB.
MOST_MEMORY = 800
ROOT = Path(__file__).resolve().parents[2]
_LOAD = "from api.terminal.program import main; main()"
#: A process starts with the peak of the one it was forked from: this one is small.
_MEASURE = (
    "import os, subprocess, sys, time; began = time.perf_counter(); "
    "child = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL); _, status, used = os.wait4(child.pid, 0); "
    "print(time.perf_counter() - began, used.ru_utime + used.ru_stime, used.ru_maxrss, status)"
)
_PEER = (
    "import sys, pyoxigraph; store = pyoxigraph.Store(sys.argv[2]); "
    "store.bulk_load(path=sys.argv[1], format=pyoxigraph.RdfFormat.N_QUADS, lenient=True); store.flush()"
)


def build_assessed_company() -> Snapshot:
    """Return the company of company_cover, with earlier assessments of the same people up to `ASSESSMENTS`."""
    company = build_large_company()
    present = company.get_table("assessments")
    earlier: dict[Any, Any] = {}
    for record in random.Random(2).sample(list(present.values()), len(present)):
        day, end = record.date - timedelta(days=400), record.valid_until
        before = replace(record, date=day, valid_until=end and end - timedelta(days=400))
        key = TABLES["assessments"].get_key(before)
        if key not in present and len(present) + len(earlier) < ASSESSMENTS:
            earlier[key] = before
    return company.with_changes([("assessments", record) for record in earlier.values()])


def iterate_more(company: Snapshot) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield (table, row) of some 150,000 rows in the tables beside those of company_cover."""
    rng = random.Random(3)
    competencies, teams = list(company.competencies), list(company.teams)
    yield from (("sites", {"id": f"s{n}", "label": f"Site {n}"}) for n in range(50))
    yield from (("sessions", {"id": f"e{n}", "course": f"k{n % 300}-1", "from_date": ON}) for n in range(3_000))
    for n in range(60):
        yield "obligations", {"id": f"o{n}", "label": f"Obligation {n}", "competency": f"c{n * 3}"}
        yield "orientation_items", {"id": f"i{n}", "label": f"Item {n}"}
    for number, person in enumerate(company.people):
        first = ON - timedelta(days=rng.randint(400, 2_000))
        lent = {"from_date": first, "to_date": first + timedelta(days=90), "team": rng.choice(teams)}
        yield "memberships", {"person": person} | lent
        yield "bookings", {"session": f"e{number % 3_000}", "person": person}
        for competency in rng.sample(competencies, 3):
            yield "practices", {"person": person, "competency": competency, "date": first}
        yield "appointments", {"person": person, "competency": rng.choice(competencies), "from_date": first}
        for item in rng.sample(range(60), 2):
            yield "orientation_done", {"person": person, "item": f"i{item}", "date": first}


def measure_child(code: str, arguments: Sequence[str]) -> Usage:
    """Run a program in a process of its own and return what it took in all."""
    path = os.pathsep.join([str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])])
    child = subprocess.run(
        [sys.executable, "-c", _MEASURE, sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONPATH": path},
    )
    wall_s, cpu_s, peak, status = map(float, child.stdout.split())
    if status != 0:
        raise RuntimeError(f"{' '.join(arguments)} ended with {status:g}: {child.stderr[-500:]}")
    return Usage(wall_s, cpu_s, peak / (1024**2 if sys.platform == "darwin" else 1024))


def measure_loads(source: Path, n_times: int) -> list[Figures]:
    """Return the figures of loading a folder into a new store, and again as often as is asked."""
    usages: list[list[Usage]] = [[] for _ in range(n_times)]
    for _ in range(RUNS):
        with tempfile.TemporaryDirectory() as name:
            for found in usages:
                found.append(measure_child(_LOAD, ["load", str(source), "--store", str(Path(name) / "store")]))
    return [summarise(found) for found in usages]


def measure_peer(source: Path, folder: Path) -> tuple[int, Figures]:
    """Return how many quads a folder becomes, and the figures of the engine's own bulk load of them."""
    measure_child(_LOAD, ["load", str(source), "--store", str(folder / "store")])
    store, text, n_quads = Store.open(folder / "store"), folder / "quads.nq", 0
    with text.open("wb") as file:
        for graph in ns.DATA_GRAPHS:
            quads = list(store.read_graph(graph))
            n_quads += len(quads)
            file.write(write_lines(quads))
    store.close()
    return n_quads, summarise([measure_child(_PEER, [str(text), str(folder / f"peer-{n}")]) for n in range(RUNS)])


def main() -> None:
    """Print the table."""
    if not hasattr(os, "wait4"):
        print("this system does not tell the peak memory of a process")
        return
    company = build_assessed_company()
    more = [(name, TABLES[name].build(**row)) for name, row in iterate_more(company)]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain, full = folder / "plain", folder / "full"
        export_csv(company, plain)
        export_csv(company.with_changes(more), full)
        n_quads, peer = measure_peer(plain, folder)
        n_people, n_assessed = len(company.people), len(company.get_table("assessments"))
        print(f"{n_people:,} people, {n_assessed:,} assessments, {n_quads:,} quads; at most {MOST_MEMORY} MB")
        print(f"{'what':<44}{'median s':>10}{'max s':>8}{'ratio':>8}{'cpu s':>8}{'ratio':>8}{'peak MB':>9}")
        print_row("bulk load of these quads (peer)", peer, peer)
        first, again = measure_loads(plain, 2)
        print_row("CSV -> checked -> store on disk", first, peer)
        print_row("the same a second time, nothing new", again, peer)
        print_row(f"with {len(more):,} rows of the further tables", measure_loads(full, 1)[0], peer)


def print_row(what: str, row: Figures, peer: Figures) -> None:
    """Print the figures of one piece of work and their ratios to the peer's."""
    clock, cpu = row.median_s / peer.median_s, row.cpu_s / peer.cpu_s
    figures = f"{row.median_s:>10.3g}{row.max_s:>8.3g}{clock:>8.3g}{row.cpu_s:>8.3g}{cpu:>8.3g}{row.peak_mb:>9.0f}"
    print(f"{what:<44}{figures}", flush=True)


if __name__ == "__main__":
    main()
