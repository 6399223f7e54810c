"""Pictures for team leads: cover, staffing with its bottleneck, a cross-training plan before and after."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest
from picture_companies import build_team_company
from small_company import ON, build_competencies, build_scale, build_snapshot
from svg_parts import (
    NEEDS_DOT,
    find_lines_through_cards,
    find_overlaps,
    find_texts_outside,
    get_least_text_pt,
    get_links,
)

from api.diagrams.pictures import PageError, draw_coverage, draw_cross_training, draw_staffing
from api.diagrams.render import render
from api.diagrams.svg import get_text_alternative
from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.places.single_points import find_single_points_of_failure
from ontology.analysis.places.staffing import compute_staffing
from ontology.analysis.training.cross_training import plan_cross_training
from ontology.graph.snapshot import Snapshot


def draw_pages(draw: Callable[..., str]) -> list[str]:
    pages = [draw(layout="screen", page=1)]
    for number in range(1, 30):
        try:
            pages.append(draw(layout="paper", page=number))
        except PageError:
            break
    return pages


def draw_all(snapshot: Snapshot) -> dict[str, list[str]]:
    coverage = compute_coverage(snapshot, "t", ON)
    points = find_single_points_of_failure(snapshot, "t", ON)
    staffing = compute_staffing(snapshot, "t", ON)
    plan = plan_cross_training(snapshot, "t", ON)
    return {
        "cover": draw_pages(lambda **shown: draw_coverage(snapshot, coverage, points, **shown)),
        "staffing": draw_pages(lambda **shown: draw_staffing(snapshot, staffing, **shown)),
        "plan": draw_pages(lambda **shown: draw_cross_training(snapshot, coverage, plan, **shown)),
    }


@pytest.fixture(scope="module", params=[5, 15, 40])
def pictures(request: pytest.FixtureRequest) -> dict[str, list[str]]:
    return draw_all(build_team_company(request.param))


def build_two_posts(label: str = "Valve work", name: str = "Ada", **more: object) -> Snapshot:
    """Two places in one crew that only one person can fill, another person close to it, a course that mends it."""
    return build_snapshot(
        scales=build_scale(),
        competencies=[row | {"label": label} for row in build_competencies("v")],
        roles=[{"id": "post", "label": label}],
        requirements=[{"role": "post", "competency": "v", "level": 3}],
        courses=[{"id": "k", "label": label, "hours": 12, "coach_hours": 3}],
        outcomes=[{"course": "k", "competency": "v", "level": 3}],
        teams=[{"id": "t", "label": label}],
        people=[{"id": "p1", "name": name, "team": "t"}, {"id": "p2", "name": "Bo", "team": "t"}],
        assessments=[
            {"person": person, "competency": "v", "level": level, "date": ON, "source": "assessor"}
            for person, level in (("p1", 3), ("p2", 2))
        ],
        cover_needs=[{"team": "t", "competency": "v", "level": 3}],
        places=[{"id": "s", "team": "t", "role": "post", "count": 2}],
    )


# ---- staffing ----


def test_slots_that_compete_stand_with_the_too_few_people() -> None:
    snapshot = build_two_posts()
    dot = draw_staffing(snapshot, compute_staffing(snapshot, "t", ON))
    words = get_text_alternative(dot).description
    assert "1 of 2 places filled. 2 slots compete for 1 person." in words
    assert "empty; whole team" in dot
    assert "filled by Ada; whole team" in dot
    assert "closest: Bo, lacks Valve work level 3 (has 2)" in words
    assert "All who can fill what competes: Ada." in words
    # one line fills, the other could
    assert re.findall(r'"?person/p1"? -> "?slot/s/(\d)"?', dot) == ["2", "1"]
    assert "No roster law is checked" in words


def test_a_team_without_places_says_so() -> None:
    snapshot = build_snapshot(teams=[{"id": "t", "label": "Office"}])
    result = compute_staffing(snapshot, "t", ON)
    for page in draw_pages(lambda **shown: draw_staffing(snapshot, result, **shown)):
        assert "This team has no places yet." in get_text_alternative(page).description


# ---- before and after ----


def test_a_plan_shows_a_need_before_and_after_and_who_learns() -> None:
    snapshot = build_two_posts()
    coverage = compute_coverage(snapshot, "t", ON)
    plan = plan_cross_training(snapshot, "t", ON)
    for dot in draw_pages(lambda **shown: draw_cross_training(snapshot, coverage, plan, **shown)):
        words = get_text_alternative(dot).description
        assert "before: sole holder, 1 present, minimum 1, target 2" in words
        assert "after: covered, 2 present, minimum 1, target 2" in words
        assert "learning: Bo" in words
        assert "12\u00a0h, and 3\u00a0h of a coach" in words
        assert "An offer, not an order" in words


def test_nothing_to_learn_says_so() -> None:
    snapshot = build_snapshot(teams=[{"id": "t", "label": "Office"}])
    coverage, plan = compute_coverage(snapshot, "t", ON), plan_cross_training(snapshot, "t", ON)
    for page in draw_pages(lambda **shown: draw_cross_training(snapshot, coverage, plan, **shown)):
        assert "Nothing to do" in get_text_alternative(page).description


def test_who_stays_missing_is_told_with_the_reason() -> None:
    snapshot = build_team_company(15)
    coverage, plan = compute_coverage(snapshot, "t", ON), plan_cross_training(snapshot, "t", ON)
    assert plan.unmet
    words = get_text_alternative(draw_cross_training(snapshot, coverage, plan)).description
    for row in plan.unmet:
        assert f"Still missing: {row.missing} for " in words
        assert row.reason in words


# ---- all ----


def test_the_same_team_gives_the_same_bytes() -> None:
    assert draw_all(build_team_company(15)) == draw_all(build_team_company(15))


def test_every_page_has_words(pictures: dict[str, list[str]]) -> None:
    for pages in pictures.values():
        assert len(pages) >= 2
        for page in pages:
            title, description = get_text_alternative(page)
            assert title
            assert len(description) > 40


class TestDrawn:
    pytestmark = NEEDS_DOT

    def test_nothing_overlaps_and_no_line_passes_a_card(self, pictures: dict[str, list[str]]) -> None:
        for pages in pictures.values():
            for page in pages:
                root = ET.fromstring(render(page, "svg"))
                assert find_overlaps(root) == []
                assert find_lines_through_cards(root, page) == []
                assert find_texts_outside(root) == []
                assert get_least_text_pt(root) >= 8.99
                for link, words in get_links(root).items():
                    assert re.fullmatch(r"/api/(roles|competencies|people|teams)/[A-Za-z0-9._-]+", link)
                    assert words

    @pytest.mark.parametrize(
        "label", ["<b>bold?</b>", "a & b &lt;", 'say "stop"', "C:\\new\\N", "水道施設の管理", "]]>"]
    )
    def test_awkward_labels_come_out_as_written(self, label: str) -> None:
        for pages in draw_all(build_two_posts(label, label)).values():
            root = ET.fromstring(render(pages[0], "svg"))
            shown = [element.text for element in root.iter("{http://www.w3.org/2000/svg}text")]
            assert label in shown
            assert any(label in words for words in get_links(root).values())
