"""What four pictures show, how they look, and that the same question gives the same bytes."""

from __future__ import annotations

import re
import shutil
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations

import pytest
from picture_companies import build_sized_company
from small_company import ON, build_competencies, build_scale, build_snapshot

from api.diagrams import old_style as style
from api.diagrams.neighbourhood import build_neighbourhood_picture
from api.diagrams.old_cards import format_levels
from api.diagrams.pictures import draw_competency, draw_learning_path, draw_role, draw_routes
from api.diagrams.render import render
from api.diagrams.role_model import build_role_picture
from api.diagrams.svg import get_text_alternative
from ontology.analysis.paths.learning_path import find_learning_path
from ontology.analysis.profiles.levels import Profile, build_profile
from ontology.analysis.routes.routes import find_routes
from ontology.errors import UnknownIdError
from ontology.graph.snapshot import Snapshot

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
WITHOUT_DOT = pytest.mark.skipif(shutil.which("dot") is None, reason="the Graphviz program dot is not installed")


def draw_all(snapshot: Snapshot) -> dict[str, str]:
    profile = build_profile(snapshot, "p0", ON)
    path = find_learning_path(snapshot, profile, "goal")
    routes = find_routes(snapshot, profile, "goal", preparation_limit=100.0)
    return {
        "role": draw_role(snapshot, "goal"),
        "competency": draw_competency(snapshot, "c0"),
        "learning-path": draw_learning_path(snapshot, profile, path),
        "routes": draw_routes(snapshot, profile, routes),
    }


NAMES = ("role", "competency", "learning-path", "routes")


@pytest.fixture(scope="module", params=[5, 15, 40])
def pictures(request: pytest.FixtureRequest) -> dict[str, str]:
    return draw_all(build_sized_company(request.param))


# ---- all of them ----


def test_the_order_of_rows_changes_no_byte() -> None:
    assert draw_all(build_sized_company(7)) == draw_all(build_sized_company(7, is_reversed=True))


@pytest.mark.parametrize("name", NAMES)
def test_every_picture_says_what_it_shows(pictures: dict[str, str], name: str) -> None:
    title, description = get_text_alternative(pictures[name])
    assert title != "Diagram"
    assert len(description) > 40
    assert "\n" not in description


@pytest.mark.parametrize("name", NAMES)
def test_only_colours_of_the_set_and_their_tints_are_used(pictures: dict[str, str], name: str) -> None:
    # Okabe and Ito (2008), Color Universal Design
    pure = {"#000000", "#E69F00", "#56B4E9", "#009E73", "#F0E442", "#0072B2", "#D55E00", "#CC79A7", "#FFFFFF"}
    tints = {mark.tint for mark in (style.ROLE, style.COMPETENCY, style.COURSE, style.PERSON)}
    rulers = {style.RULER_ENTRY, style.RULER_UNSUPERVISED, style.RULER_FULL}
    greys = {style.INK, style.QUIET, style.LINE, style.HAIR, style.PAPER}
    assert set(re.findall(r"#[0-9A-Fa-f]{6}\b", pictures[name])) <= pure | tints | rulers | greys


@pytest.mark.parametrize("name", NAMES)
def test_no_text_is_smaller_than_nine_points(pictures: dict[str, str], name: str) -> None:
    sizes = [float(size) for size in re.findall(r'(?:POINT-SIZE="|fontsize=)([0-9.]+)', pictures[name])]
    assert min(sizes) >= 9


@WITHOUT_DOT
@pytest.mark.needs_dot
@pytest.mark.parametrize("name", NAMES)
def test_no_card_lies_on_another(pictures: dict[str, str], name: str) -> None:
    root = ET.fromstring(render(pictures[name], "svg"))
    boxes = {}
    for group in root.iter(f"{SVG}g"):
        if group.get("class") == "node":
            points = [
                tuple(map(float, point.split(",")))
                for polygon in group.iter(f"{SVG}polygon")
                for point in (polygon.get("points") or "").split()
            ]
            if points:
                xs, ys = zip(*points, strict=True)
                boxes[group.get("id")] = (min(xs), min(ys), max(xs), max(ys))
    assert len(boxes) >= 3
    for (a, first), (b, second) in combinations(boxes.items(), 2):
        apart = first[2] <= second[0] or second[2] <= first[0] or first[3] <= second[1] or second[3] <= first[1]
        assert apart, (a, b)


