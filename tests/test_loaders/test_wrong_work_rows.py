"""A wrong row in a table of the weekly work: one error with its file, row and column, and nothing is stored."""

from __future__ import annotations

from pathlib import Path

import pytest

from loaders.pipeline import load_paths
from ontology.errors import FindingsError
from ontology.live.live_graph import LiveGraph

SOUND = {
    "scales": "scale,rank,label\ns,1,One\ns,2,Two\n",
    "competencies": "id,label,scale,holds_while\nc,C,s,\nz,Z,s,\n",
    "roles": "id,label\nr,R\n",
    "sites": "id,label\nyard,Yard\n",
    "teams": "id,label,site\nt,T,yard\nu,U,yard\n",
    "shifts": "id,team,label\nday,t,Day\n",
    "people": "id,name,team\np,Person One,t\n",
    "places": "id,team,role\npost,t,r\n",
    "courses": "id,label,hours,pass_share\nk,K,4,\n",
    "outcomes": "course,competency,level\nk,c,1\n",
    "assessments": "person,competency,level,date,source,withdrawn_on\np,c,1,2026-01-05,manager,\n",
    "equivalences": "competency,counts_as,level,as_level,from,to\nc,z,1,1,,\n",
    "memberships": "person,from,team,to,shift,kind\np,2026-01-01,u,2026-01-31,,lent\n",
    "duties": "person,place,from,to,supervised_by\np,post,2026-02-02,,\n",
    "appointments": "person,competency,from,to,level\np,c,2026-02-02,,\n",
    "practices": "person,competency,date,count\np,c,2026-02-02,1\n",
    "obligations": "id,label,competency,level,rule,of,days_after,from,to\nlaw,Law,c,1,team,t,0,,\n",
    "sessions": "id,course,from,to,seats,state\nk-1,k,2026-03-02,,6,planned\n",
    "bookings": "session,person,state\nk-1,p,booked\n",
    "orientation_items": "id,label,rule,of,competency,level\ntour,Tour,role,r,,\n",
    "orientation_done": "person,item,date\np,tour,2026-01-05\n",
}

CASES = [
    ("memberships", "p,2026-03-09,u,2026-03-01,,lent", "to"),
    ("memberships", "p,2026-01-31,t,,,own", "from"),
    ("memberships", "p,2026-02-01,u,,day,own", "shift"),
    ("memberships", "p,2026-02-01,nowhere,,,own", "team"),
    ("memberships", "p,2026-02-01,u,,,borrowed", "kind"),
    ("memberships", "p,2026-02-31,u,,,own", "from"),
    ("duties", "p,post,2026-02-09,2026-02-08,", "to"),
    ("duties", "p,post,2026-02-09,,p", "supervised_by"),
    ("duties", "p,nowhere,2026-02-09,,", "place"),
    ("appointments", "p,c,2026-02-09,2026-02-08,", "to"),
    ("appointments", "p,c,2026-02-09,,3", "level"),
    ("appointments", "p,c,2026-02-09,,0", "level"),
    ("practices", "p,c,2026-02-09,-1", "count"),
    ("practices", "p,c,2026-02-09,1.5", "count"),
    ("obligations", "o,O,c,3,everyone,,0,,", "level"),
    ("obligations", "o,O,c,1,role,,0,,", "of"),
    ("obligations", "o,O,c,1,place,t,0,,", "of"),
    ("obligations", "o,O,c,1,site,t,0,,", "of"),
    ("obligations", "o,O,c,1,family,t,0,,", "rule"),
    ("obligations", "o,O,c,1,everyone,,-1,,", "days_after"),
    ("obligations", "o,O,c,1,everyone,,0,2026-02-02,2026-02-01", "to"),
    ("sessions", "k-2,k,2026-03-02,2026-03-01,6,planned", "to"),
    ("sessions", "k-2,k,2026-03-02,,0,planned", "seats"),
    ("sessions", "k-2,nowhere,2026-03-02,,6,planned", "course"),
    ("sessions", "k-2,k,2026-03-02,,6,postponed", "state"),
    ("bookings", "k-9,p,booked", "session"),
    ("bookings", "k-1,q,booked", "person"),
    ("orientation_items", "o,O,place,post,,", "rule"),
    ("orientation_items", "o,O,team,r,,", "of"),
    ("orientation_items", "o,O,everyone,,c,3", "level"),
    ("orientation_done", "p,nowhere,2026-01-05", "item"),
    ("equivalences", "c,c,1,1,,", "counts_as"),
    ("equivalences", "z,c,3,1,,", "level"),
    ("equivalences", "z,c,1,3,,", "as_level"),
    ("equivalences", "z,c,1,1,2026-02-02,2026-02-01", "to"),
    ("competencies", "x,X,s,x", "holds_while"),
    ("competencies", "x,X,s,nowhere", "holds_while"),
    ("assessments", "p,z,1,2026-01-05,manager,2026-01-04", "withdrawn_on"),
    ("courses", "l,L,4,1.01", "pass_share"),
    ("teams", "v,V,nowhere", "site"),
]


def write(folder: Path, table: str = "", row: str = "") -> Path:
    for name, text in SOUND.items():
        (folder / f"{name}.csv").write_text(text + (f"{row}\n" if name == table else ""))
    return folder


def test_the_sound_rows_are_stored(tmp_path: Path) -> None:
    report = load_paths(LiveGraph.in_memory(), [write(tmp_path)])
    assert (report.n_skipped, len(report.counts)) == (0, len(SOUND))


@pytest.mark.parametrize(("table", "row", "column"), CASES, ids=[f"{table}-{row}" for table, row, _ in CASES])
def test_a_wrong_row_is_one_error_with_its_address(table: str, row: str, column: str, tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    with pytest.raises(FindingsError) as caught:
        load_paths(graph, [write(tmp_path, table, row)])
    errors = [finding for finding in caught.value.findings if finding.severity == "error"]
    assert [(f.source, f.row, f.column) for f in errors] == [(f"{table}.csv", SOUND[table].count("\n") + 1, column)]
    assert errors[0].reason
    assert graph.get_snapshot().revision == 0
    # the sound rest is stored without it
    report = load_paths(graph, [tmp_path], skip_faulty=True)
    assert report.counts[table] == SOUND[table].count("\n") - 1


def test_two_competencies_that_hang_on_each_other_are_one_error(tmp_path: Path) -> None:
    rows = "x,X,s,y\ny,Y,s,x"
    with pytest.raises(FindingsError) as caught:
        load_paths(LiveGraph.in_memory(), [write(tmp_path, "competencies", rows)])
    (error,) = [finding for finding in caught.value.findings if finding.severity == "error"]
    assert (error.row, error.column, error.value) == (4, "holds_while", "x > y > x")
