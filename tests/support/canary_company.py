"""The demonstration under names and ids that stand in no other text, so that a trace of anybody is found by looking."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

from all_accounts import Accounts, People, build_accounts
from scenario import SCENARIO, add_neighbour, begin_draft

from api.settings import Settings
from loaders.pipeline import load_paths
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ACTORS", "EMPLOYEE", "OTHER", "OTHER_TEAM", "TEAM", "Canaries", "open_canaries", "rename"]

_ID = re.compile(r"\bp(\d{3})\b")
TEAM, OTHER_TEAM = "treatment", "networks"
EMPLOYEE, LEAD, OTHER = "zqp008x", "zqp002x", "zqp040x"
ACTORS = (
    *("nobody", "reader", "employee", "lead", "other lead"),
    *("assessor", "architect", "architect with purpose", "administrator"),
)


def rename(text: str) -> str:
    """Return a text with the canary ids for the demonstration's."""
    return _ID.sub(r"zqp\1x", text)


@dataclass(frozen=True)
class Canaries:
    """The company served, its state, and id -> name of everyone in it."""

    accounts: Accounts
    snapshot: Snapshot
    names: dict[str, str]


@lru_cache(maxsize=1)
def open_canaries() -> Canaries:
    """Return the company, loaded and served once for all tests of a process; none of them changes it."""
    graph = LiveGraph.in_memory()
    with TemporaryDirectory() as folder:
        for path in SCENARIO.glob("*.csv"):
            text = rename(path.read_text("utf-8"))
            Path(folder, path.name).write_text(_rename_people(text) if path.name == "people.csv" else text, "utf-8")
        report = load_paths(graph, [Path(folder)])
        add_neighbour(graph)
    assert not [finding for finding in report.findings if finding.severity == "error"]
    begin_draft(graph)
    people = People(EMPLOYEE, LEAD, TEAM, OTHER_TEAM, "disinfection-control")
    snapshot = graph.get_snapshot()
    accounts = build_accounts(graph, people, Settings(time_limit_default_s=1.0))
    return Canaries(accounts, snapshot, {one.id: one.name for one in snapshot.people.values()})


def _rename_people(text: str) -> str:
    rows = list(csv.DictReader(io.StringIO(text)))
    for n, row in enumerate(rows):
        row["name"] = f"Zqanna{n:03} Zqbird{n:03}"
    written = io.StringIO()
    writer = csv.DictWriter(written, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return written.getvalue()
