"""A company in whose past a person left traces of every kind, under words that stand nowhere else."""

from __future__ import annotations

import gzip
from datetime import date
from pathlib import Path
from typing import Any

from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

PERSON = "zq-71.x"
NAME = "Quilvane Örst"
OLD_NAME = 'Quilvane "Quill" Marrowby'
#: What stands in texts about them alone.
WORDS = ("prefers the glasshouse shift", "sheet 4471 glasshouse")
#: None of it may be left.
CANARIES = (PERSON, NAME, "Quilvane", "Marrowby", "glasshouse", "plan-zq9")
#: This one must be: or the search finds nothing.
CONTROL = "Tamsin Control"

_SEEN = {"competency": "pump", "date": date(2026, 1, 3), "level": 3, "source": "assessor"}
ROWS: dict[str, list[dict[str, Any]]] = {
    "scales": [{"scale": "s3", "rank": rank, "label": f"Level {rank}"} for rank in (1, 2, 3)],
    "competencies": [{"id": "pump", "label": "Pump", "scale": "s3"}],
    "roles": [{"id": "operator", "label": "Operator"}],
    "teams": [{"id": "works", "label": "Works"}],
    "places": [{"id": "desk", "team": "works", "role": "operator"}],
    "courses": [{"id": "pumping", "label": "Pumping", "hours": 8.0}],
    "outcomes": [{"course": "pumping", "competency": "pump", "level": 2}],
    "people": [
        {"id": PERSON, "name": OLD_NAME, "team": "works"},
        {"id": "p1", "name": CONTROL, "team": "works"},
        {"id": "p2", "name": "Other One", "team": "works"},
    ],
    "absences": [{"person": PERSON, "from_date": date(2026, 3, 1), "to_date": date(2026, 3, 9)}],
    "assessments": [
        {**_SEEN, "person": PERSON, "assessor": "p1", "evidence": WORDS[1]},
        {**_SEEN, "person": PERSON, "assessor": "erased"},
        {**_SEEN, "person": "p1", "assessor": PERSON},
        {**_SEEN, "person": "p2", "assessor": PERSON},
        {**_SEEN, "person": "p2", "assessor": "erased"},
    ],
    "agreed_plans": [
        {"id": "plan-zq9", "person": PERSON, "role": "operator", "agreed_on": date(2026, 2, 2), "note": WORDS[0]}
    ],
    "agreed_courses": [
        {"plan": "plan-zq9", "course": "pumping", "first_day": date(2026, 5, 4), "last_day": date(2026, 5, 8)}
    ],
    "duties": [
        {"person": "p1", "place": "desk", "from_date": date(2026, 4, 1), "supervised_by": PERSON},
    ],
    "orientation_items": [{"id": "tour", "label": "A tour", "owner": PERSON}],
}


def make(table: str, **values: Any) -> tuple[str, Any]:
    """Return a record of a table, beside the table's name."""
    return table, TABLES[table].build(**values)


def build_past(graph: LiveGraph) -> None:
    """Make the company and four more revisions: a new name, new records, one taken away, a reason with a name."""
    records = {name: [TABLES[name].build(**row) for row in rows] for name, rows in ROWS.items()}
    graph.load(records, who="first", why="the first load")
    graph.apply(Change((make("people", id=PERSON, name=NAME, team="works"),)), who=NAME, why=f"renamed {PERSON}")
    absence = make("absences", person="p1", from_date=date(2026, 6, 1), to_date=date(2026, 6, 2))
    own = make("absences", person=PERSON, from_date=date(2026, 6, 1), to_date=date(2026, 6, 2))
    graph.apply(Change((absence, own)), who="third", why=f"made absences/{PERSON}~2026-06-01")
    graph.apply(Change(remove=(("absences", (PERSON, date(2026, 3, 1))),)), who="fourth", why="removed one")
    graph.apply(Change((make("courses", id="pumping", label="Pumps", hours=9.0),)), who="w", why=f"as {NAME} said")
    graph.releases.name_present("1.0", who=NAME, reason=f"as {PERSON} asked")
    graph.drafts.start("spring", f"What {NAME} wants", who=NAME)
    new = make("orientation_items", id="tour", label="A longer tour", owner=PERSON)
    owned = make("orientation_items", id="visit", label="A visit", owner=NAME)
    graph.drafts.edit("spring", Change((new, owned)), who=PERSON, why=f"{NAME} said so")


def read_bytes(folder: Path) -> bytes:
    """Return all that stands in the files below a folder, those that are compressed unpacked too."""
    found = []
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            content = path.read_bytes()
            found += [str(path).encode(), content, gzip.decompress(content) if path.suffix == ".gz" else b""]
    return b"\n".join(found)


def find_canaries(*folders: Path) -> list[str]:
    """Return what of the person stands in any byte below some folders."""
    content = b"\n".join(map(read_bytes, folders))
    return [text for text in CANARIES if text.encode() in content]
