"""A learning path as a picture: what each course needs and brings, what else could be taken, what is not reached."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from asking import ROLE, find
from drawn import AWKWARD, WITHOUT_DOT, check_picture, get_paper_scale, measure, read_links, read_texts, read_tooltips
from picture_cases import iterate_pages
from picture_companies import build_course_company, build_sized_company
from small_company import ON, build_competencies, build_scale, build_snapshot

from api.pictures.path_steps import build_steps, rank_steps
from api.pictures.pictures import draw_learning_path
from api.pictures.svg import get_text_alternative
from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.snapshot.snapshot import Snapshot

pytestmark = [WITHOUT_DOT, pytest.mark.needs_dot]

Case = tuple[Snapshot, Profile, LearningPathResult]
TIE = "\u00a0"


@cache
def build_case(n_courses: int) -> Case:
    snapshot = build_course_company(n_courses)
    profile = Profile({"c1": 2, "c3": 2})
    return snapshot, profile, find_learning_path(snapshot, profile, "goal")


#: About 5, 15, 40 and 70 courses.
SIZES = (8, 22, 60, 90)


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
    return snapshot, profile, find_learning_path(snapshot, profile, "goal", alternatives=2)


def read_edges(dot: str) -> set[tuple[str, str]]:
    return set(re.findall(r'"course/([\w.-]+)":e -> "course/([\w.-]+)":w', dot))


# ---- what is said ----


def test_a_card_says_what_a_course_brings_for_which_and_what_is_held_is_told() -> None:
    case = build_small()
    assert [course.id for course in case[2].courses] == ["kb", "kc"]
    dot = draw_learning_path(*case)
    texts = read_texts(check_picture(dot))
    for told in ("KB", "12\u00a0h", f"A{TIE}2", "for 2", f"C{TIE}3", "target"):
        assert told in texts
    assert read_edges(dot) == {("kb", "kc")}
    words = get_text_alternative(dot).description
    assert f"Step 1: KB, 12{TIE}h; brings A{TIE}2 (for 2), B{TIE}2 (for 2)." in words
    assert f"Step 2: KC, 20{TIE}h; brings C{TIE}3 (target); needs A{TIE}2, B{TIE}2 of step 1" in words
    assert f"needs, held already: H{TIE}1" in words
    assert f"Held already: H{TIE}1." in words


def test_what_else_could_be_taken_stands_in_a_list_and_who_else_teaches_in_the_tooltip() -> None:
    case = build_small()
    svg = check_picture(draw_learning_path(*case))
    texts = read_texts(svg)
    other = case[2].alternatives
    assert other
    start = texts.index("instead of")
    assert texts[start : start + 3] == ["instead of", "you can take", "more hours"]
    assert f"+{other[0].more_hours:g} h" in texts
    assert any("taught too by KA (10 h)" in tip for tip in read_tooltips(svg))


def test_all_lines_into_a_course_come_from_the_first_that_brings_what_it_asks() -> None:
    for size in SIZES[:3]:
        snapshot, profile, result = build_case(size)
        order = {course.id: number for number, course in enumerate(result.courses, start=1)}
        asked = [row for row in snapshot.get_table("entry_conditions").values() if row.course in order]
        expected = set()
        for row in asked:
            if profile.get(row.competency) >= row.level:
                continue
            gives = [
                outcome.course
                for outcome in snapshot.get_outcomes_of_competency(row.competency)
                if outcome.level >= row.level and outcome.course in order
            ]
            expected.add((min(gives, key=lambda i: order[i]), row.course))
        steps = {step.number: step for step in build_steps(snapshot, profile, result)}
        found = {(steps[n].course.id, step.course.id) for step in steps.values() for n in step.needs}
        assert found == expected
        # what is not a line is a word on the card
        dot = draw_learning_path(snapshot, profile, result)
        for tail, head in expected - read_edges(dot):
            card = re.search(rf'"course/{head}" \[label=<(.*)> URL', dot)
            assert card
            assert re.search(rf"after [\d, ]*\b{order[tail]}\b", card[1])


def test_ranks_lead_forward() -> None:
    steps = build_steps(*build_case(60))
    ranks = rank_steps(steps)
    assert all(ranks[number] < ranks[step.number] for step in steps for number in step.needs)


def test_a_path_names_its_courses_in_order_with_hours_and_cautions() -> None:
    snapshot = build_sized_company(5)
    profile = Profile({"c0": 1}, kind="role", held_by="now", role="now")
    result = find_learning_path(snapshot, profile, "goal")
    dot = draw_learning_path(snapshot, profile, result)
    title, words = get_text_alternative(dot)
    assert title == "Learning path of someone at full level as Assistant to Supervisor"
    assert f"{len(result.courses)} courses, {result.study_hours:g} study hours" in words
    for step, course in enumerate(result.courses, start=1):
        assert f"Step {step}: {course.label}, {course.study_hours:g}{TIE}h" in words
        assert f'"course/{course.id}"' in dot
    assert "An offer to learn, not a promise of a post" in words
    assert "not permission to work; only the employer's appointment and the local code give that" in words


def test_a_level_out_of_reach_is_listed_with_its_reason() -> None:
    company = build_sized_company(5)
    records = {name: list(company.get_table(name).values()) for name in ("scales", "competencies", "roles")}
    snapshot = Snapshot(records | {"requirements": list(company.get_table("requirements").values())})
    result = find_learning_path(snapshot, Profile({}), "goal")
    dot = draw_learning_path(snapshot, Profile({}), result)
    texts = read_texts(check_picture(dot))
    assert "not reached" in texts
    assert f"Competency number 0{TIE}3" in texts
    assert result.unreachable[0].reason.rstrip(".") in get_text_alternative(dot).description


def test_nothing_to_do_and_an_unproved_path_say_so() -> None:
    snapshot = build_sized_company(5)
    able = Profile({f"c{i}": 3 for i in range(5)})
    dot = draw_learning_path(snapshot, able, find_learning_path(snapshot, able, "goal"))
    assert "Nothing to do: every target level is held already." in read_texts(check_picture(dot))
    found = find_learning_path(snapshot, Profile({}), "goal")
    told = draw_learning_path(snapshot, Profile({}), replace(found, status="feasible", lower_bound=7.5))
    assert "best found in the time given; no path takes less than 7.5 study hours" in told


def test_certificates_are_shown_and_the_rest_is_assessed() -> None:
    case = build_small(
        competencies=[*build_competencies("a b d h"), *build_competencies("c", kind="certificate")],
    )
    snapshot, profile, result = case
    asked = replace(result, assess_first=("c", "h"))
    texts = read_texts(check_picture(draw_learning_path(snapshot, profile, asked)))
    assert "Show proof of: C." in texts
    assert "Assess first: H." in texts


def test_a_course_on_the_way_to_a_level_beyond_the_budget_says_towards_what_it_leads() -> None:
    company = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("weld"),
        roles=[{"id": "fitter", "label": "Fitter"}, {"id": "none", "label": "None"}],
        requirements=[{"role": "fitter", "competency": "weld", "level": 3}],
        courses=[{"id": "first", "label": "First", "hours": 2.0}, {"id": "then", "label": "Then", "hours": 9.0}],
        outcomes=[
            {"course": "first", "competency": "weld", "level": 2},
            {"course": "then", "competency": "weld", "level": 3},
        ],
        entry_conditions=[{"course": "then", "competency": "weld", "level": 2}],
    )
    for hours, courses, told in ((4.0, ["first"], "towards a target"), (20.0, ["first", "then"], "for 2")):
        path = find(company, "learning-path", ROLE, "fitter", from_role="none", on=ON, max_hours=hours, alternatives=0)
        profile = build_role_profile(company, "none")
        texts = read_texts(check_picture(draw_learning_path(company, profile, path)))
        assert [course.id for course in path.courses] == courses
        assert told in texts
        assert ("not reached" in texts) == (hours == 4.0)


# ---- drawn ----


@pytest.mark.parametrize("size", SIZES)
def test_every_course_is_drawn_or_listed_and_the_width_is_kept(size: int) -> None:
    case = build_case(size)
    dot = draw_learning_path(*case)
    links = read_links(check_picture(dot))
    assert {f"/courses/{course.id}" for course in case[2].courses} <= set(links)
    assert measure(dot).width_px <= 1410
    assert dot == draw_learning_path(*build_case.__wrapped__(size))


@pytest.mark.parametrize("size", SIZES)
def test_every_course_and_line_of_a_list_stands_on_one_page_of_a4(size: int) -> None:
    case = build_case(size)
    pages = list(iterate_pages(lambda **shown: draw_learning_path(*case, **shown)))
    found = [i for dot in pages for i in re.findall(r'(?:URL|HREF)="/courses/([^"]+)"', dot)]
    assert sorted(found) == sorted(course.id for course in case[2].courses)
    for dot in pages:
        check_picture(dot)
        assert get_paper_scale(dot) >= 0.75


@pytest.mark.parametrize("label", AWKWARD)
def test_awkward_labels_come_out_as_written(label: str) -> None:
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
    for dot in (draw_learning_path(*case), *iterate_pages(lambda **shown: draw_learning_path(*case, **shown))):
        svg = check_picture(dot)
        if len(label) < 24 and label.strip() and label.isprintable():
            assert label in read_texts(svg)
            assert any(label in tip for tip in read_tooltips(svg))
