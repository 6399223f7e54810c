"""Renewals in their window, loaded: rows by date, what they renew in the store or in the same load."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from loaders.pipeline import load_paths
from ontology.errors import FindingsError
from ontology.live.live_graph import LiveGraph

FRAMEWORK = {
    "scales": "scale,rank,label\ns,1,Held\n",
    "competencies": "id,label,scale,kind,validity_months,renewal_window_months\nc,C,s,certificate,12,3\n",
    "people": "id,name\np,Person One\n",
}
HEAD = "person,competency,level,date,source,valid_until\n"
#: As written: the first certificate, its renewal in the window, and the renewal of that one.
ROWS = {
    "2025-12-20": "p,c,1,2025-12-20,certificate,\n",
    "2026-10-02": "p,c,1,2026-10-02,certificate,\n",
    "2027-12-20": "p,c,1,2027-12-20,certificate,\n",
}
ENDS = {"2025-12-20": "2026-12-20", "2026-10-02": "2027-12-20", "2027-12-20": "2028-12-20"}


def load(graph: LiveGraph, folder: Path, *dates: str, more: str = "", skip_faulty: bool = False) -> None:
    folder.mkdir(exist_ok=True)
    for name, text in FRAMEWORK.items():
        (folder / f"{name}.csv").write_text(text)
    (folder / "assessments.csv").write_text(HEAD + "".join(ROWS[day] for day in dates) + more)
    load_paths(graph, [folder], skip_faulty=skip_faulty)


def get_ends(graph: LiveGraph) -> dict[str, str]:
    return {str(a.date): str(a.valid_until) for a in graph.get_snapshot().get_table("assessments").values()}


@pytest.mark.parametrize("dates", list(permutations(ROWS)))
def test_rows_of_one_load_are_taken_by_date_whatever_their_order(dates: tuple[str, ...], tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    load(graph, tmp_path, *dates)
    assert get_ends(graph) == ENDS
    # what was filled in stays when the same is loaded once more
    load(graph, tmp_path, *dates)
    assert get_ends(graph) == ENDS


def test_the_certificate_that_is_renewed_may_be_in_the_store(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    for day in ROWS:
        load(graph, tmp_path, day)
    assert get_ends(graph) == ENDS


def test_a_row_that_replaces_one_of_the_store_is_the_one_that_is_renewed(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    load(graph, tmp_path, "2025-12-20")
    load(graph, tmp_path, "2026-10-02", more="p,c,1,2025-12-20,certificate,2026-11-30\n")
    assert get_ends(graph) == {"2025-12-20": "2026-11-30", "2026-10-02": "2027-11-30"}


def test_nothing_counts_from_a_row_that_is_left_out(tmp_path: Path) -> None:
    faulty = "p,c,1,2025-12-01,certificate,2025-01-01\n"  # ends before it begins
    sound = LiveGraph.in_memory()
    load(sound, tmp_path, "2026-10-02", more=faulty, skip_faulty=True)
    assert get_ends(sound) == {"2026-10-02": "2027-10-02"}
    beyond = "p,c,2,2025-12-20,certificate,2026-12-20\np,c,1,2026-01-05,certificate,2026-12-31\n"
    graph = LiveGraph.in_memory()
    load(graph, tmp_path, "2026-10-02", more=beyond, skip_faulty=True)
    assert get_ends(graph) == {"2026-01-05": "2026-12-31", "2026-10-02": "2027-12-31"}
    gone = "q,c,1,2025-12-20,certificate,\nq,c,1,2026-10-02,certificate,\n"
    load(graph, tmp_path, more=gone, skip_faulty=True)
    assert len(get_ends(graph)) == 2


def test_a_row_left_out_for_another_fault_leaves_the_renewal_with_its_own_date(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    faulty = "person,competency,level,date,source,valid_until,assessor\np,c,1,2025-12-20,certificate,,p\n"
    load(graph, tmp_path, "2026-10-02")
    (tmp_path / "assessments.csv").write_text(faulty + "p,c,1,2026-10-02,certificate,,\n")
    with pytest.raises(FindingsError):
        load_paths(graph, [tmp_path])
    load_paths(graph, [tmp_path], skip_faulty=True)
    assert get_ends(graph) == {"2026-10-02": "2027-10-02"}


def test_a_renewal_past_the_end_of_the_calendar_is_an_error_with_its_row(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    rows = "p,c,1,9998-12-20,certificate,9999-06-01\np,c,1,9999-05-01,certificate,\n"
    with pytest.raises(FindingsError) as caught:
        load(graph, tmp_path, more=rows)
    (finding,) = [f for f in caught.value.findings if f.severity == "error"]
    assert (finding.source, finding.row, finding.column) == ("assessments.csv", 3, "valid_until")
