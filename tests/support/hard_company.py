"""A company whose questions cannot be answered in any time a caller waits: a covering problem of many courses.

Every role asks for most of the competencies, and every course teaches a few: the cheapest set is a set cover, which is
NP-hard (Karp, "Reducibility among combinatorial problems", in Complexity of Computer Computations, 1972).
"""

from __future__ import annotations

import random
from typing import Any

from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

COMPETENCIES = 80
COURSES = 160
TAUGHT = 8
ROLES = 6
PEOPLE = 24


def build_hard_company(seed: int = 1) -> LiveGraph:
    """Return the company in memory."""
    rng = random.Random(seed)
    asked = range(COMPETENCIES)
    rows: dict[str, list[dict[str, Any]]] = {
        "scales": [{"scale": "s", "rank": rank, "label": str(rank)} for rank in (1, 2)],
        "competencies": [{"id": f"c{i}", "label": f"Competency {i}", "scale": "s"} for i in asked],
        "roles": [{"id": f"r{k}", "label": f"Role {k}"} for k in range(ROLES)],
        "requirements": [
            {"role": f"r{k}", "competency": f"c{i}", "level": 1 + (k + i) % 2, "entry_level": 1}
            for k in range(ROLES)
            for i in asked
            if k == 0 or rng.random() < 0.8
        ],
        "courses": [
            {"id": f"k{i}", "label": f"Course {i}", "hours": float(rng.randint(50, 100))} for i in range(COURSES)
        ],
        "outcomes": [
            {"course": f"k{i}", "competency": f"c{c}", "level": rng.choice((1, 2))}
            for i in range(COURSES)
            for c in rng.sample(asked, TAUGHT)
        ],
        "teams": [{"id": "t", "label": "Team"}],
        "people": [{"id": f"p{i}", "name": f"Person {i}", "team": "t"} for i in range(PEOPLE)],
        "cover_needs": [{"team": "t", "competency": f"c{i}", "level": 1, "target": PEOPLE // 3} for i in asked],
    }
    graph = LiveGraph.in_memory()
    records = {name: [TABLES[name].build(**row) for row in listed] for name, listed in rows.items()}
    graph.load(records, who="test", why="a hard company")
    return graph
