"""A page of the framework and REST say the same numbers, of every record of the demonstration."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator

import pytest
from flask.testing import FlaskClient
from scenario import SCENARIO

from api.app import create_app
from api.desk.names import count
from api.desk.sheet import Quantity
from api.pages import competency, course, role, scale
from api.pages.search import KINDS, build_view
from loaders.pipeline import load_paths
from ontology.analysis.cover.held import count_holders
from ontology.analysis.profiles.similarity import find_similar_roles
from ontology.live.live_graph import LiveGraph
from ontology.snapshot.snapshot import Snapshot

DAY = dt.date(2026, 11, 24)


@pytest.fixture(scope="module")
def graph() -> Iterator[LiveGraph]:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    yield graph
    graph.close()


@pytest.fixture(scope="module")
def snapshot(graph: LiveGraph) -> Snapshot:
    return graph.get_snapshot()


@pytest.fixture(scope="module")
def rest(graph: LiveGraph) -> FlaskClient:
    return create_app(graph).test_client()


def count_rows(rest: FlaskClient, address: str) -> int:
    page = rest.get(f"{address}&page_size=1")
    total: int = json.loads(page.headers["X-Pagination"])["total"]
    return total


def test_competencies(snapshot: Snapshot, rest: FlaskClient) -> None:
    for i in snapshot.competencies:
        answer = rest.get(f"/api/competencies/{i}/holders?on=2026-11-24").json
        assert answer is not None
        view = competency.build_view(snapshot, i, count_holders(snapshot, i, DAY), True)
        roles = count_rows(rest, f"/api/requirements?competency={i}")
        outcomes = count_rows(rest, f"/api/outcomes?competency={i}")
        renewing = count_rows(rest, f"/api/outcomes?competency={i}&renews=yes")
        lead = view.lead.text
        assert f"asked by {count(roles, 'role') if roles else 'no role'}," in lead
        assert f"taught by {count(outcomes - renewing, 'course') if outcomes > renewing else 'no course'}," in lead
        assert ("renewed" in lead) == bool(renewing)
        held = answer["holders"]
        assert lead.endswith(f"held by {count(held, 'person', 'people') if held else 'nobody'}.")
        assert (len(view.roles.table.rows), len(view.courses.table.rows)) == (roles, outcomes)
        full = [row[4] for row in view.levels.rows]
        assert sum(int(cell.value or 0) for cell in full if isinstance(cell, Quantity)) == roles
        assert len(view.narrower.items) == count_rows(rest, f"/api/competencies?broader={i}")


def test_roles(snapshot: Snapshot, rest: FlaskClient) -> None:
    for i in snapshot.roles:
        similar = rest.get(f"/api/roles/{i}/similar").json
        assert similar is not None
        view = role.build_view(snapshot, i, find_similar_roles(snapshot, i).roles, snapshot.get_places_of_role(i))
        asked = count_rows(rest, f"/api/requirements?role={i}")
        assert len(view.asks.table.rows) == asked
        assert not asked or view.lead.strong == count(asked, "competency", "competencies")
        for necessity, told in (("blocking", r"(\d+) blocks?\b"), ("desirable", r"(\d+) (?:is |are )?desirable")):
            found = re.search(told, view.lead.after)
            number = count_rows(rest, f"/api/requirements?role={i}&necessity={necessity}")
            assert (int(found[1]) if found else 0) == number
        assert [ref.id for ref in view.compare] == [row["id"] for row in similar["roles"]]


def test_courses_and_scales(snapshot: Snapshot, rest: FlaskClient) -> None:
    for i in snapshot.courses:
        view = course.build_view(snapshot, i, DAY)
        assert len(view.reaches.table.rows) == count_rows(rest, f"/api/outcomes?course={i}")
        assert len(view.asks.table.rows) == count_rows(rest, f"/api/entry-conditions?course={i}")
    for i in snapshot.scales:
        used = count_rows(rest, f"/api/competencies?scale={i}")
        assert f"used by {count(used, 'competency', 'competencies')}." in scale.build_view(snapshot, i).lead.text


@pytest.mark.parametrize("text", ["t", "operator", "water trea", "mirela", "zz", "cert-first-aid"])
def test_the_search_page_and_the_question_find_the_same(snapshot: Snapshot, rest: FlaskClient, text: str) -> None:
    answer = rest.get("/api/find", query_string={"text": text, "limit": 1000}).json
    assert answer is not None
    view = build_view(snapshot, text, tuple(KINDS))
    found = {one: 0 for one, _ in KINDS.values()}
    for match in answer["matches"]:
        found[match["kind"]] += 1
    shown = {many: number for one, many in KINDS.values() if (number := found[one])}
    assert {section.title.lower(): section.total for section in view.sections} == shown
    assert sum(shown.values()) == answer["found"]
    assert [ref.id for ref in view.near] == [near["id"] for near in answer["near"]]
