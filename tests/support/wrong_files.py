"""Files that cannot be loaded, one kind of fault each, and what the program must say of it."""

from __future__ import annotations

import os
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from workbook_parts import SHEET, build_sheet, replace_parts, write_sheet

from ontology.rdf import namespaces as ns

#: Turtle, RDF/XML and JSON-LD of nothing but one statement, to be broken.
RDF_XML = f'<rdf:RDF xmlns:rdf="{ns.RDF}"><rdf:Description rdf:about="urn:a"/></rdf:RDF>'
BOMB = '<!DOCTYPE r [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;">]>\n'
OUTSIDE = '<!DOCTYPE r [\n<!ENTITY x SYSTEM "file:///etc/hostname">]>\n'


@dataclass(frozen=True)
class Case:
    """`make` writes the file into a folder and returns what is to be loaded.

    `address` begins the one line that is printed for the fault, `words` stand in it. Without an address the fault is
    of the file as a whole, told on standard error.
    """

    name: str
    make: Callable[[Path], Path]
    address: str
    words: str
    code: int = 1


def text(name: str, content: str) -> Callable[[Path], Path]:
    return raw(name, content.encode())


def raw(name: str, content: bytes) -> Callable[[Path], Path]:
    def make(folder: Path) -> Path:
        (folder / name).write_bytes(content)
        return folder / name

    return make


def sheet(rows: list[list[object]], table: str = "teams") -> Callable[[Path], Path]:
    return lambda folder: write_sheet(folder / "book.xlsx", rows, table)


def cells(elements: str) -> Callable[[Path], Path]:
    """A sheet of teams with a header, and this as its second row."""
    header = "".join(f'<c t="inlineStr"><is><t>{name}</t></is></c>' for name in ("id", "label", "part_of"))
    part = build_sheet(f'<row r="1">{header}</row><row r="2">{elements}</row>')
    return lambda folder: replace_parts(write_sheet(folder / "book.xlsx", [["x"]]), {SHEET: part})


def _half_a_workbook(folder: Path) -> Path:
    path = write_sheet(folder / "book.xlsx", [["id", "label"], ["t", "T"]])
    path.write_bytes(path.read_bytes()[:2_000])
    return path


def _another_document(folder: Path) -> Path:
    with zipfile.ZipFile(folder / "book.xlsx", "w") as archive:
        relation = '<Relationship Id="r" Type="x/officeDocument" Target="word/document.xml"/>'
        archive.writestr("_rels/.rels", f"<Relationships>{relation}</Relationships>")
        archive.writestr("word/document.xml", "<document/>")
    return folder / "book.xlsx"


def _plain_zip(folder: Path) -> Path:
    with zipfile.ZipFile(folder / "book.xlsx", "w") as archive:
        archive.writestr("a.txt", "x")
    return folder / "book.xlsx"


def _folder(name: str) -> Callable[[Path], Path]:
    def make(folder: Path) -> Path:
        (folder / name).mkdir()
        return folder / name

    return make


def _pipe(folder: Path) -> Path:
    os.mkfifo(folder / "teams.csv")
    return folder / "teams.csv"


def _pipe_in_folder(folder: Path) -> Path:
    (folder / "in").mkdir()
    _pipe(folder / "in")
    return folder / "in"


def _loop(folder: Path) -> Path:
    (folder / "a.csv").symlink_to(folder / "b.csv")
    (folder / "b.csv").symlink_to(folder / "a.csv")
    return folder / "a.csv"


def _odd_name(folder: Path) -> Path:
    path = Path(os.fsdecode(os.fsencode(folder) + b"/in"))
    path.mkdir()
    (path / os.fsdecode(b"wages\xff\x1b[31m.csv")).write_text("id\n")
    return path


def _twice(folder: Path) -> Path:
    (folder / "in").mkdir()
    (folder / "in" / "cover-needs.csv").write_text("team,competency,level\n")
    (folder / "in" / "cover_needs.CSV").write_text("team,competency,level\n")
    return folder / "in"


def _in_folder(**tables: str) -> Callable[[Path], Path]:
    def make(folder: Path) -> Path:
        (folder / "in").mkdir()
        for name, content in tables.items():
            (folder / "in" / f"{name}.csv").write_text(content, encoding="utf-8")
        return folder / "in"

    return make


