"""Ids stand in addresses, so their length has a limit, whichever way a record comes in."""

from __future__ import annotations

from pathlib import Path

import pytest

from loaders.pipeline import load_paths
from ontology.errors import FindingsError
from ontology.live.live_graph import LiveGraph
from ontology.model.columns import LONGEST_ID


def load(folder: Path, competency_id: str, assessor: str = "") -> LiveGraph:
    """Load tables with one competency and one assessment of it."""
    tables = {
        "scales": "scale,rank,label\ns,1,One\n",
        "competencies": f"id,label,scale\n{competency_id},C,s\n",
        "teams": "id,label\nt,T\n",
        "roles": "id,label\nr,R\n",
        "people": "id,name,team,role\np,P,t,r\n",
        "assessments": "person,competency,level,date,source,assessor\n"
        f"p,{competency_id},1,2026-01-05,assessor,{assessor}\n",
    }
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    graph = LiveGraph.in_memory()
    load_paths(graph, [folder])
    return graph


def test_longest_id_and_longest_part_of_one_are_stored(tmp_path: Path) -> None:
    graph = load(tmp_path, "c" * LONGEST_ID, "a" * LONGEST_ID)
    assert "c" * LONGEST_ID in graph.get_snapshot().competencies


@pytest.mark.parametrize(("competency_id", "assessor"), [("c" * (LONGEST_ID + 1), "a"), ("c", "a" * (LONGEST_ID + 1))])
def test_longer_ones_are_refused_with_what_would_be_right(tmp_path: Path, competency_id: str, assessor: str) -> None:
    with pytest.raises(FindingsError) as error:
        load(tmp_path, competency_id, assessor)
    assert any(f"at most {LONGEST_ID} characters long" in finding.reason for finding in error.value.findings)
