"""The history of everything says no word about a person: the reason of a change of people is a count."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from rest_company import ROWS, build_company

from ontology.live.live_graph import Change, LiveGraph
from ontology.live.reasons import tell_reason
from ontology.model.tables import PERSONAL_TABLES, TABLES
from ontology.rdf import namespaces as ns

PEOPLE = {row["id"] for row in ROWS["people"]}


@pytest.fixture
def graph() -> LiveGraph:
    return build_company()


def read_last(graph: LiveGraph) -> tuple[str, list[str]]:
    """Return the reason in the history of everything, and what the personal history keeps of it."""
    revision = graph.store.revision
    told = {p: o for _, s, p, o in graph.store.read_graph(ns.GRAPH_HISTORY) if s.endswith(f"/{revision}>")}
    kept = [o for *_, o in graph.store.read_graph(f"{ns.PERSONAL_HISTORY}{revision}/why")]
    return told[ns.iri_term(ns.NW + "why")].strip('"'), [text.strip('"') for text in kept]


@pytest.mark.parametrize("name", sorted(PERSONAL_TABLES))
def test_a_change_of_records_about_people_is_told_as_a_count(graph: LiveGraph, name: str) -> None:
    table = TABLES[name]
    row = next(iter(graph.get_snapshot().get_table(name).values()))
    noun = table.segment.replace("-", " ")
    why = f"replaced {name}/{'~'.join(map(str, table.get_key(row)))}"
    reason = tell_reason(why, [(name, row)], [], graph.get_snapshot(), is_load=False)
    assert (reason.why, reason.personal) == (f"replaced 1 {noun}", why)
    reason = tell_reason(why, [], [(name, table.get_key(row))], graph.get_snapshot(), is_load=False)
    assert (reason.why, reason.personal) == (f"removed 1 {noun}", why)


def test_what_is_made_and_removed_is_counted_by_table(graph: LiveGraph) -> None:
    snapshot = graph.get_snapshot()
    first = next(iter(snapshot.get_table("absences").values()))
    new = [replace(first, person=person, from_date=date(2027, 1, 4), to_date=date(2027, 1, 5)) for person in PEOPLE]
    gone = TABLES["absences"].get_key(first)
    change = Change(put=tuple(("absences", record) for record in new), remove=(("absences", gone),))
    graph.apply(change, who="test", why="p3 comes back earlier")
    assert read_last(graph) == ("made 3 absences, removed 1 absence", ["p3 comes back earlier"])


def test_the_reason_of_a_change_of_the_framework_is_kept_unless_it_names_a_person(graph: LiveGraph) -> None:
    role = graph.get_snapshot().roles["helper"]
    for label, why, told, kept in (
        ("Help", "replaced roles/helper: the old word", "replaced roles/helper: the old word", []),
        ("Aid", "p1 asked for it", "replaced 1 role", ["p1 asked for it"]),
    ):
        graph.apply(Change(put=(("roles", replace(role, label=label)),)), who="test", why=why)
        assert read_last(graph) == (told, kept)


def test_a_load_names_its_file_unless_that_names_a_person(graph: LiveGraph) -> None:
    absences = [next(iter(graph.get_snapshot().get_table("absences").values()))]
    for year, why, told, kept in (
        (2031, "load absences.csv", "load absences.csv", []),
        (2032, "load absences-of-p3.csv", "made 1 absence", ["load absences-of-p3.csv"]),
    ):
        rows = [replace(row, from_date=date(year, 1, 1), to_date=date(year, 1, 2)) for row in absences]
        graph.load({"absences": rows}, who="test", why=why)
        assert read_last(graph) == (told, kept)


def test_of_a_new_person_too(graph: LiveGraph) -> None:
    new = TABLES["people"].build(id="p900", name="New Example")
    graph.load({"people": [new]}, who="test", why="load p900.csv")
    assert read_last(graph) == ("made 1 person", ["load p900.csv"])
