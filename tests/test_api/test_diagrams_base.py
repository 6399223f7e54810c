"""The base of all pictures: frame, cards, widths of texts, paging. Whatever users write is drawn as they wrote it."""

from __future__ import annotations

import logging
import xml.etree.ElementTree as ET

import pytest
from drawn import AWKWARD, SVG, WITHOUT_DOT, check_picture, draw_quietly, get_paper_scale, read_texts, read_tooltips
from hypothesis import given
from hypothesis import strategies as st

from api.pictures import style
from api.pictures.cards import Entry, card, cell, column, listing, row, small, state, words
from api.pictures.frame import Frame
from api.pictures.paging import PageError, Sheet, take_page
from api.pictures.render import render
from api.pictures.svg import finish_svg, read_widths
from api.pictures.text import clean
from ontology.errors import NewelError


def draw_label(label: str, sheet: Sheet | None = None) -> str:
    shown = clean(label) or "id"
    frame = Frame(shown, shown, sheet=sheet or Sheet())
    frame.add_node("a", card(style.PERSON, shown, row(cell(small(label)))), tooltip=shown, link="/api/people/a")
    entries = [Entry(f"n{i}", card(style.SHORT, shown), shown, "/api/x") for i in range(3)]
    frame.add_node("column", column(entries), tooltip="column")
    frame.add_edge("a", "column:n1", tooltip=shown, label=shown, is_dashed=True)
    return frame.finish(
        shown,
        lists=[listing(["state", "name"], [[state("short", style.SHORT), words(shown)]])],
        legend_keys=[(style.PERSON, shown)],
        notes=[shown],
    ).dot


@WITHOUT_DOT
@pytest.mark.needs_dot
@pytest.mark.parametrize("label", AWKWARD)
def test_awkward_labels_come_out_as_written(label: str) -> None:
    svg = check_picture(draw_label(label))
    shown = clean(label) or "id"
    assert shown in read_texts(svg)
    assert shown in read_tooltips(svg)


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_every_text_has_the_width_that_dot_measured() -> None:
    dot_text = draw_label("Pump")
    svg, xdot = draw_quietly(dot_text)
    widths = [float(t.get("textLength", "nan")) for t in ET.fromstring(render(dot_text, "svg")).iter(f"{SVG}text")]
    assert all(0 < width < style.LEAST_WIDTH_PT for width in widths)
    assert len(read_widths(xdot.encode())) == svg.count("<text ")


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_a_text_without_a_width_is_an_error() -> None:
    svg, xdot = draw_quietly(draw_label("Pump"))
    with pytest.raises(NewelError, match="no width"):
        finish_svg(svg.encode(), xdot.replace(" T ", " Q ", 1).encode(), "")


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_what_dot_remarks_is_logged(caplog: pytest.LogCaptureFixture) -> None:
    narrow = '<TABLE><TR><TD FIXEDSIZE="TRUE" WIDTH="3" HEIGHT="3">wide words</TD></TR></TABLE>'
    with caplog.at_level(logging.WARNING):
        render(f"digraph {{ a [label=<{narrow}>] }}", "png")
    assert "cell size too small" in caplog.text


def test_a_linked_cell_without_a_tooltip_is_an_error() -> None:
    with pytest.raises(ValueError, match="tooltip"):
        cell("x", link="/api/x", tooltip=" ")


@pytest.mark.parametrize("text", ["", " ", "\n\t"])
def test_blank_words_are_no_empty_markup(text: str) -> None:
    # an empty <B></B> is a syntax error for dot
    assert words(text, bold=True, size=9) == ""


@WITHOUT_DOT
@pytest.mark.needs_dot
def test_a_sheet_says_which_it_is_and_is_put_on_a_page() -> None:
    dot_text = draw_label("Pump", Sheet(2, 3, is_paper=True))
    root = ET.fromstring(check_picture(dot_text))
    assert (root.get("width"), root.get("height")) in (("297mm", "210mm"), ("210mm", "297mm"))
    assert "Pump, page 2 of 3" in read_texts(render(dot_text, "svg"))
    assert get_paper_scale(dot_text) == 1
    assert render(dot_text, "png").startswith(b"\x89PNG")


@given(st.lists(st.integers(1, 9), max_size=60), st.integers(1, 20))
def test_every_row_stands_on_exactly_one_page(counts: list[int], lines: int) -> None:
    first = take_page(counts, "paper", lines=lines, count=float)
    parts = [take_page(counts, "paper", page, lines=lines, count=float) for page in range(1, first.sheet.pages + 1)]
    assert [count for part in parts for count in part.rows] == counts
    assert all(sum(part.rows) <= lines or len(part.rows) == 1 for part in parts)
    assert [part.start for part in parts] == [sum(len(p.rows) for p in parts[:i]) for i in range(len(parts))]
    with pytest.raises(PageError):
        take_page(counts, "paper", first.sheet.pages + 1, lines=lines, count=float)


def test_a_screen_has_one_page_with_everything() -> None:
    assert take_page(range(500), "screen").rows == tuple(range(500))
    with pytest.raises(PageError):
        take_page(range(500), "screen", 2)
