"""Records of ours in linked data: ids, shapes, terms, what must not be kept of people, what stands beside them."""

from __future__ import annotations

from pathlib import Path

import pytest
from linked_files import load_text, tell

from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns

SCALE = """
@prefix s: <http://acme.example/s#> . @prefix c: <http://acme.example/c/> . @prefix r: <http://acme.example/r/> .
s:lv a nw:Scale , skos:OrderedCollection ; skos:memberList ( s:one s:two ) .
s:one a nw:Level ; nw:scale s:lv ; nw:rank 1 ; skos:prefLabel "Low"@en .
s:two a nw:Level ; nw:scale s:lv ; nw:rank 2 ; skos:prefLabel "High"@en .
"""
REQUIREMENT = f"<{ns.ID}requirement/r~c> a nw:Requirement ; nw:competency <{ns.ID}competency/c> ; nw:role <{ns.ID}"


def test_records_under_iris_of_others_get_ids_and_competencies_keep_their_iri(tmp_path: Path) -> None:
    loaded = load_text(
        tmp_path,
        SCALE
        + """
        c:weld a nw:Competency ; skos:prefLabel "Weld" ; nw:scale s:lv .
        r:1 a nw:Role ; dcterms:identifier "fitter" ; skos:prefLabel "Fitter" .
        [] a nw:Requirement ; nw:role r:1 ; nw:competency c:weld ; nw:level 2 ; nw:weight 4 .
        <urn:note> skos:related c:weld .
        """,
    )
    assert [finding for finding in loaded.findings if finding.severity == "error"] == []
    assert [(level.scale, level.rank, level.label) for level in loaded.records["scales"]] == [
        ("lv", 1, "Low"),
        ("lv", 2, "High"),
    ]
    (competency,) = loaded.records["competencies"]
    assert (competency.id, competency.scale, competency.exact_match) == ("weld", "lv", ("http://acme.example/c/weld",))
    assert loaded.records["roles"][0].id == "fitter"
    assert loaded.records["requirements"] == [
        TABLES["requirements"].build(role="fitter", competency="weld", level=2, weight=4.0)
    ]
    assert loaded.extra == [(ns.GRAPH_FRAMEWORK, "<urn:note>", f"<{ns.SKOS}related>", f"<{ns.ID}competency/weld>")]
    graph = LiveGraph.in_memory()
    assert graph.load(loaded.records, loaded.extra, who="test", why="acme").remarks == ()


def test_tag_of_the_main_language_fills_the_column_and_others_are_translations(tmp_path: Path) -> None:
    loaded = load_text(
        tmp_path,
        SCALE
        + """
        id:role\\/fitter a nw:Role ; nw:family "Trades"@en-GB , "Handwerk"@DE ;
            skos:prefLabel "Fitter" , "Schlosser"@de , "Ajusteur"@fr ; skos:definition "Fits."@en .
        """,
    )
    assert loaded.findings == []
    (role,) = loaded.records["roles"]
    assert (role.label, role.family, role.definition) == ("Fitter", "Trades", "Fits.")
    assert {(row.column, row.language, row.text) for row in loaded.records["translations"]} == {
        ("family", "de", "Handwerk"),
        ("label", "de", "Schlosser"),
        ("label", "fr", "Ajusteur"),
    }
    assert loaded.extra == []


def test_narrower_between_competencies_is_read_as_broader(tmp_path: Path) -> None:
    # SKOS Reference, S25: narrower is the inverse of broader
    text = "".join(
        f'id:competency\\/{name} a nw:Competency ; skos:prefLabel "{name}" ; nw:scale id:scale\\/lv .\n'
        for name in "ab"
    )
    loaded = load_text(tmp_path, text + "id:competency\\/a skos:narrower id:competency\\/b .")
    assert [(c.id, c.broader) for c in loaded.records["competencies"]] == [("a", ()), ("b", ("a",))]


