"""Keeping a framework at the size of ESCO: a whole new edition published.

Run: python -m tests.benchmarks keeping. Everything in one run; ratios, since machines differ. The edition is made of
the official files by a fixed seed: competencies go with all that names them, others get another definition.
"""

from __future__ import annotations

import dataclasses
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

from store_load import DEFAULT_FOLDER, load_into_store
from usage import Usage, measure_usage

from ontology.checks.changes import find_referrers
from ontology.live.live_graph import Change, LiveGraph
from ontology.snapshot.snapshot import Snapshot

#: Competencies that go, and others that get another definition: some 40,000 quads come and go.
REMOVED = 500
REWORDED = 8_000


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
    """Print what something took, and how it compares with its base."""
    print(f"{what:<62}{goal:>12}{ours.wall_s:>9.3g}{ours.wall_s / base.wall_s:>9.3g}{base.wall_s / ours.wall_s:>9.3g}")


def main(folder: Path = DEFAULT_FOLDER) -> None:
    """Print the table."""
    if not folder.is_dir():
        print(f"{folder} is not there: name the folder of the official ESCO files")
        return
    with tempfile.TemporaryDirectory() as name:
        graphs: list[LiveGraph] = []
        load = measure_usage(lambda: graphs.append(load_into_store(folder, Path(name))))
        graph = graphs[0]
        edition = build_edition(graph.get_snapshot())
        print(f"{'what : its base':<62}{'goal':>12}{'s':>9}{'of base':>9}{'faster':>9}")
        publish = measure_usage(lambda: graph.apply(edition, who="benchmark", why="a new edition"))
        n_records = f"{len(edition.remove):,} removed, {len(edition.put):,} changed"
        print_row(f"a whole new edition ({n_records}) : load", "of base <= 1", publish, load)
        graph.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else DEFAULT_FOLDER)
