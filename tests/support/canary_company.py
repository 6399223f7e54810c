"""The demonstration under names and ids that stand in no other text, so that a trace of anybody is found by looking."""

from __future__ import annotations

import csv
import datetime as dt
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
from ontology.analysis.profiles.belonging import get_person_on
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.snapshot.snapshot import Snapshot

__all__ = ["ACTORS", "EMPLOYEE", "OTHER", "OTHER_TEAM", "TEAM", "Canaries", "find_seen", "open_canaries", "rename"]

_ID = re.compile(r"\bp(\d{3})\b")
TEAM, OTHER_TEAM = "treatment", "networks"
EMPLOYEE, LEAD, OTHER = "zqp008x", "zqp002x", "zqp040x"
ACTORS = (
    *("nobody", "reader", "employee", "lead", "other lead"),
    *("assessor", "architect", "architect with purpose", "administrator"),
)

_TEAMS = {
    "lead": {TEAM},
    "other lead": {OTHER_TEAM},
    "assessor": {TEAM},
    "architect with purpose": {TEAM},
}
_SELVES = {"employee": EMPLOYEE, "lead": LEAD}


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
    graph.releases.name_present("autumn-2026", who="demo", reason="as agreed with the crews")
    begin_draft(graph)
    people = People(EMPLOYEE, LEAD, TEAM, OTHER_TEAM, "disinfection-control")
    snapshot = graph.get_snapshot()
    accounts = build_accounts(graph, people, Settings(time_limit_default_s=1.0))
    return Canaries(accounts, snapshot, {one.id: one.name for one in snapshot.people.values()})


@lru_cache(maxsize=len(ACTORS))
def find_seen(actor: str) -> frozenset[str]:
    """Return whom an actor may be told of: who is theirs to see, and whom these people's own records name."""
    snapshot, today = open_canaries().snapshot, dt.datetime.now(dt.UTC).date()
    if actor == "administrator":
        return frozenset(snapshot.people)
    teams = _TEAMS.get(actor, set())
    own = {
        one
        for one, person in snapshot.people.items()
        if one == _SELVES.get(actor) or {person.team, get_person_on(snapshot, one, today).team} & teams
    }
    named = set(own)
    for table in TABLES.values():
        if table.graph == ns.GRAPH_PEOPLE:
            for record in snapshot.get_table(table.name).values():
                values = [getattr(record, column.attribute) for column in table.columns]
                if any(isinstance(value, str) and value in own for value in values[:2]):
                    named |= {value for value in values if isinstance(value, str) and value in snapshot.people}
    return frozenset(named)


def _rename_people(text: str) -> str:
    rows = list(csv.DictReader(io.StringIO(text)))
    for n, row in enumerate(rows):
        row["name"] = f"Zqanna{n:03} Zqbird{n:03}"
    written = io.StringIO()
    writer = csv.DictWriter(written, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return written.getvalue()
