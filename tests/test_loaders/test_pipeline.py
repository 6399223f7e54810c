"""The way from paths to one commit: addresses, all or nothing, and the sound rest when asked."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from companies import build_company

from loaders.pipeline import guess_kind, load_paths
from loaders.tables.table_writers import export_csv
from ontology.errors import FileFormatError, Finding, FindingsError, InputError
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

BASE = {
    "scales": "scale,rank,label\ns,1,One\ns,2,Two\n",
    "competencies": "id,label,scale,kind,validity_months\nc,C,s,,\nz,Z,s,certificate,12\n",
    "roles": "id,label\nr,R\n",
    "requirements": "role,competency,level\nr,c,2\n",
    "people": "id,name\np,Person One\n",
}


def write(folder: Path, **tables: str) -> Path:
    for name, text in (BASE | tables).items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def load_errors(folder: Path) -> list[Finding]:
    graph = LiveGraph.in_memory()
    with pytest.raises(FindingsError) as caught:
        load_paths(graph, [folder])
    assert graph.store.revision == 0
    assert not graph.get_snapshot().roles
    return [finding for finding in caught.value.findings if finding.severity == "error"]


def test_a_sound_folder_is_stored_in_one_revision(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    report = load_paths(graph, [write(tmp_path)])
    assert (report.revision, report.is_stored) == (1, True)
    assert report.counts == {"scales": 2, "competencies": 2, "roles": 1, "requirements": 1, "people": 1}


@pytest.mark.parametrize(
    ("table", "text", "row", "column", "value"),
    [
        ("requirements", "role,competency,level\nr,c,2\nr,nothing,1\n", 3, "competency", "nothing"),
        ("requirements", "role,competency,level\nnobody,c,2\n", 2, "role", "nobody"),
        ("requirements", "role,competency,level\nr,c,3\n", 2, "level", "3"),
        ("requirements", "role,competency,level,entry_level\nr,c,1,2\n", 2, "entry_level", "2"),
        ("requirements", "role,competency,level,unsupervised_level\nr,c,1,2\n", 2, "unsupervised_level", "2"),
        ("people", "id,name,team\np,Person One,t9\n", 2, "team", "t9"),
        ("people", "id,name,role\np,Person One,r9\n", 2, "role", "r9"),
        ("competencies", "id,label,scale\nc,C,other\n", 2, "scale", "other"),
        ("competencies", "id,label,scale,broader\nc,C,s,nowhere\n", 2, "broader", "nowhere"),
        ("scales", "scale,rank,label\ns,1,One\ns,3,Three\n", 3, "rank", "3"),
    ],
)
def test_what_hangs_on_other_rows_is_addressed_with_file_row_column_and_value(
    tmp_path: Path, table: str, text: str, row: int, column: str, value: str
) -> None:
    errors = load_errors(write(tmp_path, **{table: text}))
    found = [(f.source, f.row, f.column, f.value) for f in errors]
    assert (f"{table}.csv", row, column, value) in found


def test_a_cover_need_below_its_minimum_is_an_error(tmp_path: Path) -> None:
    errors = load_errors(
        write(
            tmp_path,
            teams="id,label\nt,T\n",
            cover_needs="team,competency,level,minimum,target\nt,c,1,3,2\n",
        )
    )
    assert [(f.source, f.row, f.column) for f in errors] == [("cover_needs.csv", 2, "target")]


def test_a_faulty_row_gives_one_error_and_no_others_for_those_who_refer_to_it(tmp_path: Path) -> None:
    errors = load_errors(write(tmp_path, competencies="id,label,scale,validity_months\nc,C,s,many\n"))
    assert [(f.source, f.row, f.column, f.value) for f in errors] == [
        ("competencies.csv", 2, "validity_months", "many")
    ]


def test_faults_of_rows_and_of_the_whole_are_reported_together(tmp_path: Path) -> None:
    errors = load_errors(
        write(tmp_path, roles="id,label\nr,R\n!,X\n", requirements="role,competency,level\nr,nothing,1\n")
    )
    assert [(f.source, f.row) for f in errors] == [("requirements.csv", 2), ("roles.csv", 3)]


def test_skipping_faulty_rows_stores_the_sound_rest(tmp_path: Path) -> None:
    folder = write(
        tmp_path,
        competencies="id,label,scale,validity_months\nc,C,s,\nd,D,s,many\n",
        requirements="role,competency,level\nr,c,2\nr,d,1\n",
    )
    graph = LiveGraph.in_memory()
    report = load_paths(graph, [folder], skip_faulty=True)
    assert report.is_stored
    assert set(graph.get_snapshot().competencies) == {"c"}
    assert list(graph.get_snapshot().get_table("requirements")) == [("r", "c")]
    assert report.n_skipped == 2
    assert any(f.severity == "error" and f.source == "competencies.csv" for f in report.findings)


def test_a_trial_reports_and_stores_nothing(tmp_path: Path) -> None:
    graph = LiveGraph.in_memory()
    report = load_paths(graph, [write(tmp_path)], is_trial=True)
    assert not report.is_stored
    assert graph.store.revision == 0


def test_an_id_may_stand_in_another_path_or_in_the_store_already(tmp_path: Path) -> None:
    base, more = tmp_path / "a", tmp_path / "b"
    base.mkdir()
    more.mkdir()
    write(base)
    (more / "requirements.csv").write_text("role,competency,level\nr,z,1\n", encoding="utf-8")
    graph = LiveGraph.in_memory()
    load_paths(graph, [more, base])
    assert len(graph.get_snapshot().get_requirements("r")) == 2
    again = LiveGraph.in_memory()
    load_paths(again, [base])
    load_paths(again, [more])
    assert again.get_snapshot() == graph.get_snapshot()


def test_the_last_valid_day_is_written_in_when_the_record_is_made(tmp_path: Path) -> None:
    folder = write(tmp_path, assessments="person,competency,level,date,source\np,z,1,2026-01-31,certificate\n")
    graph = LiveGraph.in_memory()
    load_paths(graph, [folder])
    (assessment,) = graph.get_snapshot().get_assessments("p", "z")
    assert assessment.valid_until == date(2027, 1, 31)
    assert ('"2027-01-31"^^<http://www.w3.org/2001/XMLSchema#date>') in {
        quad[3] for quad in graph.store.read_graph("https://newel.example/graph/people")
    }


def test_a_load_with_mostly_unstated_sources_says_so_first(tmp_path: Path) -> None:
    text = "person,competency,level,date,source\np,c,1,2026-01-01,\np,c,1,2026-01-02,\np,c,1,2026-01-03,manager\n"
    report = load_paths(LiveGraph.in_memory(), [write(tmp_path, assessments=text)])
    assert report.notices
    assert "2 of 3" in report.notices[0]
    half = "person,competency,level,date,source\np,c,1,2026-01-01,\np,c,1,2026-01-03,manager\n"
    assert load_paths(LiveGraph.in_memory(), [write(tmp_path, assessments=half)]).notices == ()


def test_remarks_are_reported_and_stored_past(tmp_path: Path) -> None:
    folder = write(tmp_path, people="id,name\nAnna,Anna\n", roles="id,label\nr,R\nempty,E\n")
    report = load_paths(LiveGraph.in_memory(), [folder])
    remarks = {(f.source, f.row) for f in report.findings if f.severity == "remark"}
    assert ("people.csv", 2) in remarks
    assert ("roles.csv", 3) in remarks
    assert report.is_stored


def test_the_kind_is_guessed_from_the_name(tmp_path: Path) -> None:
    for name, kind in [("a.xlsx", "workbook"), ("a.csv", "csv"), ("a.ttl", "linked-data"), ("a.jsonld", "linked-data")]:
        (tmp_path / name).write_text("x")
        assert guess_kind(tmp_path / name) == kind
    assert guess_kind(tmp_path) == "csv"
    (tmp_path / "a.doc").write_text("x")
    with pytest.raises(FileFormatError, match="cannot be loaded"):
        guess_kind(tmp_path / "a.doc")
    with pytest.raises(FileFormatError, match="no file or folder"):
        guess_kind(tmp_path / "none.csv")
    with pytest.raises(InputError, match="not a kind of input"):
        load_paths(LiveGraph.in_memory(), [tmp_path], kind="magic")


@pytest.mark.parametrize("seed", range(3))
def test_a_company_exported_and_loaded_is_the_same_graph(seed: int, tmp_path: Path) -> None:
    first = LiveGraph.in_memory()
    first.load(build_company(seed), who="t", why="w")
    export_csv(first.get_snapshot(), tmp_path)
    second = LiveGraph.in_memory()
    load_paths(second, [tmp_path])
    assert set(second.store.read_graph("https://newel.example/graph/framework")) == set(
        first.store.read_graph("https://newel.example/graph/framework")
    )
    assert Snapshot({k: list(second.get_snapshot().get_table(k).values()) for k in ("roles", "courses", "teams")}) == (
        Snapshot({k: list(first.get_snapshot().get_table(k).values()) for k in ("roles", "courses", "teams")})
    )


def test_a_validity_beyond_the_calendar_is_an_error_of_its_row(tmp_path: Path) -> None:
    errors = load_errors(
        write(
            tmp_path,
            competencies="id,label,scale,kind,validity_months\nc,C,s,,\nz,Z,s,certificate,99999\n",
            assessments="person,competency,level,date,source\np,z,1,2026-01-31,certificate\n",
        )
    )
    assert [(f.source, f.row, f.column, f.value) for f in errors] == [("assessments.csv", 2, "valid_until", "99999")]


def test_a_role_whose_only_requirement_is_faulty_is_not_remarked_as_empty(tmp_path: Path) -> None:
    folder = write(tmp_path, requirements="role,competency,level,weight\nr,c,2,0\n")
    report = load_paths(LiveGraph.in_memory(), [folder], skip_faulty=True)
    assert [(f.severity, f.source) for f in report.findings if "requirement" in f.reason or f.column == "weight"] == [
        ("error", "requirements.csv")
    ]


def test_level_0_says_none_on_the_first_day_and_assessed_below_level_1(tmp_path: Path) -> None:
    folder = write(
        tmp_path,
        requirements="role,competency,level,entry_level,unsupervised_level\nr,c,2,0,0\n",
        assessments="person,competency,level,date,source\np,c,0,2026-01-31,assessor\n",
    )
    graph = LiveGraph.in_memory()
    load_paths(graph, [folder])
    assert graph.get_snapshot().get_requirements("r")[0].entry_level == 0
    assert graph.get_snapshot().get_assessments("p", "c")[0].level == 0
    errors = load_errors(write(tmp_path, requirements="role,competency,level\nr,c,0\n"))
    assert [(f.row, f.column, f.value) for f in errors] == [(2, "level", "0")]
