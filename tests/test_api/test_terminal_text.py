"""Every answer as text on the terminal: no line longer than the window, no word broken."""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from scenario import SCENARIO, add_neighbour, begin_draft
from scenario_questions import WORDS

from api.desk.desk import Answer, Desk
from api.desk.plain_cells import format_cell
from api.desk.sheet import Sheet, Table
from api.questions import find_titles, load_question
from api.settings import Settings
from api.terminal import answering
from api.terminal.call import Call
from api.terminal.question_commands import build_question_command
from api.terminal.sheet_text import render_sheet
from api.terminal.table_widths import TextColumn, lay_out
from loaders.pipeline import load_paths
from ontology.errors import InputError
from ontology.live.live_graph import LiveGraph

#: Longer words are broken where they have to be.
LONGEST_WORD = 28


@pytest.fixture(scope="module")
def desk() -> Iterator[Desk]:
    graph = LiveGraph.in_memory()
    load_paths(graph, [SCENARIO])
    add_neighbour(graph)
    begin_draft(graph)
    yield Desk(graph, Settings())
    graph.close()


def find_call(name: str) -> Call:
    """Return the call that the words of a command make."""
    calls: list[Call] = []
    command = build_question_command(load_question(name), lambda call, to_file, store: calls.append(call))
    result = CliRunner().invoke(command, WORDS[name])
    assert result.exit_code == 0, result.output
    return calls[0]


@pytest.mark.parametrize("name", sorted(WORDS))
def test_every_answer_can_be_written_to_a_file_that_needs_nothing_else(name: str, desk: Desk) -> None:
    call = find_call(name)
    page = answering.answer_call(desk, dataclasses.replace(call, form="html")).decode()
    assert "<style>" in page
    assert not re.search(r'(?:href|src|action)="(?!#|data:)', page)
    cautions = load_question(name).cautions
    assert all(caution in unescape(page) for caution in cautions)
    workbook = answering.answer_call(desk, dataclasses.replace(call, form="xlsx"))
    assert {"Answer", "Cautions"} <= set(openpyxl.load_workbook(io.BytesIO(workbook)).sheetnames)
    with pytest.raises(InputError, match=r"ends in \.pdf"):
        answering.answer_call(desk, dataclasses.replace(call, form="pdf"))


def list_words(sheet: Sheet) -> set[str]:
    """Return the words of all cells of all tables."""
    texts = [format_cell(cell) for part in sheet.parts if isinstance(part, Table) for row in part.rows for cell in row]
    return {word for text in texts for word in text.split() if cell_len(word) <= LONGEST_WORD}


def test_every_question_is_tried_here() -> None:
    assert set(WORDS) == set(find_titles())


@pytest.mark.parametrize("name", sorted(WORDS))
def test_text_fits_the_window_and_breaks_no_word(name: str, desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    answers: list[Any] = []
    monkeypatch.setattr(answering, "_write", lambda answer, call: answers.append(answer) or b"")
    answering.answer_call(desk, find_call(name))
    answer: Answer = answers[0]
    sheet = answer.build_sheet()
    for width in (100, 80, 64):
        lines = render_sheet(sheet, 1, width=width).splitlines()
        assert max(map(cell_len, lines)) <= width, width
        words = {word for line in lines for word in line.split()}
        assert list_words(sheet) <= words, (width, list_words(sheet) - words)
        assert not any(line.endswith(" ") for line in lines)
    # a sheet says what it is, of which state, and what it must not be taken for
    text = " ".join(render_sheet(sheet, 7).split())
    assert text.startswith(" ".join(sheet.title.split()))
    assert "Revision 7." in text
    assert all(f"Note: {' '.join(caution.split())}" in text for caution in sheet.cautions)


#: A cell, as the lengths of its words.
cells = st.lists(st.integers(1, LONGEST_WORD), max_size=3)


@given(
    st.lists(st.tuples(cells, cells, st.booleans()), min_size=1, max_size=10), st.integers(2 * LONGEST_WORD + 1, 140)
)
def test_a_table_fits_by_going_on_below_itself(rows: list[tuple[list[int], list[int], bool]], width: int) -> None:
    columns = [
        TextColumn("head", [" ".join("x" * length for length in cell) for cell in (first, second)], is_number)
        for first, second, is_number in rows
    ]
    blocks = lay_out(columns, width)
    for block in blocks:
        assert sum(block.widths) + block.gap * (len(block.widths) - 1) <= width
        assert all(least >= columns[n].least for n, least in zip(block.columns, block.widths, strict=True))
    n_key = len(columns) if len(blocks) == 1 else min(a for a, b in enumerate(blocks[1].columns) if a != b)
    shown = [n for block in blocks for n in block.columns[0 if block is blocks[0] else n_key :]]
    assert shown == list(range(len(columns)))


def test_colours_are_printed_where_the_terminal_has_them_and_nowhere_else() -> None:
    sheet = Sheet(title="Title", lead="Lead.", cautions=("Care.",))
    assert "\x1b[1mTitle" in render_sheet(sheet, 1, colours="truecolor")
    assert "\x1b" not in render_sheet(sheet, 1)
