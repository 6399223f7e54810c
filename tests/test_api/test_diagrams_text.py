r"""User text in DOT: markup, backslashes, entities, wide and right-to-left scripts come out as they were written."""

from __future__ import annotations

import graphviz
import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.pictures import text


def test_wrapping_never_loses_a_character() -> None:
    words = "Isolate and lock off equipment of the northern trunk main"
    assert " ".join(text.wrap(words, 12)) == words


@given(st.text(max_size=200), st.integers(min_value=2, max_value=40))
def test_wrapped_lines_keep_to_the_width_and_to_the_text(words: str, columns: int) -> None:
    lines = text.wrap(words, columns)
    assert all(text.get_width(line) <= columns for line in lines)
    assert "".join(lines).replace(" ", "") == text.clean(words).replace(" ", "")


def test_a_word_longer_than_the_line_is_broken() -> None:
    assert text.wrap("Trinkwasseraufbereitungsanlage", 12) == ["Trinkwassera", "ufbereitungs", "anlage"]


def test_east_asian_characters_take_two_columns() -> None:
    assert text.wrap("水道施設管理", 6) == ["水道施", "設管理"]


def test_a_no_break_space_keeps_a_number_with_its_word() -> None:
    assert text.wrap(f"Valve operation{text.TIE}3", 16) == ["Valve", f"operation{text.TIE}3"]


@pytest.mark.parametrize("character", ["\x00", "\x0b", "\x1b", "\ud800", "\uffff", "\n", "\t", "\u2028"])
def test_characters_xml_cannot_hold_become_a_space(character: str) -> None:
    assert text.clean(f"pump{character}valve") == "pump valve"


@pytest.mark.parametrize(
    "words", ["<b>", "<i>bold</i>", "a & b", "&lt;", 'say "so"', "back\\slash", "\\n", "\\N", "{a|b}"]
)
def test_plain_attributes_are_quoted_never_markup(words: str) -> None:
    graph = graphviz.Digraph()
    graph.node("n", tooltip=text.to_tooltip(words))
    assert "tooltip=<" not in graph.source
    if "&" in words:
        assert words.replace("&", "&amp;") in graph.source


def test_an_odd_trailing_backslash_is_valid_dot() -> None:
    # graphviz warns (and warnings are errors here) when a quoted string would end with an escaped quote
    graph = graphviz.Digraph()
    graph.node("n", tooltip=text.to_tooltip("C:\\"))
    assert '"C:\\\\\\\\"' in graph.source


def test_the_colon_of_an_iri_does_not_become_a_port() -> None:
    assert ":" not in text.get_node_name("competency", "http://example.org/a:b")


def test_links_are_percent_encoded() -> None:
    assert text.get_link("people", 'a/b"c') == "/people/a%2Fb%22c"


def test_direction_is_that_of_the_first_letter() -> None:
    assert text.is_right_to_left("3 مضخات")
    assert not text.is_right_to_left("Pump مضخة")
