"""The stair of a way: one scale for all, numerals only, flat where a role teaches."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from api.pages.stair import Climb, build_scale, write_stair

THROUGH = (Climb(154, 6, 18), Climb(78, 3, 0))
DIRECT = (Climb(378, 14, 0),)
SCALE = build_scale([THROUGH, DIRECT])


def read(svg: str) -> ET.Element:
    return ET.fromstring(str(svg))


def test_one_scale_has_room_for_every_stair() -> None:
    assert SCALE.hours > 378
    assert SCALE.months > 27
    assert (SCALE.hour_lines, SCALE.month_lines) == ((0, 100, 200, 300), (0, 6, 12, 18, 24))


def test_the_line_climbs_while_one_studies_and_is_flat_in_the_role() -> None:
    (line,) = read(write_stair(THROUGH, SCALE)).iter("polyline")
    points = [tuple(map(float, point.split(","))) for point in line.attrib["points"].split()]
    months_hours = [(0, 0), (6, 154), (24, 154), (27, 232)]
    assert points == [(SCALE.get_x(months), SCALE.get_y(hours)) for months, hours in months_hours]


def test_numerals_stand_in_the_middle_of_the_flat_and_at_the_end_and_nothing_else_is_written() -> None:
    svg = read(write_stair(THROUGH, SCALE))
    marks = [(mark.attrib["class"], float(mark.attrib["cx"])) for mark in svg.iter("circle")]
    assert marks == [("stay", SCALE.get_x(15)), ("end", SCALE.get_x(27))]
    assert all(re.fullmatch(r"\d+", text.text or "") for text in svg.iter("text"))
    assert "style" not in write_stair(THROUGH, SCALE)


def test_everything_lies_inside_the_picture() -> None:
    for climbs in (THROUGH, DIRECT, (Climb(0, 0, 0),)):
        svg = read(write_stair(climbs, build_scale([climbs])))
        _, _, width, height = map(float, svg.attrib["viewBox"].split())
        for mark in svg.iter("circle"):
            assert 9 <= float(mark.attrib["cx"]) <= width - 9
            assert 9 <= float(mark.attrib["cy"]) <= height - 9


def test_the_words_for_who_does_not_see_it_are_its_name() -> None:
    svg = read(write_stair(THROUGH, SCALE))
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-label"] == (
        "1: 154 hours of study in 6 months, then 18 months in the role. 2: 78 hours of study in 3 months."
    )


def test_a_way_out_of_reach_is_dashed() -> None:
    assert "stroke-dasharray" in write_stair(DIRECT, SCALE, is_dashed=True)
    assert "stroke-dasharray" not in write_stair(DIRECT, SCALE)


@pytest.mark.parametrize(("hours", "months"), [(0, 0), (1, 0.2), (3, 2), (5001, 130), (90_000, 5000)])
def test_lines_are_few_whole_and_begin_at_nothing(hours: float, months: float) -> None:
    scale = build_scale([(Climb(hours, months, 0),)])
    for lines, most in ((scale.hour_lines, 4), (scale.month_lines, 5)):
        assert lines[0] == 0
        assert len(lines) <= most
        assert len({b - a for a, b in pairwise(lines)}) <= 1


def test_a_way_of_a_few_weeks_has_more_than_its_beginning_on_the_scale() -> None:
    assert build_scale([[Climb(44, 1.7, 0)]]).month_lines == (0, 1)
