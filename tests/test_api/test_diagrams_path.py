"""A learning path as an AND/OR picture: conditions joined, alternatives told, what waits for what."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import Any

import pytest
from picture_companies import build_course_company
from small_company import build_competencies, build_scale, build_snapshot
from svg_parts import (
    AWKWARD,
    NEEDS_DOT,
    find_lines_through_cards,
    find_overlaps,
    find_texts_outside,
    get_curves,
    get_least_text_pt,
    get_links,
    get_texts,
)

from api.diagrams.path_nodes import build_parts
from api.diagrams.pictures import PageError, draw_learning_path
from api.diagrams.render import render
from api.diagrams.svg import get_text_alternative
from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path
from ontology.analysis.profiles.levels import Profile
from ontology.graph.snapshot import Snapshot

Case = tuple[Snapshot, Profile, LearningPathResult]
TIE = "\u00a0"


def build_case(n_courses: int) -> Case:
    snapshot = build_course_company(n_courses)
    profile = Profile({"c1": 2, "c3": 2})
    return snapshot, profile, find_learning_path(snapshot, profile, "goal")


@pytest.fixture(scope="module", params=[8, 22, 60])
def case(request: pytest.FixtureRequest) -> Case:
    """About 5, 15 and 40 courses."""
    return build_case(request.param)


def draw_pages(case: Case) -> list[str]:
    pages = []
    for number in range(1, 40):
        try:
            pages.append(draw_learning_path(*case, layout="paper", page=number))
        except PageError:
            break
    return pages


def build_small(**more: Any) -> Case:
    """Two courses give what a third one needs, a fourth gives one of them again; the third reaches the target."""
    courses = {"ka": 10, "kb": 12, "kc": 20, "kd": 30, "ke": 44}
    outcomes = [("ka", "a", 2), ("kb", "b", 2), ("kb", "a", 2), ("kc", "c", 3), ("kd", "d", 1), ("ke", "c", 3)]
    asked = [("kc", "a", 2), ("kc", "b", 2), ("kc", "h", 1), ("ke", "d", 1)]
    tables: dict[str, Any] = {
        "scales": build_scale(),
        "competencies": build_competencies("a b c d h"),
        "roles": [{"id": "goal", "label": "Goal"}],
        "requirements": [
            {"role": "goal", "competency": "c", "level": 3},
            {"role": "goal", "competency": "h", "level": 1},
        ],
        "courses": [{"id": i, "label": i.upper(), "hours": hours} for i, hours in courses.items()],
        "outcomes": [{"course": k, "competency": c, "level": level} for k, c, level in outcomes],
        "entry_conditions": [{"course": k, "competency": c, "level": level} for k, c, level in asked],
    }
    snapshot = build_snapshot(**(tables | more))
    profile = Profile({"h": 1})
    return snapshot, profile, find_learning_path(snapshot, profile, "goal")


# ---- what is said ----


def test_what_a_course_needs_is_joined_and_what_is_held_is_told() -> None:
    case = build_small()
    assert [course.id for course in case[2].courses] == ["kb", "kc"]
    dot = draw_learning_path(*case)
    assert dot.count("label=<all 2>") == 1
    assert f"needs too, held already: H (level{TIE}1)".replace(TIE, "\u00a0") in re.sub(r"<BR[^>]*>", " ", dot)
    assert "else by KA (10" in re.sub(r"<BR[^>]*>", " ", dot)
    assert "else by KE (44" in re.sub(r"<BR[^>]*>", " ", dot)
    words = get_text_alternative(dot).description
    assert "Step 1: KB, 12 h, reaches A (level\u00a02), B (level\u00a02), needed for step 2." in words
    assert "Held already: H (level 1)." in words


def test_a_level_that_several_courses_of_the_path_reach_is_reached_by_any_of_them() -> None:
    # B is a target too, and only KA reaches E: both courses are taken, either would do for A
    more = {
        "competencies": build_competencies("a b c d h e"),
        "requirements": [{"role": "goal", "competency": i, "level": 1} for i in ("c", "e")],
    }
    snapshot, profile, _ = build_small(**more)
    tables = {name: list(snapshot.get_table(name).values()) for name in ("scales", "competencies", "roles", "courses")}
    rows = build_snapshot(
        scales=build_scale(),
        competencies=more["competencies"],
        outcomes=[
            {"course": "ka", "competency": "a", "level": 2},
            {"course": "ka", "competency": "e", "level": 1},
            {"course": "kb", "competency": "a", "level": 2},
            {"course": "kb", "competency": "b", "level": 2},
            {"course": "kc", "competency": "c", "level": 1},
        ],
        entry_conditions=[{"course": "kc", "competency": i, "level": 2} for i in ("a", "b")],
    )
    for name in ("outcomes", "entry_conditions"):
        tables[name] = list(rows.get_table(name).values())
    tables["requirements"] = list(snapshot.get_table("requirements").values())
    both = Snapshot(tables)
    result = find_learning_path(both, profile, "goal")
    assert {course.id for course in result.courses} == {"ka", "kb", "kc"}
    dot = draw_learning_path(both, profile, result)
    assert dot.count("label=<any of 2>") == 1
    assert dot.count("label=<all 2>") == 1
    assert "reached by any one of steps 1, 2" in dot


def test_a_course_waits_for_no_later_one(case: Case) -> None:
    snapshot, profile, result = case
    steps = {f"course/{course.id}": number for number, course in enumerate(result.courses, start=1)}
    conditions = {(row.course, row.competency, row.level) for row in snapshot.get_table("entry_conditions").values()}
    drawn = set()
    for part in build_parts(snapshot, profile, result):
        order = list(part.nodes)
        for tail, head in part.edges:
            assert order.index(tail) < order.index(head)
            if head in steps:
                _, competency, level = tail.split("/")
                drawn.add((head.split("/")[1], competency, int(level)))
                givers = [t for t, h in part.edges if h == tail]
                assert min(steps[giver] for giver in givers) < steps[head]
    taken = {course.id for course in result.courses}
    expected = {row for row in conditions if row[0] in taken and profile.get(row[1]) < row[2]}
    assert drawn == expected


def test_every_course_and_target_stands_on_some_page(case: Case) -> None:
    snapshot, _, result = case
    pages = draw_pages(case)
    found = {link for text in pages for link in re.findall(r'URL="/api/courses/([^"]+)"', text)}
    assert found == {course.id for course in result.courses}
    levels = {link for text in pages for link in re.findall(r'URL="/api/competencies/([^"]+)"', text)}
    reached = {row.competency for row in snapshot.get_requirements("goal")}
    told = {i for i in reached if any(snapshot.competencies[i].label in text for text in pages)}
    assert reached <= levels | told
    for number, text in enumerate(pages, start=1):
        if len(pages) > 1:
            assert f"(page {number} of {len(pages)})" in get_text_alternative(text).title


def test_a_path_that_nothing_leads_on_is_a_page_too() -> None:
    snapshot, _, _ = build_case(8)
    profile = Profile({f"c{i}": 5 for i in range(8)})
    result = find_learning_path(snapshot, profile, "goal")
    (page,) = draw_pages((snapshot, profile, result))
    assert "Nothing to do" in get_text_alternative(page).description
    assert "Held already (" in page


# ---- drawn ----


class TestDrawn:
    pytestmark = NEEDS_DOT

    def test_nothing_overlaps_and_no_line_passes_a_card(self, case: Case) -> None:
        for text in [draw_learning_path(*case), *draw_pages(case)]:
            root = ET.fromstring(render(text, "svg"))
            assert find_overlaps(root) == []
            assert get_least_text_pt(root) >= 8.99
            assert find_texts_outside(root) == []
            assert find_lines_through_cards(root, text) == []

    def test_forty_courses_are_drawn_with_links(self) -> None:
        case = build_case(60)
        assert len(case[2].courses) >= 38
        dot = draw_learning_path(*case)
        links = get_links(ET.fromstring(render(dot, "svg")))
        for course in case[2].courses:
            assert links[f"/api/courses/{course.id}"].startswith("Step ")
        assert len(get_curves(dot)) >= 60

    @pytest.mark.parametrize("label", AWKWARD)
    def test_awkward_labels_come_out_as_written(self, label: str) -> None:
        snapshot = build_snapshot(
            scales=build_scale(),
            competencies=[row | {"label": label} for row in build_competencies("c h x")],
            roles=[{"id": "goal", "label": label}],
            requirements=[{"role": "goal", "competency": i, "level": 1} for i in "chx"],
            courses=[{"id": "k", "label": label, "hours": 20, "method": label}],
            outcomes=[{"course": "k", "competency": "c", "level": 1}],
            entry_conditions=[{"course": "k", "competency": "h", "level": 1}],
        )
        profile = Profile({"h": 1})
        case = (snapshot, profile, find_learning_path(snapshot, profile, "goal"))
        for text in [draw_learning_path(*case), *draw_pages(case)]:
            root = ET.fromstring(render(text, "svg"))
            # course, level, target
            assert get_texts(root).count(label) >= 3
            assert any(label in words for words in get_links(root).values())
