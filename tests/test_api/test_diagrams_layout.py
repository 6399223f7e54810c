"""Layouts that are computed here: letters, layers, blocks, columns. Nothing overlaps or is lost."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from api.diagrams.layers import Size, arrange_layers, fit_in_order
from api.diagrams.metrics import measure, wrap_to_width
from api.diagrams.old_cards import Key, Line, Ruler
from api.diagrams.packing import pack_blocks
from api.diagrams.placed_cards import build_fixed_card, get_natural_width, measure_rows
from api.diagrams.placed_heading import build_fixed_heading
from api.diagrams.sheet import FORMATS, Cell, Group, build_format, flow_columns, plan_pages

# ---- letters ----


@pytest.mark.parametrize(
    ("text", "thousandths", "is_bold"),
    [("Wim", 944 + 222 + 833, False), ("Wim", 944 + 278 + 889, True), ("1,000 h", 4 * 556 + 278 + 278 + 556, False)],
)
def test_widths_are_those_of_helvetica(text: str, thousandths: int, is_bold: bool) -> None:
    # Adobe Core 14 font metrics: Helvetica.afm and Helvetica-Bold.afm, entries WX; a slack of 1.5 % is added
    assert measure(text, 10, is_bold=is_bold) == pytest.approx(thousandths / 100 * 1.015)


def test_an_accented_letter_is_as_wide_as_its_base_and_a_combining_mark_takes_nothing() -> None:
    assert measure("é", 9) == measure("e", 9) == measure("e\u0301", 9)
    assert measure("水", 9) > measure("W", 9)


@given(st.text(max_size=120), st.floats(min_value=30, max_value=300), st.booleans())
def test_wrapped_text_is_never_wider_than_its_card(text: str, width: float, is_bold: bool) -> None:
    for line in wrap_to_width(text, width, 9, is_bold):
        assert measure(line, 9, is_bold=is_bold) <= width


def test_a_card_is_as_high_as_it_says() -> None:
    rows = [
        Line("Pump operation", 11, bold=True),
        Ruler(5, 3, 1, 2, "essential"),
        Line("a long line " * 8, max_lines=None),
    ]
    card = build_fixed_card(rows, 160, "#0072B2")
    assert (card.width, card.height) == (160, measure_rows(rows, 160))
    assert measure_rows(rows, 100) > card.height
    assert build_fixed_card(rows, 160, "#0072B2", height=300).height == 300
    assert get_natural_width([Line("Pump operation", 11, bold=True)], 60) == 60


def test_a_long_legend_goes_on_in_even_columns() -> None:
    keys = [Key("#0072B2", f"a mark with some words beside it, number {i}") for i in range(9)]
    heading = build_fixed_heading("Title", "", [keys], "", 600)
    assert heading.markup.count('HEIGHT="18"><TR>') >= 3
    assert heading.height > build_fixed_heading("Title", "", [keys[:2]], "", 600).height


# ---- layers ----


@st.composite
def acyclic_graphs(draw: st.DrawFn) -> tuple[dict[str, Size], list[tuple[str, str]]]:
    count = draw(st.integers(min_value=1, max_value=14))
    names = [f"n{i}" for i in range(count)]
    sides = st.floats(min_value=10, max_value=90)
    sizes = {name: Size(draw(sides), draw(sides)) for name in names}
    pairs = list(combinations(names, 2))
    edges = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=20)) if pairs else []
    return sizes, edges


@settings(max_examples=60, deadline=None)
@given(acyclic_graphs())
def test_layers_lead_forward_and_nothing_overlaps(graph: tuple[dict[str, Size], list[tuple[str, str]]]) -> None:
    sizes, edges = graph
    done = arrange_layers(sizes, edges, dict.fromkeys(sizes, 20.0), 8)
    boxes = {
        name: (along, across, along + sizes[name].along, across + sizes[name].across)
        for name, (along, across) in done.places.items()
    }
    assert boxes.keys() == sizes.keys()
    for tail, head in edges:
        assert boxes[tail][2] + 19.99 <= boxes[head][0]
    for one, two in combinations(boxes.values(), 2):
        assert one[2] <= two[0] or two[2] <= one[0] or one[3] + 7.99 <= two[1] or two[3] + 7.99 <= one[1]
    for box in boxes.values():
        assert box[0] >= -1e-6
        assert box[2] <= done.along + 1e-6
        assert box[1] >= -1e-6
        assert box[3] <= done.across + 1e-6
    # a line that passes a layer keeps away from the cards there
    for passed in done.passes.values():
        for (start, across), (end, _) in passed:
            for left, top, right, bottom in boxes.values():
                assert not (left < end and start < right and top < across < bottom)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.2, 3)), min_size=1, max_size=6), st.floats(0, 30))
def test_places_in_order_are_the_least_squares(items: list[tuple[float, float]], apart: float) -> None:
    wishes, weights = zip(*items, strict=True)
    found = fit_in_order(wishes, weights, [apart] * (len(items) - 1))
    for first, second in pairwise(found):
        assert second - first >= apart - 1e-6

    def cost(places: np.ndarray) -> float:
        return float(sum(w * (p - wish) ** 2 for p, wish, w in zip(places, wishes, weights, strict=True)))

    # reference: the general solver of scipy (SLSQP) on the same problem
    limits = [{"type": "ineq", "fun": lambda p, i=i: p[i + 1] - p[i] - apart} for i in range(len(items) - 1)]
    start = np.arange(len(items)) * (apart + 1.0)
    solved = minimize(cost, start, constraints=limits, method="SLSQP", options={"maxiter": 500})
    assert cost(np.array(found)) <= cost(solved.x) + 1e-3


# ---- blocks on pages ----


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.tuples(st.floats(10, 300), st.floats(10, 400)), min_size=1, max_size=20),
    st.floats(0, 200),
)
def test_blocks_lie_apart_and_inside_their_page(sizes: list[tuple[float, float]], first: float) -> None:
    spots = pack_blocks(sizes, 300, 400, 10, first)
    assert len(spots) == len(sizes)
    boxes = [
        (spot.page, spot.x, spot.y, spot.x + width, spot.y + height)
        for spot, (width, height) in zip(spots, sizes, strict=True)
    ]
    for page, left, top, right, bottom in boxes:
        assert left >= 0
        assert right <= 300.001
        assert top >= (first if page == 0 else 0)
        assert bottom <= 400.001
    for one, two in combinations(boxes, 2):
        if one[0] == two[0]:
            assert one[3] <= two[1] or two[3] <= one[1] or one[4] <= two[2] or two[4] <= one[2]


# ---- columns ----


def build_groups(lengths: list[int], lines: int = 2) -> list[Group]:
    return [
        Group(
            f"g{number}",
            f"Group {number}",
            tuple(
                Cell(
                    f"{number}-{i}",
                    (Line(f"Card {i}", 11), *[Line("words " * 3)] * (1 + (i * 7) % lines)),
                    "#0072B2",
                    "",
                )
                for i in range(length)
            ),
        )
        for number, length in enumerate(lengths)
    ]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 30), min_size=1, max_size=8), st.integers(1, 6), st.integers(0, 200))
def test_cards_keep_their_order_and_pages_their_height(lengths: list[int], lines: int, first: int) -> None:
    groups = build_groups(lengths, lines)
    plan = plan_pages(groups, [(sheet, 100, first) for sheet in FORMATS])
    placed = [cell.name for page in plan.pages for column in page for piece in column for cell in piece.cells]
    assert placed == [cell.name for group in groups for cell in group.cells]
    width = plan.format.column_width
    for number, page in enumerate(plan.pages):
        assert len(page) <= plan.format.columns
        for position, column in enumerate(page):
            taken = sum(piece.measure(width) for piece in column) + 9 * max(0, len(column) - 1)
            taken += first if number == 0 and position == 0 else 0
            assert taken <= plan.format.room - 100
    for group in groups:
        pieces = [p for page in plan.pages for column in page for p in column if p.group.key == group.key]
        assert [piece.part for piece in pieces] == list(range(len(pieces)))
        assert {piece.parts for piece in pieces} == {len(pieces)}


def test_the_columns_of_the_last_page_end_at_about_the_same_height() -> None:
    groups = build_groups([20, 20])
    columns = flow_columns(groups, 1220, 5)
    heights = [sum(piece.measure(236) for piece in column) for column in columns]
    assert len(heights) == 5
    assert max(heights) - min(heights) <= 0.35 * max(heights)


def test_a_few_cards_stand_whole_in_wide_columns() -> None:
    plan = plan_pages(build_groups([5]), [(sheet, 100, 60) for sheet in FORMATS])
    assert (plan.format.columns, sum(len(column) for column in plan.pages[0])) == (2, 1)


def test_full_pages_come_before_the_last_one() -> None:
    plan = plan_pages(build_groups([60]), [(build_format("A4 portrait", 3), 100, 0)])
    assert len(plan.pages) > 1
    for page in plan.pages[:-1]:
        for column in page:
            assert sum(piece.measure(plan.format.column_width) for piece in column) > 0.85 * (plan.format.room - 100)
