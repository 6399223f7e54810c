"""Every collection of records, the same facts for all tables."""

from __future__ import annotations

from typing import Any
from urllib.parse import quote

import pytest
from flask.testing import FlaskClient
from rdflib import Graph
from record_cases import CASES, Case

from api.http.record_schemas import RECORD_SCHEMAS
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES

pytestmark = pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")  # from rdflib itself
every_collection = pytest.mark.parametrize("case", CASES, ids=[case.path for case in CASES])


def create(writer: FlaskClient, case: Case) -> str:
    """Make the case's new record and return its tag."""
    response = writer.post(f"/api/{case.path}", json=case.new)
    assert response.status_code == 201, response.text
    return response.headers["ETag"]


def item(case: Case) -> str:
    """Return the path of the case's new record."""
    return f"/api/{case.path}/{case.new_id}"


def test_the_cases_are_all_tables() -> None:
    assert {case.path.replace("-", "_") for case in CASES} == set(TABLES)


@every_collection
def test_a_made_record_is_read_as_it_was_sent(writer: FlaskClient, case: Case) -> None:
    response = writer.post(f"/api/{case.path}", json=case.new)
    assert response.status_code == 201, response.text
    assert response.headers["Location"] == f"http://localhost{item(case)}"
    read = writer.get(response.headers["Location"])
    assert (read.status_code, read.headers["ETag"]) == (200, response.headers["ETag"])
    assert read.json == response.json
    assert read.data == response.data
    if case.path != "scales":
        assert {name: read.json[name] for name in case.new} == case.new
        assert list(read.json) == [column.name for column in TABLES[case.path.replace("-", "_")].columns]


@every_collection
def test_what_is_read_can_be_put_back(writer: FlaskClient, case: Case, graph: LiveGraph) -> None:
    etag = create(writer, case)
    before = graph.get_snapshot()
    read = writer.get(item(case)).json
    response = writer.put(item(case), json=read, headers={"If-Match": etag})
    assert (response.status_code, response.headers["ETag"]) == (200, etag)
    assert graph.get_snapshot() == before


@every_collection
def test_a_record_that_exists_is_not_made_again(writer: FlaskClient, case: Case) -> None:
    create(writer, case)
    response = writer.post(f"/api/{case.path}", json=case.new)
    assert response.status_code == 409
    assert response.mimetype == "application/problem+json"
    assert case.new_id in response.json["detail"]


@every_collection
def test_put_replaces_everything(writer: FlaskClient, case: Case) -> None:
    etag = create(writer, case)
    response = writer.put(item(case), json=case.replaced, headers={"If-Match": etag})
    assert response.status_code == 200, response.text
    assert response.headers["ETag"] != etag
    assert writer.get(item(case)).json == response.json
    assert writer.delete(item(case), headers={"If-Match": response.headers["ETag"]}).status_code == 204
    made_anew = writer.post(f"/api/{case.path}", json=case.replaced)
    assert (made_anew.json, made_anew.headers["ETag"]) == (response.json, response.headers["ETag"])


@every_collection
def test_put_makes_a_new_record_only_when_told_to(writer: FlaskClient, case: Case) -> None:
    assert writer.put(item(case), json=case.new).status_code == 428
    assert writer.put(item(case), json=case.new, headers={"If-Match": '"x"'}).status_code == 412
    assert writer.get(item(case)).status_code == 404
    response = writer.put(item(case), json=case.new, headers={"If-None-Match": "*"})
    assert response.status_code == 201, response.text
    assert response.headers["Location"].endswith(item(case))
    assert writer.put(item(case), json=case.new, headers={"If-None-Match": "*"}).status_code == 412


@every_collection
def test_a_change_made_for_another_state_is_refused(writer: FlaskClient, case: Case) -> None:
    first = create(writer, case)
    second = writer.put(item(case), json=case.replaced, headers={"If-Match": first}).headers["ETag"]
    for response in (
        writer.put(item(case), json=case.new, headers={"If-Match": first}),
        writer.put(item(case), json=case.new, headers={"If-Match": f"W/{second}"}),
        writer.delete(item(case), headers={"If-Match": first}),
    ):
        assert response.status_code == 412
        assert response.mimetype == "application/problem+json"
    assert writer.put(item(case), json=case.new).status_code == 428
    assert writer.delete(item(case)).status_code == 428
    assert writer.get(item(case)).headers["ETag"] == second
    assert writer.put(item(case), json=case.new, headers={"If-Match": "*"}).status_code == 200