@pytest.mark.parametrize(
    ("statement", "column", "value"),
    [
        ("nw:level 0", "level", "0"),
        ('nw:level "3"', "level", "3"),
        ("nw:level 2 ; nw:level 3", "level", ""),
        ("nw:level 3 ; nw:weight 9", "weight", "9"),
        ('nw:level 3 ; nw:necessity "nice"', "necessity", "nice"),
        ("nw:level 2 ; nw:entryLevel 3", "entry_level", "3"),
        ("skos:note 1", "level", ""),
    ],
)
def test_broken_shape_is_an_error_of_the_file_and_its_record_is_left_out(
    tmp_path: Path, statement: str, column: str, value: str
) -> None:
    text = f"{REQUIREMENT}role/r> ; {statement} ."
    loaded = load_text(tmp_path, text)
    assert ("error", column, value) in tell(loaded)
    assert {finding.source for finding in loaded.findings} == {"file.ttl"}
    assert "requirements" not in loaded.records


@pytest.mark.parametrize(
    ("text", "column"),
    [
        (f'<{ns.ID}role/r> a nw:Role ; skos:prefLabel "R" ; nw:monthsTofull 3 .', "nw:monthsTofull"),
        (f'<{ns.ID}role/r> a nw:Role ; skos:prefLabel "R" ; nw:hours 3 .', "nw:hours"),
        (f'<{ns.ID}role/r> a nw:Rôle ; skos:prefLabel "R" .', "nw:Rôle"),
    ],
)
def test_term_of_ours_that_is_unknown_or_misplaced_is_an_error(tmp_path: Path, text: str, column: str) -> None:
    loaded = load_text(tmp_path, text)
    assert column in {finding.column for finding in loaded.findings if finding.severity == "error"}


@pytest.mark.parametrize(
    ("prefix", "local", "words"),
    [
        ("schema:", "birthDate", "age plays no part"),
        ("schema:", "gender", "sex plays no part"),
        ("schema:", "nationality", "origin plays no part"),
        ("nw:", "absenceReason", "dates are enough"),
        ("schema:", "healthCondition", ""),
    ],
)
def test_what_must_not_be_kept_of_people_is_refused_with_its_reason(
    tmp_path: Path, prefix: str, local: str, words: str
) -> None:
    loaded = load_text(tmp_path, f'<{ns.ID}person/p1> a nw:Person ; schema:name "Ada Quill" ; {prefix}{local} "x" .')
    reasons = [finding.reason for finding in loaded.findings if finding.severity == "error"]
    if words:
        assert any("refused" in reason and words in reason for reason in reasons)
    else:
        assert reasons == []


def test_iri_of_ours_and_properties_must_agree(tmp_path: Path) -> None:
    text = f"{REQUIREMENT}role/other> ; nw:level 2 ."
    loaded = load_text(tmp_path, text)
    assert any("must agree" in finding.reason for finding in loaded.findings)
    assert loaded.records == {}


def test_reference_to_something_else_is_an_error(tmp_path: Path) -> None:
    text = f"{REQUIREMENT}team/r> ; nw:level 2 ."
    assert ("error", "role", "team/r") in tell(load_text(tmp_path, text))


def test_two_records_with_one_key_are_told(tmp_path: Path) -> None:
    text = '<http://a.example/x> a nw:Role ; skos:prefLabel "A" . <http://b.example/x> a nw:Role ; skos:prefLabel "B" .'
    loaded = load_text(tmp_path, text)
    assert any("second record with the key x" in finding.reason for finding in loaded.findings)
    assert len(loaded.records["roles"]) == 1


def test_list_of_a_scale_must_be_in_the_order_of_ranks(tmp_path: Path) -> None:
    text = SCALE.replace("( s:one s:two )", "( s:two s:one )")
    assert ("error", "skos:memberList", "2, 1") in tell(load_text(tmp_path, text))


def test_statements_about_a_store_are_passed_over_with_a_remark(tmp_path: Path) -> None:
    text = (
        f'<urn:x> <{ns.NW}revision> "7" <{ns.GRAPH_STORE}> .\n'
        f"<urn:a> <urn:b> <urn:c> <{ns.HISTORY}3/people/added> .\n<urn:a> <urn:b> <urn:d> .\n"
    )
    loaded = load_text(tmp_path, text, "dump.nq")
    assert [(f.severity, f.reason[:14]) for f in loaded.findings] == [("remark", "2 statements a")]
    assert loaded.extra == [(ns.GRAPH_FRAMEWORK, "<urn:a>", "<urn:b>", "<urn:d>")]