@WITHOUT_DOT
@pytest.mark.needs_dot
@pytest.mark.parametrize("name", NAMES)
def test_text_of_a_card_lies_inside_the_picture(pictures: dict[str, str], name: str) -> None:
    root = ET.fromstring(render(pictures[name], "svg"))
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    for text in root.iter(f"{SVG}text"):
        assert 0 <= float(text.get("x") or -1) <= width
        assert -height <= float(text.get("y") or 1) <= 0


@WITHOUT_DOT
@pytest.mark.needs_dot
@pytest.mark.parametrize("name", NAMES)
def test_links_lead_to_resources_and_have_words(pictures: dict[str, str], name: str) -> None:
    root = ET.fromstring(render(pictures[name], "svg"))
    links = {a.get(f"{XLINK}href"): a.get(f"{XLINK}title") for a in root.iter(f"{SVG}a") if a.get(f"{XLINK}href")}
    assert links
    for link, words in links.items():
        assert re.fullmatch(r"/api/(roles|competencies|courses|people|teams)/[A-Za-z0-9._-]+", link or "")
        assert words


# ---- a role ----


def test_a_role_shows_each_competency_with_levels_and_necessity() -> None:
    picture = build_role_picture(build_sized_company(5), "goal")
    for i in range(5):
        assert f'"competency/c{i}"' in picture.dot
    assert picture.dot.count("entry 2, unsupervised and full 3") >= 5
    assert "2 blocking, 2 essential, 1 desirable" in picture.description
    assert '"heading/family/f0/0"' in picture.dot


def get_sides(dot: str) -> set[str]:
    found = re.findall(r'URL="/api/(roles/goal|competencies/c\d+)" pos="([-0-9.]+),', dot)
    places = {name: float(x) for name, x in found}
    role = places.pop("roles/goal")
    return {"left" if x < role else "right" for x in places.values()}


def test_a_long_model_is_spread_over_both_sides() -> None:
    sides = {size: get_sides(draw_role(build_sized_company(size), "goal")) for size in (11, 15)}
    assert sides == {11: {"right"}, 15: {"left", "right"}}


def test_requirements_that_are_not_drawn_are_counted() -> None:
    picture = build_role_picture(build_sized_company(64), "goal")
    assert "Not drawn: the 4 least weighty ones" in picture.description
    assert picture.dot.count('URL="/api/competencies/c') == 60


def test_a_role_without_requirements_says_so() -> None:
    snapshot = build_snapshot(roles=[{"id": "r", "label": "New role"}])
    assert get_text_alternative(draw_role(snapshot, "r")).description == "This role has no requirements yet."


def test_an_unknown_role_or_competency_is_an_error() -> None:
    snapshot = build_sized_company(5)
    with pytest.raises(UnknownIdError):
        draw_role(snapshot, "nobody")
    with pytest.raises(UnknownIdError):
        draw_competency(snapshot, "nothing")


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ((3, 3, 3), "level 3 from the first day"),
        ((4, 2, 3), "entry 2, unsupervised 3, full 4"),
        ((4, 2, 2), "entry and unsupervised 2, full 4"),
        ((4, 2, 4), "entry 2, unsupervised and full 4"),
    ],
)
def test_levels_in_words(levels: tuple[int, int, int], words: str) -> None:
    assert format_levels(*levels) == words


# ---- a competency ----


def test_a_competency_shows_its_neighbours_by_kind() -> None:
    picture = build_neighbourhood_picture(build_sized_company(5), "c0")
    for words in ("Broader (1)", "Courses that reach it (3)", "Roles that ask for it (3)"):
        assert words in picture.dot
    assert "Narrower" not in picture.dot
    assert "Course c0 to 3 (reaches level 3)" in picture.description