@every_collection
def test_a_removed_record_is_gone(writer: FlaskClient, case: Case, graph: LiveGraph) -> None:
    before = graph.get_snapshot()
    etag = create(writer, case)
    response = writer.delete(item(case), headers={"If-Match": etag})
    assert (response.status_code, response.data) == (204, b"")
    assert writer.get(item(case)).status_code == 410
    assert writer.delete(item(case), headers={"If-Match": etag}).status_code == 404
    assert graph.get_snapshot() == before


@every_collection
def test_a_wrong_value_is_named(writer: FlaskClient, case: Case, graph: LiveGraph) -> None:
    revision = graph.get_snapshot().revision
    response = writer.post(f"/api/{case.path}", json=case.new | case.wrong)
    assert response.status_code == 422
    assert response.mimetype == "application/problem+json"
    assert case.pointer in [entry["pointer"] for entry in response.json["errors"]]
    assert all(entry["reason"] for entry in response.json["errors"])
    assert graph.get_snapshot().revision == revision


@every_collection
def test_an_unknown_member_is_named(writer: FlaskClient, case: Case) -> None:
    response = writer.post(f"/api/{case.path}", json=case.new | {"colour": "red", "Birth-Date": "1990-01-01"})
    assert response.status_code == 422
    reasons = {entry["pointer"]: entry["reason"] for entry in response.json["errors"]}
    assert "not known" in reasons["/colour"]
    assert "age plays no part" in reasons["/Birth-Date"]


@every_collection
def test_a_missing_member_is_named(writer: FlaskClient, case: Case) -> None:
    response = writer.post(f"/api/{case.path}", json={})
    schema = RECORD_SCHEMAS[case.path.replace("-", "_")]
    required = {f"/{name}" for name, member in schema().fields.items() if member.required}
    assert response.status_code == 422
    assert {entry["pointer"] for entry in response.json["errors"]} == (
        {"/id", "/levels"} if case.path == "scales" else required
    )


@every_collection
def test_the_body_must_be_about_the_record_of_the_path(writer: FlaskClient, case: Case) -> None:
    other = {name: "other" if name != "levels" else value for name, value in case.new.items()}
    name = next(iter(case.new))
    response = writer.put(item(case), json=case.new | {name: other[name]}, headers={"If-None-Match": "*"})
    assert response.status_code == 422
    assert [entry["pointer"] for entry in response.json["errors"]] == [f"/{name}"]


@every_collection
def test_a_body_may_leave_out_what_the_path_says(writer: FlaskClient, case: Case) -> None:
    body = {**case.new}
    body.pop(next(iter(case.new)))
    assert writer.put(item(case), json=body, headers={"If-None-Match": "*"}).status_code == 201


@pytest.mark.parametrize(("name", "word"), [("cover-needs", "cover need"), ("scales", "scale"), ("people", "person")])
def test_what_is_wrong_is_called_by_its_word_and_not_by_a_name_of_the_program(
    writer: FlaskClient, name: str, word: str
) -> None:
    told = writer.post(f"/api/{name}", json={"foo": 1}).get_json()
    assert told["detail"].startswith(f"The {word} has ")
    assert {"pointer": "/foo", "value": 1, "reason": "is not known here"} in told["errors"]


@pytest.mark.parametrize("case", [case for case in CASES if case.referred], ids=lambda case: case.path)
def test_a_record_others_refer_to_stays(writer: FlaskClient, case: Case) -> None:
    response = writer.delete(f"/api/{case.path}/{case.referred}", headers={"If-Match": "*"})
    assert response.status_code == 409
    assert case.referrer in response.json["referrers"]
    assert writer.get(f"/api/{case.path}/{case.referred}").status_code == 200


@every_collection
def test_all_three_forms_say_the_same(writer: FlaskClient, case: Case, graph: LiveGraph) -> None:
    tags = {create(writer, case)}
    turtle = writer.get(item(case), headers={"Accept": "text/turtle"})
    linked = writer.get(f"{item(case)}?format=json-ld")
    assert (turtle.mimetype, linked.mimetype) == ("text/turtle", "application/ld+json")
    tags |= {turtle.headers["ETag"], linked.headers["ETag"]}
    assert len(tags) == 3
    graphs = (Graph().parse(data=turtle.text, format="turtle"), Graph().parse(data=linked.text, format="json-ld"))
    assert get_triples(graphs[0]) == get_triples(graphs[1])
    # a translation stands on the node of the record that it speaks of
    own = "/pump" if case.path == "translations" else f"/{case.new_id}"
    (subject,) = {s for s in graphs[0].subjects() if str(s).endswith(own)}
    stored = {
        quad[1:] for name in (TABLES[case.path.replace("-", "_")].graph,) for quad in graph.store.read_graph(name)
    }
    told = {tuple(term.n3() for term in triple) for triple in graphs[0].triples((subject, None, None))}
    if case.path == "translations":
        assert told == {one for one in stored if one[0] == subject.n3() and one[2].endswith("@de")}
    else:
        assert {(s, p) for s, p, _ in stored if s == subject.n3()} == {(s, p) for s, p, _ in told}
    assert writer.get(item(case), headers={"Accept": "text/html"}).status_code == 406


