"""What is kept about somebody: the page, the workbook, JSON and linked data say the same, and none of it a secret."""

from __future__ import annotations

import datetime as dt
import html
import io
import json
from collections.abc import Iterator
from typing import Any

import pytest
from access_parts import GOOD
from python_calamine import CalamineWorkbook
from rest_company import build_company
from signed_in import Browser, House

from api.access.actor import Scope
from api.access.rights import Kind, Verb
from ontology.live.live_graph import LiveGraph
from ontology.rdf import namespaces as ns

PARTS = ("looks", "named", "shown", "kept", "files", "changes", "account", "sessions", "tokens")


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    graph = build_company()
    yield graph
    graph.close()


@pytest.fixture
def house(graph: LiveGraph) -> House:
    """The employee p2 is looked at, keeps a way, shows it, and has a token."""
    house = House(graph)
    number, looks = house.number("Employee"), house.access.looks
    looks.write(house.number("Lead"), "Lead", "levels", ["p2", "p3"], own="p1")
    looks.write(0, "command line, ada", "gap", ["p2"])
    looks.write(number, "Employee", "gap", ["p2"], own="p2")
    address = "/people/p2/schedule?role=operator"
    house.access.shares.show("p2", address, dt.date.today() + dt.timedelta(days=30), dt.date.today())
    house.access.tokens.make(number, "weekly list", Scope(frozenset({Kind.FRAMEWORK}), frozenset({Verb.SEE})))
    return house


def read_json(browser: Browser) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(browser.get("/my-data?format=json").data)
    return found


def list_rows(told: dict[str, Any], name: str) -> list[list[str]]:
    return [list(row.values()) for row in told[name]]


def test_all_four_say_the_same(house: House) -> None:
    browser = house.open("Employee")
    told = read_json(browser)
    assert set(told) == {"person", "records", *PARTS}
    assert [row[1] for row in list_rows(told, "looks")] == ["command line, ada", "Lead"], "not one's own"
    assert len(told["named"]) > 0
    assert [row["address"] for row in told["shown"]] == ["/people/p2/schedule?role=operator"]
    assert [row["name"] for row in told["tokens"]] == ["weekly list"]
    book = CalamineWorkbook.from_filelike(io.BytesIO(browser.get("/my-data?format=xlsx").data))
    nodes = {node["@id"]: node for node in json.loads(browser.get("/my-data?format=json-ld").data)["@graph"]}
    page = html.unescape(browser.get("/my-data").text.replace("<wbr>", ""))
    base = ns.record_iri("person", "p2")
    for name in PARTS:
        rows = list_rows(told, name)
        assert book.get_sheet_by_name(f"about {name}").to_python()[1:] == rows, name
        values = [
            [nodes[f"{base}/{name}/{row}/{place}"]["schema:value"] for place in range(1, len(rows[0]) + 1)]
            for row in range(1, len(rows) + 1)
        ]
        assert values == rows, name
        assert f"{base}/{name}/{len(rows) + 1}" not in nodes
        assert [text for row in rows for text in row if text not in page] == [], name
    for table, records in told["records"].items():
        assert len(book.get_sheet_by_name(table).to_python()) == len(records) + 1


def test_of_others_neither_name_nor_level_and_no_secret(house: House, graph: LiveGraph) -> None:
    browser = house.open("Employee")
    told = read_json(browser)
    assert all(set(row) == {"what", "you_are_named_as", "competency", "day"} for row in told["named"])
    whole = json.dumps(told) + browser.get("/my-data").text + browser.get("/my-data?format=json-ld").text
    for name, person in graph.get_snapshot().people.items():
        if name != "p2":
            assert person.name not in json.dumps(told["named"])
    for secret in (GOOD, "nwl_", "argon2"):
        assert secret not in whole
    other = house.open("Lead")
    assert read_json(other)["looks"] == [], "who looked at somebody else is not told"
    assert "weekly list" not in other.get("/my-data").text
