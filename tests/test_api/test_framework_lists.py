"""The lists of the framework and the same as a tree: order, figures, filters, pages, what a tree leaves to links."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from flask.testing import FlaskClient
from html_forms import list_links
from small_company import build_competencies, build_scale, build_snapshot

from api.pages.framework_list import build_rows, list_in_order
from api.pages.framework_tree import Branch, build_view, write_branches
from ontology.snapshot.snapshot import Snapshot

_ROW = re.compile(r'rowheader[^>]*>(?:<span>)?<a href="([^"]+)"')
TABLES = ("competencies", "roles", "courses", "scales")


def build_tree(widths: list[int]) -> Snapshot:
    """Return competencies in a tree with so many branches at each level."""
    rows: list[dict[str, Any]] = build_competencies("top")
    level = ["top"]
    for depth, width in enumerate(widths):
        below = [f"{parent}.{n:03}" for parent in level for n in range(width)]
        rows += [
            row | {"broader": (row["id"].rpartition(".")[0],), "label": f"d{depth} {row['id']}"}
            for row in build_competencies(" ".join(below))
        ]
        level = below
    return build_snapshot(scales=build_scale(), competencies=rows)


def measure_depth(branches: tuple[Branch, ...]) -> int:
    return 1 + max(measure_depth(branch.branches) for branch in branches) if branches else 0


def count_branches(branches: tuple[Branch, ...]) -> int:
    return sum(1 + count_branches(branch.branches) for branch in branches)


# ---- lists ----


@pytest.mark.parametrize("table", TABLES)
def test_a_list_names_what_rest_lists(client: FlaskClient, table: str) -> None:
    answer = client.get(f"/api/{table}?page_size=100")
    records = json.loads(answer.text)
    items = records["items"] if isinstance(records, dict) else records
    page = client.get(f"/{table}")
    assert page.status_code == 200
    assert {f"/{table}/{item['id']}" for item in items} <= set(list_links(page.text))


def test_a_list_is_in_the_order_of_names_and_says_the_figures() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[{"id": "z", "label": "Äpfel", "scale": "s5"}, {"id": "a", "label": "Birnen", "scale": "s5"}],
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r", "competency": "z", "level": 1}],
        courses=[{"id": "k", "label": "K", "hours": 1.0}, {"id": "k2", "label": "K2", "hours": 1.0}],
        outcomes=[
            {"course": "k", "competency": "z", "level": 1},
            {"course": "k2", "competency": "z", "level": 1, "renews": True},
        ],
    )
    records = list_in_order(snapshot, "competencies")
    assert [record.id for record in records] == ["z", "a"]
    figures = [[cell.value for cell in row[3:]] for row in build_rows(snapshot, "competencies", records).rows]  # type: ignore[union-attr]
    assert figures == [[1, 1], [0, 0]]
    (role,) = build_rows(snapshot, "roles", list_in_order(snapshot, "roles")).rows
    assert getattr(role[2], "value", None) == 1


@pytest.mark.parametrize(
    "query",
    ["q=valve", "q=schieber", "kind=certificate", "broader=pump", "kind=behaviour", "label=Valve+work", "page=2"],
)
def test_filters_are_those_of_rest(client: FlaskClient, query: str) -> None:
    page = client.get(f"/competencies?{query}&scale=", follow_redirects=True)
    assert "scale=" not in page.request.query_string.decode()
    records = client.get(f"/api/competencies?{query}").json
    items = records["items"] if isinstance(records, dict) else records or []
    assert sorted(_ROW.findall(page.text)) == sorted(f"/competencies/{item['id']}" for item in items)


@pytest.mark.parametrize("table", TABLES)
def test_every_column_is_a_field_of_the_form(client: FlaskClient, table: str) -> None:
    page = client.get(f"/{table}").text
    assert 'name="q"' in page
    if table == "roles":
        assert all(f'name="{name}"' in page for name in ("id", "label", "family", "months_to_full"))


@pytest.mark.parametrize(
    "query",
    ["kind=x", "cats=1", "show=map", "page=0", "kind=skill&kind=skill", "show=tree&kind=skill", "show=tree&page=x"],
)
def test_what_cannot_be_asked_is_refused(client: FlaskClient, query: str) -> None:
    assert client.get(f"/competencies?{query}").status_code == 422
    assert client.get("/competencies?show=tree&broader=none-such").status_code == 422


# ---- trees ----


@pytest.mark.parametrize("table", TABLES)
def test_every_table_has_a_tree(client: FlaskClient, table: str) -> None:
    page = client.get(f"/{table}?show=tree")
    assert page.status_code == 200
    assert page.text.count("<h1") == 1
    assert any(link.startswith(f"/{table}/") for link in list_links(page.text))


def test_three_levels_stand_in_the_page_and_deeper_ones_are_one_link_away() -> None:
    view = build_view(build_tree([2, 2, 2]), "competencies")
    assert measure_depth(view.branches) == 3
    assert count_branches(view.branches) == 1 + 2 + 4
    deepest = view.branches[0].branches[0].branches[0]
    assert deepest.rest is not None
    assert (deepest.rest.words, deepest.rest.address) == ("2 narrower", "/competencies?show=tree&broader=top.000.000")
    below = build_view(build_tree([2, 2, 2]), "competencies", "top.000")
    assert below.lead == "2 competencies are part of d0 top.000."
    assert [link.address for link in below.above] == ["/competencies?show=tree&broader=top"]


def test_a_page_holds_no_more_than_it_has_room_for() -> None:
    """Two hundred times two hundred competencies: what is not shown is linked with its count."""
    view = build_view(build_tree([200, 200]), "competencies")
    assert count_branches(view.branches) <= 1 + 160
    (top,) = view.branches
    assert top.rest is not None
    assert top.rest.words == "All 200"
    assert all(len(branch.branches) == 0 or branch.rest for branch in top.branches)


def test_more_branches_at_the_top_than_a_page_takes_go_on() -> None:
    snapshot = build_snapshot(
        scales=build_scale(), competencies=build_competencies(" ".join(f"c{n:03}" for n in range(150)))
    )
    pages = [build_view(snapshot, "competencies", page=page) for page in (1, 2, 3, 9)]
    assert [len(view.branches) for view in pages] == [40, 40, 40, 30]
    steps = [[link.words for link in view.pages] for view in pages]
    assert steps == [["Next"], ["Before", "Next"], ["Before", "Next"], ["Before"]]


def test_labels_in_a_tree_are_text() -> None:
    branch = Branch("<b> & more", "/roles?family=%3Cb%3E", "2 roles", (Branch("<i>", "/roles/x"),))
    written = str(write_branches((branch,)))
    assert "<b>" not in written
    assert "<i>" not in written
    assert written.count("<li>") == 2
    assert "<details><summary>2 roles</summary>" in written


def test_a_circle_of_competencies_ends() -> None:
    """Two that are each part of the other are stored with a remark; a tree of one of them ends at its depth."""
    rows = build_competencies("a", broader=("b",)) + build_competencies("b", broader=("a",))
    view = build_view(build_snapshot(scales=build_scale(), competencies=rows), "competencies", "a")
    assert measure_depth(view.branches) == 3


def test_roles_stand_by_family_and_those_without_one_last() -> None:
    roles = [
        {"id": f"r{n}", "label": f"R{n}", "family": family} for n, family in enumerate(["Plant", "", "Lab", "Plant"])
    ]
    view = build_view(build_snapshot(roles=roles), "roles")
    assert view.lead == "4 roles in 3 families."
    assert [(one.words, one.below, one.address) for one in view.branches] == [
        ("Lab", "1 role", "/roles?family=Lab"),
        ("Plant", "2 roles", "/roles?family=Plant"),
        ("No family", "1 role", ""),
    ]
