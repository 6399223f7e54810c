"""Every limit is kept before memory is spent: named with the file, the limit and the value."""

from __future__ import annotations

import socket
import struct
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from linked_files import load_text
from workbook_parts import SHEET, TEXTS, build_sheet, build_texts, replace_parts, write_sheet

from loaders import limits
from loaders.linked_data import blank_nodes
from loaders.linked_data.blank_nodes import name_blank_nodes
from loaders.open_data.esco import is_esco, load_esco
from loaders.open_data.onet import load_onet
from loaders.open_data.onet_sheets import FILES
from loaders.pipeline import load_path
from loaders.tables.archives import open_archive
from loaders.tables.csv_folder import load_csv_folder
from loaders.tables.table_writers import export_workbook
from loaders.tables.workbook import load_workbook
from ontology.errors import FileFormatError, LimitError
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

MANY = 3_000_000
#: What reading a refused file may take: a few pieces of it, and the parser.
MODEST_BYTES = 24 * 1024 * 1024


def measure_refusal(load: Callable[[], object]) -> tuple[str, int]:
    """Return what a refused load says, and the most bytes that Python took meanwhile."""
    tracemalloc.start()
    try:
        with pytest.raises((LimitError, FileFormatError)) as caught:
            load()
        return caught.value.detail, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


# ---- files and tables ----


@pytest.mark.parametrize("name", ["teams.csv", "a.xlsx", "a.ttl", "a.jsonld", "a.rdf"])
def test_a_file_that_is_too_large_is_refused_unread(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / name).write_bytes(b" " * MANY)
    monkeypatch.setattr(limits, "MAX_FILE_BYTES", 2_000_000)
    detail, peak = measure_refusal(lambda: load_path(tmp_path / name))
    assert (name in detail, "3,000,000" in detail, "2,000,000" in detail) == (True, True, True)
    assert peak < MANY / 3


@pytest.mark.skipif(not Path("/proc/version").is_file(), reason="this system has no files whose size is untold")
def test_a_file_that_holds_more_than_it_says_is_refused() -> None:
    with pytest.raises(FileFormatError, match=r"/proc/version grows while it is read"):
        limits.read_file(Path("/proc/version"))


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_table_may_not_have_more_rows_than_a_sheet(
    kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "MAX_TABLE_ROWS", 3)
    (tmp_path / "teams.csv").write_text("id,label\na,A\nb,B\nc,C\n")
    write_sheet(tmp_path / "a.xlsx", [["id", "label"], ["a", "A"], ["b", "B"], ["c", "C"]])
    with pytest.raises(LimitError, match=r"teams.* has more than 3 rows"):
        load_path(tmp_path / {"csv": "teams.csv", "xlsx": "a.xlsx"}[kind])


def test_a_header_may_not_have_thousands_of_columns(tmp_path: Path) -> None:
    (tmp_path / "teams.csv").write_text(",".join(f"c{n}" for n in range(300)))
    with pytest.raises(LimitError, match=r"teams\.csv has 300 columns; at most 256"):
        load_csv_folder(tmp_path)


def test_a_text_longer_than_a_cell_of_a_spreadsheet_is_an_error_of_its_cell(tmp_path: Path) -> None:
    (tmp_path / "teams.csv").write_text(f"id,label\na,{'x' * 32_768}\nb,{'x' * 32_767}\n")
    loaded = load_csv_folder(tmp_path)
    assert [(f.row, f.column) for f in loaded.findings] == [(2, "label")]
    assert "32,768" in loaded.findings[0].reason
    assert loaded.count() == {"teams": 1}


def test_the_same_limit_holds_for_linked_data(tmp_path: Path) -> None:
    node = '<https://newel.example/id/team/a> a nw:Team ; skos:prefLabel "' + "x" * 32_768 + '" .'
    (finding,) = load_text(tmp_path, node).findings
    assert (finding.severity, finding.column) == ("error", "label")


def test_a_csv_field_beyond_all_measure_is_an_error_of_its_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_CELL_CHARACTERS", 100)
    (tmp_path / "teams.csv").write_text(f"id,label\na,A\nb,{'x' * 101}\n")
    assert [(f.source, f.row) for f in load_csv_folder(tmp_path).findings] == [("teams.csv", 3)]