@every_collection
def test_an_unchanged_record_is_not_sent_again(writer: FlaskClient, case: Case) -> None:
    etag = create(writer, case)
    for held in (etag, f'"x", {etag}', f"W/{etag}", "*"):
        response = writer.get(item(case), headers={"If-None-Match": held})
        assert (response.status_code, response.data, response.headers["ETag"]) == (304, b"", etag)
    assert writer.get(f"{item(case)}?format=turtle", headers={"If-None-Match": etag}).status_code == 200


@every_collection
def test_a_list_is_cut_into_pages_that_link_to_each_other(writer: FlaskClient, case: Case) -> None:
    create(writer, case)
    whole = writer.get(f"/api/{case.path}?page_size=5")
    total = int(whole.headers["X-Pagination"].split('"total": ')[1].split(",")[0])
    found: list[Any] = []
    address, pages = f"/api/{case.path}?page_size=1", 0
    while address:
        response = writer.get(address)
        assert response.status_code == 200
        assert len(response.json) == 1
        found += response.json
        pages += 1
        address = get_link(response.headers["Link"], "next")
    assert len(found) == pages == total
    assert found[:5] == whole.json
    assert get_link(whole.headers["Link"], "first").endswith("page=1&page_size=5")


@every_collection
def test_a_list_is_filtered_by_its_columns(writer: FlaskClient, case: Case) -> None:
    create(writer, case)
    response = writer.get(f"/api/{case.path}", query_string=case.filter)
    if not case.filter:
        pytest.fail("every collection can be filtered")
    assert response.status_code == 200
    assert len(response.json) == 1
    assert response.json[0] == writer.get(item(case)).json
    unknown = writer.get(f"/api/{case.path}?colour=red")
    assert unknown.status_code == 422
    assert unknown.json["errors"][0]["parameter"] == "colour"


@every_collection
def test_a_list_can_be_had_as_linked_data(writer: FlaskClient, case: Case) -> None:
    create(writer, case)
    turtle = writer.get(f"/api/{case.path}?format=turtle")
    linked = writer.get(f"/api/{case.path}", headers={"Accept": "application/ld+json"})
    graphs = (Graph().parse(data=turtle.text, format="turtle"), Graph().parse(data=linked.text, format="json-ld"))
    assert get_triples(graphs[0]) == get_triples(graphs[1])


def get_triples(graph: Graph) -> set[tuple[Any, ...]]:
    """Return the triples by value: Turtle's short form of a decimal 16 is 16.0."""
    return {(s, p, getattr(o, "datatype", None), o.toPython()) for s, p, o in graph}


def get_link(header: str, rel: str) -> str:
    """Return the target of a link of this relation, or the empty text."""
    for link in header.split(", "):
        target, _, name = link.partition("; ")
        if name == f'rel="{rel}"':
            return target.strip("<>")
    return ""


def test_an_id_with_every_character_of_the_trade_finds_its_record(writer: FlaskClient) -> None:
    """The assessor is free text: slashes, tildes, blanks and other scripts survive the way through the address."""
    (given,) = writer.get("/api/people/p2/assessments?competency=licence").json
    assert given["assessor"] == "Prüfstelle A/B ~ Nord"
    address = "/api/assessments/" + quote("p2~licence~2026-06-01~certificate~Prüfstelle A/B ~ Nord~1", safe="~")
    assert writer.get(address).json == given
    for assessor in ("a//b", "50% +1?#&", "..", "~", ".", "مرحبا"):
        body = given | {"assessor": assessor, "date": "2026-07-01", "valid_until": None}
        made = writer.post("/api/assessments", json=body)
        assert made.status_code == 201, made.text
        read = writer.get(made.headers["Location"])
        assert (read.status_code, read.headers.get("ETag")) == (200, made.headers["ETag"]), assessor
        assert writer.delete(made.headers["Location"], headers={"If-Match": read.headers["ETag"]}).status_code == 204
