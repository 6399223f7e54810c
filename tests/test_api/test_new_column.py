"""A column that is new in a table is in its form, in the filters of its list and on the pages of its records."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
from html_forms import find_form, read_page

from api.app import create_app
from api.http import collection as collections
from api.http import record_schemas
from ontology.checks.rules import values
from ontology.live.live_graph import LiveGraph
from ontology.model import tables
from ontology.model.columns import Column, make_own
from ontology.model.records import ScaleLevel
from ontology.model.references import get_reference_fields
from ontology.snapshot.snapshot import Snapshot

#: A column of each kind with what is typed, and what the form's field is then.
ADDED = (
    (make_own("height", "number", "Metres above the sea.", default=None, minimum=0), 12.5, "12.5"),
    (make_own("opened", "date", "The first day.", default=None), dt.date(2026, 1, 2), "2026-01-02"),
    (make_own("is_fenced", "flag", "Whether there is a fence.", default=False), True, "yes"),
    (make_own("ground", "choice", "What it stands on.", default="rock", choices=("rock", "sand")), "sand", "sand"),
    (make_own("nicknames", "texts", "Other names.", default=()), ("Hill", "Top"), "Hill\r\nTop"),
    (make_own("keeper", "ref", "Who keeps it.", default="", refers_to="people"), "p1", "p1"),
    (make_own("story", "text", "What happened there.", default="", is_long=True), "Long ago.", "Long ago."),
)


@pytest.fixture(params=ADDED, ids=lambda added: added[0].kind)
def added(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Column, Any, str]]:
    """The table of sites with one column more: its description and its record, and nothing else."""
    column, value, text = request.param
    sites = tables.TABLES["sites"]
    fields = [(field.name, field.type) for field in dataclasses.fields(sites.record)]  # type: ignore[arg-type]
    record = dataclasses.make_dataclass("Site", [*fields, (column.name, Any)], frozen=True)
    longer = dataclasses.replace(sites, columns=(*sites.columns, column), record=record)
    monkeypatch.setitem(tables.TABLES, "sites", longer)
    # what is made of a table's description once, when the program starts
    forget()
    monkeypatch.setitem(record_schemas.RECORD_SCHEMAS, "sites", record_schemas.build_schema(longer))
    monkeypatch.setitem(collections.COLLECTIONS, "sites", collections.Collection(longer))
    yield column, value, text
    forget()


def forget() -> None:
    """Forget what was worked out of the tables' descriptions."""
    for kept in (record_schemas._get_members, values._get_limited, values._get_references, get_reference_fields):
        kept.cache_clear()


def test_a_new_column_needs_no_other_line(added: tuple[Column, Any, str]) -> None:
    column, value, text = added
    record = tables.TABLES["sites"].build(id="hill", label="Hill works", **{column.attribute: value})
    other = tables.TABLES["sites"].build(id="vale", label="Vale works")
    graph = LiveGraph.in_memory()
    graph._snapshot = Snapshot({"sites": [record, other], "scales": [ScaleLevel("one", 1, "Held", "")]})
    client = create_app(graph).test_client()
    label = column.name.replace("_", " ").capitalize()

    form = client.get("/edit/sites/hill")
    assert find_form(form.text).fields[column.name] == text
    assert label in form.text
    assert column.about in form.text
    assert column.name in find_form(client.get("/new/sites").text).fields or column.kind == "flag"

    page = "".join(read_page(client.get("/sites/hill").text).text)
    assert label in page
    assert column.name in find_form(client.get("/sites").text, "get").fields or column.name in client.get("/sites").text
    asked = text.partition("\r\n")[0]
    narrowed = read_page(client.get(f"/sites?{column.name}={asked}").text)
    assert "1 of 2 sites." in "".join(narrowed.text)
    assert "/sites/hill" in narrowed.links
    assert "/sites/vale" not in narrowed.links
    graph.close()