def test_a_workbook_is_not_written_where_a_text_would_be_left_out(tmp_path: Path) -> None:
    snapshot = Snapshot({"teams": [TABLES["teams"].build(id="t", label="x" * 32_768)]})
    with pytest.raises(FileFormatError, match="teams, label of t: 32,768 characters"):
        export_workbook(snapshot, tmp_path / "a.xlsx")
    assert list(tmp_path.iterdir()) == []


# ---- workbooks that ask for more than they hold ----


def test_one_far_cell_takes_no_grid(tmp_path: Path) -> None:
    rows = '<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["id"]]), {SHEET: build_sheet(rows)})
    assert path.stat().st_size < 6_000
    detail, peak = measure_refusal(lambda: load_workbook(path))
    assert "sheet teams, row 1048576: a cell stands beyond column 256" in detail
    assert peak < MODEST_BYTES


def test_one_long_text_shared_by_many_cells_is_refused_before_it_is_copied(tmp_path: Path) -> None:
    cells = '<row><c t="inlineStr"><is><t>id</t></is></c><c t="inlineStr"><is><t>label</t></is></c></row>'
    cells += '<row><c t="s"><v>0</v></c><c t="s"><v>0</v></c></row>' * 2_000
    path = write_sheet(tmp_path / "a.xlsx", [["x"]])
    replace_parts(path, {SHEET: build_sheet(cells), TEXTS: build_texts("a" * 1_000_000)})
    detail, peak = measure_refusal(lambda: load_workbook(path))
    assert "its cells hold more than" in detail
    assert peak < MODEST_BYTES


def test_a_part_that_unpacks_to_too_much_is_refused_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["x"]]), {SHEET: build_sheet(" " * 30_000_000)})
    detail, peak = measure_refusal(lambda: load_workbook(path))
    assert "250 times" in detail
    assert peak < MODEST_BYTES
    monkeypatch.setattr(limits, "MAX_EXPANSION", 10_000)
    monkeypatch.setattr(limits, "MAX_UNPACKED_BYTES", 20_000_000)
    detail, peak = measure_refusal(lambda: load_workbook(path))
    assert "20,000,000" in detail
    assert peak < MODEST_BYTES


def test_a_directory_that_lies_about_sizes_unpacks_to_no_more_than_it_says(tmp_path: Path) -> None:
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["x"]]), {SHEET: build_sheet(" " * 30_000_000)})
    data = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as archive:
        size = archive.getinfo(SHEET).file_size
    old, new = struct.pack("<I", size), struct.pack("<I", 1_000)
    assert data.count(old) == 2
    path.write_bytes(bytes(data).replace(old, new))
    detail, peak = measure_refusal(lambda: load_workbook(path))
    assert "a.xlsx is not a readable workbook" in detail
    assert peak < MODEST_BYTES


def test_a_cell_without_end_is_refused_where_it_grows_too_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_CELL_CHARACTERS", 1_000)
    rows = f'<row r="7"><c t="inlineStr"><is><t>{"x " * 1_000}</t></is></c></row>'
    path = replace_parts(write_sheet(tmp_path / "a.xlsx", [["x"]]), {SHEET: build_sheet(rows)})
    with pytest.raises(LimitError, match=r"a\.xlsx, sheet teams, row 7: .* 1,000 characters"):
        load_workbook(path)


