"""The picture of a team's cover: what is short or hangs on one person is drawn, the rest stands in lists."""

from __future__ import annotations

import re

import pytest
from drawn import WITHOUT_DOT, check_picture, read_links, read_texts, read_tooltips
from picture_cases import draw_coverage, iterate_pages, load_scenario
from picture_companies import build_sized_company, build_team_company
from small_company import ON, build_competencies, build_scale, build_snapshot

from api.pictures import pictures
from api.pictures.svg import get_text_alternative
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.snapshot.snapshot import Snapshot

pytestmark = [WITHOUT_DOT, pytest.mark.needs_dot]


def build_team(holders: dict[str, str] | None = None) -> Snapshot:
    """A team in which one need is short, one hangs on p1, one has no reserve and one is covered."""
    holders = holders or {"sole": "p1", "short": "", "covered": "p1 p2 p3", "reserve": "p2 p3"}
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies(" ".join(holders)),
        teams=[{"id": "t", "label": "Laboratory"}],
        people=[{"id": f"p{i}", "name": f"Person {i}", "team": "t"} for i in range(1, 10)],
        assessments=[
            {"person": person, "competency": competency, "level": 3, "date": ON, "source": "assessor"}
            for competency, people in holders.items()
            for person in people.split()
        ],
        cover_needs=[
            {"team": "t", "competency": i, "level": 3, "minimum": 2 if i == "reserve" else 1} for i in holders
        ],
    )


def draw(snapshot: Snapshot, away: str = "") -> str:
    absent = frozenset(away.split())
    coverage = compute_coverage(snapshot, "t", ON, absent)
    return pictures.draw_coverage(snapshot, coverage, find_single_points_of_failure(snapshot, "t", ON, absent))


def read_lines(dot: str) -> dict[tuple[str, str], tuple[float, str]]:
    """Return person and port of every line, with its width and pen."""
    found = re.findall(r'"person/(\w+)":e -> needs:(n\d+):w \[.*?penwidth="?([\d.]+)"?.*?style=(\w+)', dot)
    return {(person, port): (float(width), pen) for person, port, width, pen in found}


def test_what_is_short_or_hangs_on_one_is_drawn_worst_first_and_the_rest_listed() -> None:
    svg = check_picture(draw(build_team()))
    texts = read_texts(svg)
    for first, second in (("SHORT, level 3", "SOLE, level 3"), ("RESERVE", "COVERED")):
        assert texts.index(first) < texts.index(second)
    for told in (
        "4 needs: 1 short, 1 sole holder, 1 no reserve, 1 covered. 3 single points of failure.",
        "short: 0 of at least 1 present; criticality 3",
        "sole holder: 1 of at least 1 present; criticality 3",
    ):
        assert told in texts


def test_a_single_point_says_what_falls_in_a_card_or_in_a_list() -> None:
    texts = read_texts(check_picture(draw(build_team())))
    assert "if away: 1 need short" in texts
    assert texts.count("RESERVE (level\u00a03) short") == 2


def test_someone_lent_stands_in_the_shift_they_are_in_that_day() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("sole"),
        teams=[{"id": i, "label": i} for i in "tu"],
        shifts=[{"id": i, "team": i[0], "label": f"Shift {i}"} for i in ("t1", "u1")],
        people=[{"id": "p1", "name": "Person 1", "team": "u", "shift": "u1"}],
        memberships=[{"person": "p1", "team": "t", "from_date": ON, "shift": "t1"}],
        assessments=[{"person": "p1", "competency": "sole", "level": 3, "date": ON, "source": "assessor"}],
        cover_needs=[{"team": "t", "competency": "sole", "level": 3}],
    )
    texts = read_texts(check_picture(draw(snapshot)))
    assert "Shift t1" in texts
    assert "Shift u1" not in texts


def test_lines_tell_the_only_one_from_one_of_several_and_from_who_is_away() -> None:
    dot = draw(build_team({"sole": "p1 p2", "two": "p3"}), "p2")
    assert read_lines(dot) == {("p1", "n0"): (3, "solid"), ("p2", "n0"): (1.2, "dashed"), ("p3", "n1"): (3, "solid")}
    texts = read_texts(check_picture(dot))
    assert "no shift, away" in texts
    assert "Thick line: the only one present. Dashed line: able, but away." in texts
    assert "Away: Person 2." in get_text_alternative(dot).description


def test_so_many_able_people_that_lines_could_not_be_followed_become_names() -> None:
    dot = draw(build_team({"many": "p1 p2 p3 p4 p5 p6 p7"}), "p1 p2 p3 p4 p5 p6 p7")
    assert not read_lines(dot)
    assert any(text.startswith("able: Person 1 (away), Person 2 (away)") for text in read_texts(check_picture(dot)))


def test_a_team_in_which_nothing_is_fragile_says_so_and_lists_its_needs() -> None:
    dot = draw(build_team({"a": "p1 p2 p3", "b": "p3 p4 p5"}))
    texts = read_texts(check_picture(dot))
    assert "No need is short, and none hangs on one person." in texts
    assert {"A", "B"} <= set(texts)


def test_a_team_without_needs_says_so() -> None:
    snapshot = build_snapshot(teams=[{"id": "t", "label": "Office"}])
    assert "This team has no cover needs yet." in read_texts(check_picture(draw(snapshot)))


def test_a_need_of_each_shift_names_the_fragile_ones_and_has_the_others_in_the_tooltip() -> None:
    svg = check_picture(draw_coverage(load_scenario(), "treatment")(layout="screen", page=1))
    texts = read_texts(svg)
    assert "short: 0 of at least 1 present, Night crew; criticality 5" in texts
    assert "Early crew (least of 3)" in texts
    assert any("Early crew, present: " in tip and "Late crew, present: " in tip for tip in read_tooltips(svg))


@pytest.mark.parametrize("size", [5, 15, 40])
def test_every_need_stands_on_exactly_one_page(size: int) -> None:
    snapshot = build_team_company(size)
    counts = {need.competency: 0 for need in compute_coverage(snapshot, "t", ON).needs}
    for page in iterate_pages(draw_coverage(snapshot, "t")):
        links = read_links(check_picture(page))
        for competency in counts:
            counts[competency] += f"/competencies/{competency}" in links
    assert set(counts.values()) == {1}


def test_the_order_of_rows_changes_no_byte() -> None:
    assert draw(build_sized_company(7)) == draw(build_sized_company(7, is_reversed=True))


def test_cover_defers_to_the_employer_and_the_law() -> None:
    told = get_text_alternative(draw(build_team())).description
    assert "not permission to work" in told
    assert "No roster law is checked" in told
    assert "no ground to refuse leave" in told