TABLE_CASES = [
    Case("missing required column", text("teams.csv", "id\nt\n"), "teams.csv, row 1, label", "column is missing"),
    Case(
        "unknown column", text("teams.csv", "id,label,colour\nt,T,red\n"), "teams.csv, row 1, colour", "unknown column"
    ),
    Case("refused column", text("people.csv", "id,name,gender\np,P,x\n"), "people.csv, row 1, gender", "refused: sex"),
    Case("column twice", text("teams.csv", "id,label,label\nt,T,T\n"), "teams.csv, row 1, label", "twice"),
    Case("semicolons", text("teams.csv", "id;label\nt;T\n"), "teams.csv, row 1", "comma"),
    Case(
        "unknown id",
        text("requirements.csv", "role,competency,level\nr,none,1\n"),
        "requirements.csv, row 2, competency",
        "('none')",
    ),
    Case(
        "level outside",
        text("requirements.csv", "role,competency,level\nr,c,1\nr,z,7\n"),
        "requirements.csv, row 3, level",
        "levels are 1 to 2",
    ),
    Case("duplicate", text("teams.csv", "id,label\nt,T\nu,U\nt,T\n"), "teams.csv, row 4", "duplicate of row 2"),
    Case(
        "bad date",
        text("absences.csv", "person,from,to\np,2026-01-01,31.1.2026\n"),
        "absences.csv, row 2, to",
        "2026-11-24",
    ),
    Case(
        "no such day",
        text("absences.csv", "person,from,to\np,2026-02-30,2026-03-01\n"),
        "absences.csv, row 2, from",
        "calendar",
    ),
    Case("bad number", text("courses.csv", 'id,label,hours\nk,K,"7,5"\n'), "courses.csv, row 2, hours", "with a point"),
    Case("empty required", text("teams.csv", "id,label\nt,\n"), "teams.csv, row 2, label", "must not be empty"),
    Case(
        "not UTF-8", raw("teams.csv", "id,label\nt,K\nu,Köln\n".encode("latin-1")), "teams.csv, row 3", "byte 17 (0xf6)"
    ),
    Case("UTF-16", raw("teams.csv", "id,label\nt,T\n".encode("utf-16")), "teams.csv, row 1", "not UTF-8"),
    Case("zero bytes", raw("teams.csv", b"id,label\nt,T\0\n"), "teams.csv, row 2", "zero byte"),
    Case("control character", text("teams.csv", "id,label\nt,T\x1b[31m\n"), "teams.csv, row 2, label", "U+001B"),
    Case("error value in CSV", text("teams.csv", "id,label\nt,#REF!\n"), "teams.csv, row 2, label", "failed formula"),
    Case("open quote", text("teams.csv", 'id,label\nt,T\nu,"U\nv,V\n'), "teams.csv, row 3", "not a CSV row"),
    Case("too many cells", text("teams.csv", "id,label\nt,T,,x\n"), "teams.csv, row 2", "more cells"),
    Case("empty file", text("teams.csv", ""), "teams.csv, row 1", "header row is missing"),
    Case("only blanks", text("teams.csv", "\n\n,,\n"), "teams.csv, row 1", "header row is missing"),
    Case(
        "header in another row",
        text("teams.csv", "Our teams,\n,\nid,label\nt,T\n"),
        "teams.csv, row 3",
        "must be row 1",
    ),
    Case("unknown table", text("wages.csv", "person,amount\n"), "wages.csv", "no table has this name"),
    Case("a table twice", _twice, "cover_needs.CSV", "put them together"),
    Case("name of the file not printable", _odd_name, "wages", "no table has this name"),
    Case("id in no table", _in_folder(places="id,team,role\nx,nowhere,r\n"), "places.csv, row 2, team", "('nowhere')"),
    Case(
        "merged header",
        sheet([["Teams of the works", None], ["id", "label"], ["t", "T"]]),
        "book.xlsx, sheet teams, row 2",
        "must be row 1",
    ),
    Case(
        "blank header",
        sheet([["id", None, "label"], ["t", "x", "T"]]),
        "book.xlsx, sheet teams, row 1",
        "has no name",
    ),
    Case("unknown sheet", sheet([["id"]], "Sheet1"), "book.xlsx, sheet Sheet1", "no table has this name"),
    Case(
        "error cell",
        cells('<c t="inlineStr"><is><t>t</t></is></c><c t="e"><f>A9</f><v>#REF!</v></c>'),
        "book.xlsx, sheet teams, row 2, label",
        "('#REF!')",
    ),
    Case(
        "formula never computed",
        cells('<c t="inlineStr"><is><t>t</t></is></c><c t="inlineStr"><is><t>T</t></is></c><c><f>A9</f></c>'),
        "book.xlsx, sheet teams, row 2, part_of",
        "never computed",
    ),
]

