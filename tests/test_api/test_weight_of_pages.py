"""Pages are light: HTML without its pictures, the one sheet of style, our own scripts."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from demonstration_pages import list_pages
from flask.testing import FlaskClient
from scenario import load_scenario
from served_scenario import open_scenario

import api

_STATIC = Path(api.__file__).parent / "static"
#: Bytes of a page, of the sheet of style that all pages share, of all scripts together; lines of those.
HTML_MAX, STYLE_MAX, SCRIPT_MAX, LINES_MAX = 60_000, 20_000, 12_000, 300
#: The viewer of the interface for programs is a page of its own, with a style and a script of its own.
_OF_VIEWER = "browse.js"


@pytest.fixture(scope="module")
def reader() -> Iterator[FlaskClient]:
    with open_scenario() as app:
        client = app.test_client()
        client.set_cookie("newel-looks-as", "p001")
        yield client


@pytest.mark.parametrize("address", list_pages(load_scenario()))
def test_a_page_weighs_little(reader: FlaskClient, address: str) -> None:
    text = reader.get(address, follow_redirects=True).get_data()
    assert len(re.sub(rb"<svg.*?</svg>", b"", text, flags=re.DOTALL)) <= HTML_MAX


def test_the_style_weighs_little() -> None:
    assert (_STATIC / "newel.css").stat().st_size <= STYLE_MAX


def test_our_scripts_are_few_lines() -> None:
    scripts = [path for path in _STATIC.glob("*.js") if path.name != _OF_VIEWER]
    texts = [path.read_text("utf-8") for path in scripts]
    assert {path.name for path in scripts} <= {"region.js", "search.js", "form.js"}
    assert sum(len(text.splitlines()) for text in texts) <= LINES_MAX
    assert sum(len(text.encode()) for text in texts) <= SCRIPT_MAX


def test_no_page_holds_a_script_or_a_style_of_its_own(reader: FlaskClient) -> None:
    for path in (_STATIC.parent / "templates").rglob("*.html"):
        text = path.read_text("utf-8")
        assert not re.search(r"<script(?![^>]*\bsrc=)|\son[a-z]+=\"|\sstyle=\"", text), path.name
        if path.name != "file.html":
            assert "<style" not in text, path.name