BOMB = '<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
OUTSIDE = '<!DOCTYPE x SYSTEM "http://fetch.example/x.dtd">'
HERE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize("doctype", [BOMB, OUTSIDE, HERE])
@pytest.mark.parametrize("part", [SHEET, TEXTS, "xl/workbook.xml", "xl/styles.xml", "_rels/.rels"])
def test_document_types_inside_a_workbook_are_refused_and_nothing_is_fetched(
    doctype: str, part: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("something was fetched")

    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    path = write_sheet(tmp_path / "a.xlsx", [["id", "label"], ["t", "T"]])
    replace_parts(path, {part: lambda old: old.replace(b"?>", b"?>" + doctype.encode(), 1)})
    with pytest.raises(FileFormatError, match=r"a\.xlsx .* document type"):
        load_workbook(path)


def test_styles_of_absurd_size_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_SMALL_PART_BYTES", 100)
    with pytest.raises(LimitError, match=r"a\.xlsx: .* has more than 100 bytes"):
        load_workbook(write_sheet(tmp_path / "a.xlsx", [["x"]]))


# ---- containers of open data ----


def test_a_container_of_open_data_keeps_the_same_limits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with zipfile.ZipFile(tmp_path / "ESCO dataset - v9.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("skills_en.csv", b" " * 20_000_000)
    assert is_esco(tmp_path)
    detail, peak = measure_refusal(lambda: load_esco(tmp_path))
    assert "skills_en.csv would unpack to 20,000,000 bytes" in detail
    assert peak < MODEST_BYTES
    monkeypatch.setattr(limits, "MAX_ARCHIVE_FILES", 0)
    with pytest.raises(LimitError, match="at most 0 files"):
        load_esco(tmp_path)


def test_workbooks_of_open_data_keep_the_same_limits(tmp_path: Path) -> None:
    for name in FILES:
        write_sheet(tmp_path / name, [["x"]])
        replace_parts(tmp_path / name, {SHEET: build_sheet(" " * 30_000_000)})
    with pytest.raises(LimitError, match="would unpack to"):
        load_onet(tmp_path)


def test_too_many_files_in_a_container_are_counted_before_they_are_listed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        for number in range(200):
            archive.writestr(f"{number:0100}", b"")
    monkeypatch.setattr(limits, "MAX_ARCHIVE_FILES", 10)
    with pytest.raises(LimitError, match=r"a\.zip has a directory of [0-9,]+ bytes; at most 10 files"):
        open_archive(tmp_path / "a.zip")


@pytest.mark.parametrize("change", ["encrypted", "packed otherwise"])
def test_a_container_that_cannot_be_unpacked_here_says_why(change: str, tmp_path: Path) -> None:
    path = write_sheet(tmp_path / "a.xlsx", [["x"]])
    data = bytearray(path.read_bytes())
    place = data.find(b"PK\x01\x02")
    if change == "encrypted":
        data[place + 8] |= 1
    else:
        data[place + 10] = 97
    path.write_bytes(bytes(data))
    with pytest.raises(
        FileFormatError, match={"encrypted": "is encrypted", "packed otherwise": "not read here"}[change]
    ):
        load_workbook(path)


# ---- linked data ----


def test_json_that_nests_too_deep_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MAX_NESTING", 5)
    deep = '{"urn:p": ' * 6 + '"x"' + "}" * 6
    (finding,) = load_text(tmp_path, deep, "a.jsonld").findings
    assert (finding.severity, finding.source, "more than 5 deep" in finding.reason) == ("error", "a.jsonld", True)
    (tmp_path / "ok").mkdir()
    assert "deep" not in str(
        load_text(tmp_path / "ok", '{"@id": "urn:a", "urn:p:": [{"urn:q:": "x"}]}', "a.jsonld").findings
    )


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.ttl", "".join(f"@prefix p{n}: <urn:{n}#> .\n" for n in range(9)) + "p1:a p2:b p3:c ."),
        ("a.trig", "".join(f"PREFIX p{n}:<urn:{n}#>" for n in range(9)) + " { p1:a p2:b p3:c }"),
        ("a.jsonld", '{"@context": {' + ",".join(f'"p{n}": "urn:{n}#"' for n in range(9)) + '}, "@id": "urn:a"}'),
        ("a.rdf", "<x " + " ".join(f'xmlns:p{n}="urn:{n}#"' for n in range(9)) + "/>"),
    ],
)
def test_thousands_of_prefixes_are_refused(
    name: str, content: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(limits, "MAX_PREFIXES", 8)
    (finding,) = load_text(tmp_path, content, name, prefixed=False).findings
    assert finding.reason == "declares more than 8 prefixes"


def test_a_number_of_a_hundred_million_digits_is_kept_as_it_was_written(tmp_path: Path) -> None:
    tracemalloc.start()
    loaded = load_text(tmp_path, '<urn:a> <urn:b> "1e99999999"^^xsd:decimal .')
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert [quad[3].partition("^^")[0] for quad in loaded.extra] == ['"1e99999999"']
    assert peak < MODEST_BYTES


def test_blank_nodes_that_are_all_alike_do_not_take_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(blank_nodes, "COLOUR_LIMIT", 10_000)
    chain = [(f"_:n{n}", "<urn:p>", f"_:n{n + 1}") for n in range(500)]
    name_blank_nodes(chain[:100])
    with pytest.raises(LimitError, match="too alike"):
        name_blank_nodes(chain)