FILE_CASES = [
    Case("half a zip", _half_a_workbook, "", "book.xlsx is damaged or not a workbook"),
    Case("a renamed text", text("book.xlsx", "id,label\n"), "", "book.xlsx is damaged or not a workbook"),
    Case("an empty workbook", text("book.xlsx", ""), "", "book.xlsx is damaged or not a workbook"),
    Case("a plain zip", _plain_zip, "", "but not a workbook"),
    Case("another document", _another_document, "", "an office document, but not a workbook"),
    Case("a password", raw("book.xlsx", bytes.fromhex("D0CF11E0A1B11AE1") + b"\0" * 504), "", "without a password"),
    Case("another spreadsheet", text("book.ods", "x"), "", "save it as .xlsx"),
    Case("another kind", text("book.pdf", "x"), "", "cannot be loaded"),
    Case("a folder without tables", _folder("in"), "", "holds no CSV table"),
    Case("a folder as a workbook", _folder("book.xlsx"), "", "holds no CSV table"),
    Case("nothing there", lambda folder: folder / "none.csv", "", "There is no file or folder"),
    Case("a file as a folder", lambda folder: raw("a", b"")(folder) / "b.csv", "", "There is no file or folder"),
    Case("a pipe", _pipe, "", "teams.csv is not a file"),
    Case("a pipe in a folder", _pipe_in_folder, "", "teams.csv is not a file"),
    Case("a loop of links", _loop, "", "a.csv cannot be read"),
    Case("a name too long", lambda folder: folder / f"{'x' * 300}.csv", "", "cannot be read"),
    Case(
        "linked data that is too alike",
        text(
            "a.nt",
            "".join(f"_:a{n} <urn:p> _:b{n} .\n_:b{n} <urn:p> _:a{n} .\n" for n in range(2))
            + "".join(f"_:c{i} <urn:p> _:c{j} .\n" for i in range(12) for j in range(12) if i != j),
        ),
        "",
        "too alike",
    ),
]

LINKED_CASES = [
    Case("Turtle", text("a.ttl", "<urn:a> <urn:b> <urn:c> .\n\n<urn:a> <urn:b> .\n"), "a.ttl, row 3", "bad syntax"),
    Case("TriG", text("a.trig", "<urn:g> {\n <urn:a> <urn:b>\n}\n"), "a.trig, row 2", "bad syntax"),
    Case("N-Triples", text("a.nt", "<urn:a> <urn:b> <urn:c> .\n<urn:a> <urn:b> <urn:c\n"), "a.nt, row 2", "bad syntax"),
    Case("N-Quads", text("a.nq", "<urn:a> <urn:b> <urn:c> <urn:g> .\n<urn:a> b .\n"), "a.nq, row 2", "bad syntax"),
    Case("JSON-LD", text("a.jsonld", '{"@id": "urn:a",\n "http://p/": }'), "a.jsonld, row 2", "bad JSON"),
    Case(
        "JSON-LD elsewhere",
        text("a.jsonld", '{"@context":\n "http://c.example/c"}'),
        "a.jsonld, row 2",
        "nothing is fetched",
    ),
    Case("JSON-LD too deep", text("a.jsonld", "[" * 300 + "]" * 300), "a.jsonld", "more than 200 deep"),
    Case("RDF/XML", text("a.rdf", f"{RDF_XML[:-10]}\n<a>"), "a.rdf, row 2", "bad XML"),
    Case("RDF/XML bomb", text("a.rdf", f"\n{BOMB}{RDF_XML}"[1:]), "a.rdf, row 1", "declares an entity"),
    Case("RDF/XML external entity", text("a.rdf", OUTSIDE + RDF_XML), "a.rdf, row 2", "declares an entity"),
    Case(
        "RDF/XML external type",
        text("a.rdf", f'<!DOCTYPE r SYSTEM "http://d.example/">\n{RDF_XML}'),
        "a.rdf, row 1",
        "nothing is fetched",
    ),
    Case("no statements", text("a.ttl", "# nothing\n"), "a.ttl", "holds no statements"),
    Case("not UTF-8", raw("a.ttl", b'# first\n<urn:a> <urn:b> "\xe9" .'), "a.ttl, row 2", "not UTF-8"),
    Case(
        "no such term", text("a.ttl", f"<urn:a> a <{ns.NW}Rolle> ."), "a.ttl, nw:Rolle", "not a term of our vocabulary"
    ),
    Case(
        "refused property",
        text("a.ttl", f'<{ns.ID}person/p> a <{ns.NW}Person> ; <{ns.SCHEMA}name> "P" ; <{ns.SCHEMA}gender> "x" .'),
        "a.ttl, schema:gender",
        "refused",
    ),
    Case(
        "unknown id",
        text(
            "a.ttl",
            f"<{ns.ID}requirement/r~none> a <{ns.NW}Requirement> ; <{ns.NW}role> <{ns.ID}role/r> ; "
            f"<{ns.NW}competency> <{ns.ID}competency/none> ; <{ns.NW}level> 1 .",
        ),
        "a.ttl, competency",
        "('none')",
    ),
    Case(
        "control character",
        text("a.ttl", f'<{ns.ID}team/t> a <{ns.NW}Team> ; <{ns.SKOS}prefLabel> "a\\u0001" .'),
        "a.ttl, label",
        "U+0001",
    ),
]
