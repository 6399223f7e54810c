"""A form offers what may be changed by who looks; the rest of the record stands there to be read, and stays."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from rest_company import build_company
from signed_in import House

from ontology.live.live_graph import LiveGraph


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    graph = build_company()
    yield graph
    graph.close()


@pytest.mark.parametrize(
    ("name", "person", "fields"),
    [("Employee", "p2", {"study_hours_per_week"}), ("Lead", "p3", {"shift", "study_hours_per_week"})],
)
def test_the_columns_that_may_be_changed_are_fields_and_are_stored(
    graph: LiveGraph, name: str, person: str, fields: set[str]
) -> None:
    before = graph.get_snapshot().people[person]
    browser = House(graph).open(name)
    page = browser.get(f"/edit/people/{person}").text
    assert set(re.findall(r'<(?:input|select)[^>]* name="([a-z_]+)"', page)) - {"state", "read", "q"} == fields
    assert before.name in page
    stored = browser.send(f"/edit/people/{person}", {"study_hours_per_week": "7.5"})
    assert stored.status_code == 200
    after = graph.get_snapshot().people[person]
    assert (after.study_hours_per_week, after.name, after.team, after.role) == (
        7.5, before.name, before.team, before.role,
    )  # fmt: skip
    refused = browser.get(f"/edit/people/{person}")
    refused = browser.send(f"/edit/people/{person}", {"study_hours_per_week": "many"})
    assert refused.status_code == 422
    assert 'value="many"' in refused.text
    assert 'name="name"' not in refused.text
