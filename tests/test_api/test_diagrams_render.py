"""The one door to dot: formats, the missing program, the hung program, the text alternative."""

from __future__ import annotations

import shutil
import time
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from api.pictures import render
from api.pictures.svg import get_text_alternative
from api.pictures.text import build_comments
from ontology.errors import NewelError, ProgramMissingError, UnavailableError

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
WITHOUT_DOT = pytest.mark.skipif(shutil.which("dot") is None, reason="the Graphviz program dot is not installed")
PLAIN = "// title: Two pumps\n// description: One feeds the other.\ndigraph { a -> b }\n"


def test_dot_text_needs_no_program(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(render, "PROGRAM", "no-such-program-here")
    assert render.render(PLAIN, "dot") == PLAIN.encode()


@pytest.mark.parametrize("fmt", ["svg", "png"])
def test_a_missing_program_is_named(monkeypatch: pytest.MonkeyPatch, fmt: render.PictureFormat) -> None:
    monkeypatch.setattr(render, "PROGRAM", "no-such-program-here")
    assert not render.is_available()
    with pytest.raises(ProgramMissingError, match="Graphviz program dot"):
        render.render(PLAIN, fmt)


def test_an_unknown_format_is_refused() -> None:
    with pytest.raises(NewelError, match="svg, png or dot"):
        render.render(PLAIN, "gif")  # type: ignore[arg-type]


def test_a_hung_program_is_killed(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    mark = tmp_path / "still-alive"
    program = tmp_path / "dot"
    program.write_text(f"#!/bin/sh\nexec >/dev/null 2>&1\nsleep 2\ntouch {mark}\n")
    program.chmod(0o755)
    monkeypatch.setattr(render, "PROGRAM", str(program))
    begun = time.monotonic()
    with pytest.raises(UnavailableError, match=r"within 0\.2 s"):
        render.render(PLAIN, "png", timeout_s=0.2)
    assert time.monotonic() - begun < 1.8
    time.sleep(2.2)
    assert not mark.exists()


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_text_that_is_no_dot_is_an_error_with_the_programs_reason() -> None:
    with pytest.raises(NewelError) as caught:
        render.render("digraph { a -> ", "svg")
    assert "syntax error" in caught.value.context["reason"]


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_png_is_a_png() -> None:
    assert render.render(PLAIN, "png").startswith(b"\x89PNG\r\n\x1a\n")


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_svg_says_what_it_shows() -> None:
    root = ET.fromstring(render.render(PLAIN, "svg"))
    title, description = root[0], root[1]
    assert (title.tag, title.text) == (f"{SVG}title", "Two pumps")
    assert (description.tag, description.text) == (f"{SVG}desc", "One feeds the other.")
    assert root.get("role") == "graphics-document"
    assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_a_picture_with_very_much_to_say_is_drawn() -> None:
    # dot draws nothing, and reports nothing, where a comment is longer than 16 kilobytes
    description = "one word after the other " * 4000
    text = build_comments("Much", description) + "digraph { a }\n"
    assert max(map(len, text.split("\n"))) < 16_000
    root = ET.fromstring(render.render(text, "svg"))
    assert root[1].text == description.strip()
    assert get_text_alternative(text) == ("Much", description.strip())


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_two_pictures_in_one_page_have_different_ids() -> None:
    first, second = (ET.fromstring(render.render(text, "svg")) for text in (PLAIN, PLAIN.replace("pumps", "valves")))
    assert first[0].get("id") != second[0].get("id")
