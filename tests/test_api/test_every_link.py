"""Every address of the site map answers, and so does every link of every page of the demonstration."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from crawler import crawl
from demonstration_pages import list_pages
from flask import Flask
from scenario import load_scenario
from served_scenario import open_scenario

#: Pages that are read for their links, more than the least asked of us.
MOST = 2_050
LEAST = 2_000
WAYS_IN = ("/", "/me", "/me/kept", "/my-data", "/teams", "/framework")


@pytest.fixture(scope="module")
def app() -> Iterator[Flask]:
    with open_scenario() as app:
        yield app


@pytest.mark.parametrize("address", list_pages(load_scenario()))
def test_an_address_of_the_site_map_answers(app: Flask, address: str) -> None:
    response = app.test_client().get(address, follow_redirects=True)
    assert response.status_code in (200, 202)  # some may be computing on a busy machine
    assert response.mimetype == "text/html"


@pytest.mark.long
def test_every_link_of_every_page_answers(app: Flask) -> None:
    client = app.test_client()
    client.set_cookie("newel-looks-as", "p001")
    found = crawl(client, list_pages(load_scenario()), MOST)
    assert list(found.faults) == [], "\n".join(found.faults)
    assert len(found.pages) >= LEAST


@pytest.mark.parametrize("person", ["p008", "p045"])
def test_what_the_ways_in_lead_to_answers_whoever_looks(app: Flask, person: str) -> None:
    client = app.test_client()
    client.set_cookie("newel-looks-as", person)
    found = crawl(client, WAYS_IN, 60, has_every_kind=False)
    assert list(found.faults) == [], "\n".join(found.faults)
