"""Calendars as bars: nothing overlaps or is lost, with 5, 15 and 40 courses, on a screen and on paper."""

from __future__ import annotations

import re
import shutil
import xml.etree.ElementTree as ET
from datetime import date
from itertools import combinations

import pytest
from small_company import build_competencies, build_scale, build_snapshot

from api.diagrams.calendar import build_calendar_picture, count_pages
from api.diagrams.calendar_axis import Axis
from api.diagrams.metrics import measure
from api.diagrams.render import render
from api.diagrams.sheet import PageError
from ontology.analysis.paths.learning_path import find_path_to_levels
from ontology.analysis.profiles.levels import Profile
from ontology.analysis.schedule.schedule import ScheduleResult, plan_schedule
from ontology.graph.snapshot import Snapshot

SVG = "{http://www.w3.org/2000/svg}"
ON = date(2026, 11, 24)
PROFILE = Profile({}, study_hours_per_week=6.0)


def plan(size: int) -> tuple[Snapshot, ScheduleResult]:
    """Return `size` courses of several lengths, every third of which waits for the one before."""
    ids = [f"c{i:02}" for i in range(size)]
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(ids)),
        courses=[
            {"id": i, "label": f"Course {n} with a name of its own", "hours": 4.0 + n % 5 * 6, "weeks": float(n % 7)}
            for n, i in enumerate(ids)
        ],
        outcomes=[{"course": i, "competency": i, "level": 1} for i in ids],
        entry_conditions=[{"course": ids[n], "competency": ids[n - 1], "level": 1} for n in range(1, size, 3)],
    )
    path = find_path_to_levels(snapshot, PROFILE, dict.fromkeys(ids, 1))
    result = plan_schedule(snapshot, PROFILE, path, on=ON, holidays=[date(2026, 12, 25)], max_nodes=500)
    assert len(result.courses) == size
    return snapshot, result


@pytest.fixture(scope="module", params=[5, 15, 40])
def drawn(request: pytest.FixtureRequest) -> tuple[ScheduleResult, list[str]]:
    snapshot, result = plan(request.param)
    pages = [build_calendar_picture(snapshot, PROFILE, result).dot]
    numbers = range(1, count_pages(snapshot, PROFILE, result) + 1)
    papers = [build_calendar_picture(snapshot, PROFILE, result, layout="paper", page=page).dot for page in numbers]
    return result, [*pages, *papers]


def test_every_course_has_one_row_on_the_screen_and_one_on_paper(drawn: tuple[ScheduleResult, list[str]]) -> None:
    result, (screen, *papers) = drawn
    for dots in ([screen], papers):
        rows = [name for dot in dots for name in re.findall(r'^\t"?(course/[^/\s"]+)"? \[', dot, re.MULTILINE)]
        assert sorted(rows) == sorted(f"course/{course.id}" for course in result.courses)


def test_what_is_critical_is_told_by_a_word_and_not_by_colour_alone(drawn: tuple[ScheduleResult, list[str]]) -> None:
    result, (screen, *_) = drawn
    critical = sum(course.is_critical for course in result.courses)
    assert critical
    assert len(re.findall(r", critical</FONT>", screen)) == critical


@pytest.mark.needs_dot
@pytest.mark.skipif(shutil.which("dot") is None, reason="the Graphviz program dot is not installed")
def test_no_card_stands_on_another_and_none_outside_the_picture(drawn: tuple[ScheduleResult, list[str]]) -> None:
    for dot in drawn[1]:
        root = ET.fromstring(render(dot, "svg"))
        left, top, width, height = map(float, str(root.get("viewBox")).split())
        boxes = get_boxes(root)
        shift = re.search(r"translate\(([-\d.]+)[ ,]([-\d.]+)\)", str(root.find(f"{SVG}g").get("transform")))  # type: ignore[union-attr]
        assert shift is not None
        for name, (x0, y0, x1, y1) in boxes.items():
            assert left - 1 <= x0 + float(shift[1]) <= x1 + float(shift[1]) <= left + width + 1, name
            assert top - 1 <= y0 + float(shift[2]) <= y1 + float(shift[2]) <= top + height + 1, name
        for (name, one), (other, two) in combinations(boxes.items(), 2):
            apart = one[2] <= two[0] + 1 or two[2] <= one[0] + 1 or one[3] <= two[1] + 1 or two[3] <= one[1] + 1
            assert apart, (name, other)


def get_boxes(root: ET.Element) -> dict[str, tuple[float, float, float, float]]:
    """Return the bounds of the text of every node: cards with a border, words without."""
    boxes = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("class") != "node":
            continue
        xs, ys = [], []
        for shape in group.iter(f"{SVG}polygon"):
            for point in str(shape.get("points")).split():
                x, y = point.split(",")
                xs.append(float(x))
                ys.append(float(y))
        for text in group.iter(f"{SVG}text"):
            x, y, size = (float(str(text.get(name))) for name in ("x", "y", "font-size"))
            xs += [x, x + measure("".join(text.itertext()).strip(), size)]
            ys += [y - size * 0.8, y + size * 0.2]
        if xs:
            boxes[str(group.get("id"))] = (min(xs), min(ys), max(xs), max(ys))
    return boxes


def test_a_page_that_is_not_there_is_refused() -> None:
    snapshot, result = plan(15)
    with pytest.raises(PageError):
        build_calendar_picture(snapshot, PROFILE, result, layout="paper", page=99)
    with pytest.raises(PageError):
        build_calendar_picture(snapshot, PROFILE, result, page=2)


def test_the_same_schedule_gives_the_same_text() -> None:
    snapshot, result = plan(15)
    assert build_calendar_picture(snapshot, PROFILE, result) == build_calendar_picture(snapshot, PROFILE, result)


@pytest.mark.parametrize(
    ("last", "first_names"),
    [
        (date(2026, 12, 20), ["30 Nov", "7 Dec"]),
        (date(2027, 11, 24), ["Dec 2026", "Jan 2027"]),
        (date(2066, 1, 1), ["2030", "2035"]),
    ],
)
def test_an_axis_names_weeks_months_or_years_by_its_length(last: date, first_names: list[str]) -> None:
    axis = Axis(246, 1240, ON, last)
    assert [words for _, words in axis._iterate_names()][:2] == first_names
    assert axis.get_x(0) == 246
    assert axis.get_x(axis.days) == 1240
