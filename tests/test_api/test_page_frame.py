"""What all pages share: cells as HTML, the head, tags, parts, as whom one looks, pictures inside."""

from __future__ import annotations

import datetime as dt

import pytest
from flask.testing import FlaskClient
from markupsafe import Markup

from api.desk.sheet import Cell, Column, Quantity, Ref, Refs, Span
from api.http.actors import COOKIE
from api.pages import writing
from api.pages.cells import write_cell, write_prose, write_state
from api.pages.figure import build_figure
from api.pictures.render import is_available
from ontology.errors import NewelError, ProgramMissingError

COVERAGE = "/teams/works/coverage?on=2026-11-24"
DAY = dt.date(2026, 9, 4)
LINK = '<a href="/people/p%2F1">A &lt;b&gt;</a>'


@pytest.mark.parametrize(
    ("cell", "column", "written"),
    [
        (None, None, "–"),
        (Ref("people", "p/1", "A <b>"), None, LINK),
        (Refs((Ref("people", "p/1", "A <b>"), Ref("people", "p/1", "A <b>"))), None, f"{LINK}, {LINK}"),
        (Refs((), "nobody"), None, "nobody"),
        (Quantity(2.5, "h"), Column("study"), "2.5 h"),
        (Quantity(2.5, "h"), Column("study", "h"), "2.5"),
        (Quantity(None, "h"), Column("study", "h"), "–"),
        (DAY, None, '<time datetime="2026-09-04">4 Sep 2026</time>'),
        (Span(DAY, None), None, 'from <time datetime="2026-09-04">4 Sep 2026</time> on'),
        (True, None, "yes"),
        ("since 2026-09-04", None, 'since <time datetime="2026-09-04">4 September 2026</time>'),
    ],
)
def test_a_cell_is_written_as_people_read_it(cell: Cell, column: Column | None, written: str) -> None:
    assert str(write_cell(cell, column)) == written


def test_a_file_has_no_links_to_a_server() -> None:
    assert str(write_cell(Ref("people", "p1", "Ada"), is_linked=False)) == "Ada"
    assert str(write_cell(Refs((Ref("people", "p1", "Ada"),)), is_linked=False)) == "Ada"


@pytest.mark.parametrize("text", ["2026-13-45", "id-2026-11-24-x", "12026-11-24"])
def test_what_only_looks_like_a_day_is_left_as_it_is(text: str) -> None:
    assert str(write_prose(text)) == text


def test_a_state_says_its_word_beside_its_mark_and_what_it_was() -> None:
    told = str(write_state("short", "short", "covered", "fewer <than>"))
    assert "<b>short</b>" in told
    assert "was covered" in told
    assert "fewer &lt;than&gt;" in told


def test_the_head_leads_to_the_three_ways_and_marks_the_one_of_the_page(client: FlaskClient) -> None:
    page = client.get(COVERAGE).text
    for words, address in (("Framework", "/framework"), ("Where I stand", "/me"), ("Team cover", "/teams")):
        assert f'<a href="{address}"' in page
        assert f">{words}</a>" in page
    assert '<a href="/teams" aria-current="true">' in page
    assert page.count("aria-current") == 1
    assert page.count("<h1>") == 1


def test_a_page_that_has_not_changed_is_not_written_again(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    first = client.get(COVERAGE)
    monkeypatch.setattr(writing, "_get_templates", None)
    again = client.get(COVERAGE, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["Cache-Control"] == first.headers["Cache-Control"] == "private, no-store"


def test_a_part_of_a_page_is_one_block_with_a_tag_of_its_own(client: FlaskClient) -> None:
    whole = client.get(COVERAGE)
    part = client.get(COVERAGE, headers={"Newel-Part": "content"})
    assert part.text.strip().startswith("<article")
    assert part.text.strip() in whole.text
    assert part.headers["ETag"] != whole.headers["ETag"]
    assert "Newel-Part" in part.headers["Vary"]
    # what no template calls so is the whole page
    assert client.get(COVERAGE, headers={"Newel-Part": "nothing"}).text == whole.text


def test_who_looks_stands_in_the_head_and_in_the_tag(client: FlaskClient) -> None:
    nobody = client.get(COVERAGE)
    client.set_cookie(COOKIE, "p1")
    ada = client.get(COVERAGE)
    assert "Look as someone" in nobody.text
    assert ">Ada Example</a></p>" in ada.text
    assert ada.headers["ETag"] != nobody.headers["ETag"]
    client.set_cookie(COOKIE, "nobody-of-this-id")
    assert client.get(COVERAGE).text == nobody.text
    client.delete_cookie(COOKIE)


@pytest.mark.skipif(not is_available(), reason="the program dot is not installed")
def test_a_picture_stands_in_the_page_with_links_and_other_forms(client: FlaskClient) -> None:
    page = client.get("/teams/works/staffing?on=2026-11-24").text
    assert page.count("<svg") == 1
    assert 'role="graphics-document"' in page
    assert "<?xml" not in page
    for form in ("layout=paper", "format=png", "format=dot"):
        assert f"/api/teams/works/staffing/diagram?on=2026-11-24&amp;{form}" in page


@pytest.mark.parametrize(
    ("error", "words"),
    [(ProgramMissingError("no dot", program="dot"), "not installed"), (NewelError("torn"), "could not be drawn")],
)
def test_a_picture_that_cannot_be_drawn_says_so(error: NewelError, words: str) -> None:
    def draw() -> bytes:
        raise error

    figure = build_figure("/api/x/diagram", "It.", draw)
    assert figure.svg == Markup("")
    assert words in figure.missing
