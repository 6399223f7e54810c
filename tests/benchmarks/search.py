"""What a search suggestion and the pages of the framework cost with O*NET 29.2 and ESCO 1.1.1 loaded.

Run: ``python tests/benchmarks/search.py`` from the project's folder. The official files (O*NET: CC BY 4.0; ESCO:
Decision 2011/833/EU) stand beside the project; without them the table says so.

Suggestions: processor time of every beginning of two letters that some name has, and of the words of some labels typed
letter by letter, asked of the application; the same with every name in two more languages, made up of its letters,
read in the main one and in another. Pages: processor time as a ratio to the same page of the demonstration.
"""

from __future__ import annotations

import statistics
import sys
import time
from itertools import islice
from pathlib import Path
from urllib.parse import quote

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parents[1] / "support")]

from flask.testing import FlaskClient
from scenario import load_scenario
from small_company import NO_REFERENCE, REFERENCE

from api.app import create_app
from loaders.open_data.esco import load_esco
from loaders.open_data.onet import load_onet
from ontology.live.live_graph import LiveGraph
from ontology.model.folding import split_words
from ontology.model.tables import TABLES
from ontology.snapshot.language_view import view_in
from ontology.snapshot.search import find_hits, index_names
from ontology.snapshot.snapshot import Snapshot

#: Labels that are typed letter by letter: every so manieth.
EVERY = 400
GOAL_MS = 20.0
GOAL_RATIO = 3.0
ROUNDS = 7
PART = {"Newel-Part": "suggestions"}


class Served:
    """A Snapshot served in this process."""

    def __init__(self, snapshot: Snapshot) -> None:
        graph = LiveGraph.in_memory()
        graph._snapshot = snapshot
        self.snapshot = snapshot
        self._client: FlaskClient = create_app(graph).test_client()

    def measure_ms(self, address: str, headers: dict[str, str] | None = None, rounds: int = ROUNDS) -> float:
        """Return the median processor time of an address in milliseconds, the first time left out."""
        answer = self._client.get(address, headers=headers)
        assert answer.status_code == 200, address
        times = []
        for _ in range(rounds):
            start = time.process_time()
            self._client.get(address, headers=headers)
            times.append(time.process_time() - start)
        return 1000 * statistics.median(times)


def list_typed(snapshot: Snapshot) -> list[str]:
    """Return what is asked: all beginnings of two letters, and some labels as far as they are typed."""
    labels = [record.label for record in (*snapshot.competencies.values(), *snapshot.roles.values())]
    pairs = {word[:2] for label in labels for word in split_words(label) if len(word) > 1}
    typed = {label[:length] for label in islice(labels, 0, None, EVERY) for length in range(2, len(label) + 1)}
    return [*sorted(pairs), *sorted(typed)]


def load_reference() -> Snapshot:
    """Return both official data sets as one framework."""
    onet, esco = load_onet(REFERENCE / "onet").records, load_esco(REFERENCE / "esco").records
    return Snapshot({name: [*onet.get(name, ()), *esco.get(name, ())] for name in {*onet, *esco}})


def translate(snapshot: Snapshot) -> Snapshot:
    """Return the same with every name in two more languages: its words from behind, and with other letters."""
    others = str.maketrans("abcdefghijklmnopqrstuvwxyz", "nopqrstuvwxyzabcdefghijklm")
    ways = {"xa": lambda name: " ".join(word[::-1] for word in name.split()), "xb": lambda name: name.translate(others)}
    build = TABLES["translations"].build
    rows = [
        build(table=table, id=one.id, column=column, language=language, joined="|".join(map(write, names)))
        for table in ("competencies", "roles")
        for one in getattr(snapshot, table).values()
        for column, names in (("label", (one.label,)), ("alt_labels", getattr(one, "alt_labels", ())))
        for language, write in ways.items()
        if names
    ]
    return snapshot.with_tables({"translations": dict(TABLES["translations"].iterate_keyed(rows))})


def print_languages(snapshot: Snapshot) -> None:
    """Print the processor time of suggestions where every name is in three languages."""
    several = translate(snapshot)
    start = time.process_time()
    index_names(several)
    built = time.process_time() - start
    rows = len(several.get_table("translations"))
    print(f"\nwith {rows:,} translations of names into two languages: their index built in {built:.2f} s")
    large = Served(several)
    typed = list_typed(several)
    typed += list_typed(view_in(several, "xa"))[::4]
    for language in ("en", "xa"):
        times = sorted((large.measure_ms(f"/search?q={quote(one)}&language={language}", PART, 3), one) for one in typed)
        told = f"{len(times):,} suggestions read in {language}, median {times[len(times) // 2][0]:.1f} ms"
        print(f"{told}, the slowest ({times[-1][1]!r}) {times[-1][0]:.1f} ms   goal {GOAL_MS:g}")


def print_suggestions(large: Served, built: float) -> None:
    """Print the processor time of suggestions, and what the index costs that was built in so many seconds."""
    snapshot = large.snapshot
    # one that has changed since: the index is carried over
    role = next(iter(snapshot.roles.values()))
    after = snapshot.with_changes([("roles", role)], ())
    start = time.process_time()
    find_hits(after, "ma")
    carried = time.process_time() - start
    typed = list_typed(snapshot)
    times = sorted((large.measure_ms(f"/search?q={quote(text)}", PART, 3), text) for text in typed)
    median, worst = times[len(times) // 2], times[-1]
    print(f"{len(snapshot.competencies):,} competencies, {len(snapshot.roles):,} roles: index built in {built:.2f} s")
    print(f"first search after a change {1000 * carried:8.1f} ms")
    print(f"{len(times):,} suggestions, median  {median[0]:8.1f} ms")
    print(f"the slowest ({worst[1]!r})   {worst[0]:8.1f} ms   goal {GOAL_MS:g}")


def print_pages(small: Served, large: Served) -> None:
    """Print the processor time of pages beside that of the demonstration."""
    snapshot = large.snapshot
    asking = max(snapshot.roles, key=lambda role: len(snapshot.get_requirements(role)))
    wide = max(snapshot.competencies, key=lambda competency: len(snapshot.get_narrower(competency)))
    rows = (
        ("list of competencies", "/competencies", "/competencies?page=100"),
        ("list of roles", "/roles", "/roles?page=20"),
        ("tree of competencies", "/competencies?show=tree", "/competencies?show=tree"),
        ("the widest branch", "/competencies?show=tree", f"/competencies?show=tree&broader={wide}"),
        ("role of O*NET", "/roles/treatment-operator", "/roles/11-1011.00"),
        ("role that asks for most", "/roles/treatment-operator", f"/roles/{asking}"),
    )
    print(f"{'page':26} {'demonstration':>14} {'both, ms':>9} {'ratio':>6}   goal {GOAL_RATIO:g}")
    for name, of_small, of_large in rows:
        first, second = small.measure_ms(of_small), large.measure_ms(of_large)
        print(f"{name:26} {first:11.2f} ms {second:9.2f} {second / first:6.2f}")


def main() -> int:
    """Print both tables."""
    if not (REFERENCE / "onet").is_dir() or not (REFERENCE / "esco").is_dir():
        print(NO_REFERENCE, file=sys.stderr)
        return 3
    snapshot = load_reference()
    start = time.process_time()
    index_names(snapshot)
    built = time.process_time() - start
    large = Served(snapshot)
    print_suggestions(large, built)
    print_pages(Served(load_scenario()), large)
    print_languages(snapshot)
    return 0


if __name__ == "__main__":
    sys.exit(main())