def test_many_neighbours_are_counted_not_dropped_silently() -> None:
    roles = [{"id": f"r{i:02}", "label": f"Role {i}"} for i in range(67)]
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("c"),
        roles=roles,
        requirements=[{"role": role["id"], "competency": "c", "level": 2} for role in roles],
    )
    picture = build_neighbourhood_picture(snapshot, "c")
    assert "Roles that ask for it (67)" in picture.dot
    assert "and 7 more, not drawn" in picture.dot
    assert picture.dot.count('URL="/api/roles/') == 60


def test_a_competency_of_a_broader_cycle_is_drawn() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[*build_competencies("a", broader=("b",)), *build_competencies("b", broader=("a",))],
    )
    assert "1 broader competency, 1 narrower one" in get_text_alternative(draw_competency(snapshot, "a")).description


# ---- a learning path ----


def test_a_path_numbers_its_courses_with_hours_and_what_they_reach() -> None:
    snapshot = build_sized_company(5)
    profile = Profile({"c0": 1}, kind="role", held_by="now", role="now")
    result = find_learning_path(snapshot, profile, "goal")
    dot = draw_learning_path(snapshot, profile, result)
    words = get_text_alternative(dot).description
    assert f"{len(result.courses)} courses, {result.study_hours:g} study hours" in words
    for step, course in enumerate(result.courses, start=1):
        assert f"Step {step}: {course.label}, {course.study_hours:g} h" in words
        assert f'"course/{course.id}"' in dot
    assert "An offer for learning, not a promise of a post" in words


def test_a_level_out_of_reach_is_named_with_its_reason() -> None:
    company = build_sized_company(5)
    records = {name: list(company.get_table(name).values()) for name in ("scales", "competencies", "roles")}
    snapshot = Snapshot(records | {"requirements": list(company.get_table("requirements").values())})
    profile = Profile({})
    result = find_learning_path(snapshot, profile, "goal")
    dot = draw_learning_path(snapshot, profile, result)
    assert "cannot be reached" in dot
    assert f"cannot be reached: {result.unreachable[0].reason}" in get_text_alternative(dot).description


def test_nothing_to_do_says_so() -> None:
    snapshot = build_sized_company(5)
    profile = Profile({f"c{i}": 3 for i in range(5)})
    dot = draw_learning_path(snapshot, profile, find_learning_path(snapshot, profile, "goal"))
    assert "Nothing to do" in get_text_alternative(dot).title + get_text_alternative(dot).description


def test_an_unproved_path_names_its_bound() -> None:
    snapshot = build_sized_company(5)
    profile = Profile({})
    result = replace(find_learning_path(snapshot, profile, "goal"), status="feasible", lower_bound=7.5)
    words = get_text_alternative(draw_learning_path(snapshot, profile, result)).description
    assert "the best found in the time given; at least 7.5 h" in words


# ---- routes ----


def test_routes_name_the_best_and_the_limits_a_direct_move_breaks() -> None:
    snapshot = build_sized_company(4)
    profile = Profile({"c0": 1}, kind="role", held_by="now", role="now")
    result = find_routes(snapshot, profile, "goal", preparation_limit=70.0)
    assert result.best.moves is not None
    assert result.direct.broken_limits
    dot = draw_routes(snapshot, profile, result)
    assert "Least study hours" in dot
    assert "fewest moves" in dot
    assert "Direct move, not within reach" in dot
    limit = result.direct.broken_limits[0]
    words = get_text_alternative(dot).description.replace("\u00a0", " ")
    assert f"preparation {limit.needed:g} h, the limit is 70 h" in words
    for move in result.best.moves.moves:
        assert f"label=<{move.study_hours:g} h>" in dot


def test_no_route_says_so() -> None:
    snapshot = build_sized_company(4)
    profile = Profile({}, kind="role", held_by="now", role="now")
    result = find_routes(snapshot, profile, "goal", preparation_limit=1.0)
    assert "No route within the limits" in get_text_alternative(draw_routes(snapshot, profile, result)).description
