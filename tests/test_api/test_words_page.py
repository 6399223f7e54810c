"""What the words mean: every kind of record and every column, in the vocabulary's own words."""

from __future__ import annotations

import re

from flask.testing import FlaskClient
from rdflib import RDFS, URIRef

from api.pages.words import build_words_view
from ontology.model.tables import TABLES
from ontology.rdf import namespaces as ns
from ontology.rdf.vocabulary_terms import read_vocabulary


def test_every_table_and_every_column_is_there_with_its_meaning() -> None:
    words = {word.column: word for section in build_words_view().sections for word in section.words if word.column}
    assert set(words) == set(TABLES)
    for table in TABLES.values():
        word = words[table.name]
        assert [part.column for part in word.parts] == [column.name for column in table.columns]
        assert word.meaning
        assert all(part.meaning for part in word.parts)


def test_the_meanings_of_our_own_terms_are_those_of_the_vocabulary() -> None:
    graph = read_vocabulary()
    parts = {
        part.anchor: part for section in build_words_view().sections for word in section.words for part in word.parts
    }
    for table in TABLES.values():
        for column in table.columns:
            if column.iri.startswith(ns.NW):
                told = parts[f"{table.segment}-{column.name}"]
                assert told.meaning == str(graph.value(URIRef(column.iri), RDFS.comment))


def test_terms_that_no_table_has_stand_at_the_end() -> None:
    assert {"revision", "author", "why"} <= {word.label for word in build_words_view().sections[-1].words}


def test_no_two_places_of_the_page_have_one_name(client: FlaskClient) -> None:
    page = client.get("/words")
    assert page.status_code == 200
    ids = re.findall(r' id="([^"]+)"', page.text)
    assert len(set(ids)) == len(ids)
    assert "<h1>What the words mean</h1>" in page.text
    again = client.get("/words", headers={"If-None-Match": page.headers["ETag"]})
    assert again.status_code == 304
