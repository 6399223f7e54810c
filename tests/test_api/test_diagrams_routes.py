"""Routes as lanes: which way is best, why not directly, hours before each move, months in each role."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

import pytest
from drawn import AWKWARD, WITHOUT_DOT, check_picture, get_paper_scale, measure, read_links, read_texts, read_tooltips
from picture_cases import iterate_pages
from picture_companies import build_career_company, build_sized_company
from small_company import build_competencies, build_scale, build_snapshot

from api.pictures.pictures import draw_routes
from api.pictures.route_words import list_lanes, list_stays
from api.pictures.svg import get_text_alternative
from ontology.analysis.profiles.profile import Profile, build_role_profile
from ontology.analysis.routes.routes import BestRoutes, Route, RouteMove, RoutesResult, find_routes
from ontology.snapshot.snapshot import Snapshot

pytestmark = [WITHOUT_DOT, pytest.mark.needs_dot]

Case = tuple[Snapshot, Profile, RoutesResult]
TIE = "\u00a0"


@cache
def build_case(n_roles: int, preparation_limit: float = 300.0) -> Case:
    snapshot = build_career_company(n_roles)
    profile = build_role_profile(snapshot, "now")
    result = find_routes(snapshot, profile, "goal", preparation_limit=preparation_limit, level_limit=3)
    return snapshot, profile, result


def lengthen(case: Case, n_moves: int) -> Case:
    """Return the case with one best route of so many moves."""
    snapshot, profile, result = case
    ids = [*(f"r{i}" for i in range(n_moves - 1)), "goal"]
    moves = tuple(RouteMove(i, snapshot.roles[i].label, 12.0, 9.0, ()) for i in ids)
    route = Route(tuple(ids), 12.0 * n_moves, 60.0, 0.0, moves)
    return snapshot, profile, replace(result, best=BestRoutes(route, route, route), trade_off=(), other_routes=())


def test_lanes_stand_in_the_order_best_then_direct_then_others() -> None:
    case = build_case(20)
    dot = draw_routes(*case)
    texts = read_texts(check_picture(dot))
    lanes, further = list_lanes(case[0], case[2])
    assert [lane.name for lane in lanes][:3] == [
        "Least study hours", "Least months, fewest moves", "Direct move: out of reach",
    ]  # fmt: skip
    assert 1 <= len(lanes) - 3 <= 3
    assert re.findall(r'PORT="(lane\d)"', dot) == [f"lane{k}" for k in range(len(lanes))]
    names = ["Least study hours", "Least months, fewest moves", "Direct move: out of reach"]
    assert [text for text in texts if text in names] == names
    assert f"{len(further)} further routes: in the answer as JSON." in texts
    # of routes through the same roles only the first is drawn
    passed = [frozenset(lane.route.roles) for lane in lanes]
    assert len(set(passed)) == len(passed)


def test_hours_stand_on_each_move_and_the_direct_move_is_dashed() -> None:
    case = build_case(20)
    dot = draw_routes(*case)
    for lane in list_lanes(case[0], case[2])[0]:
        for move in lane.route.moves:
            assert f"<B>{move.study_hours:g}{TIE}h</B>" in dot
    (dashed,) = re.findall(r"lanes:(lane\d):e -> target:w \[.*style=dashed", dot)
    assert dashed == "lane2"
    assert "592 h before the move, limit 300" in read_texts(check_picture(dot))


def test_months_in_a_role_are_those_after_study_and_earlier_roles() -> None:
    snapshot, _, result = build_case(20)
    for route in (result.best.study_hours, result.best.months):
        assert route is not None
        begun = 0.0
        for move, told in zip(route.moves, list_stays(snapshot, route), strict=False):
            # 52/12 weeks a month at four hours a week: the design's rule, worked out anew
            begun += (move.study_hours or 0) / 4 / (52 / 12)
            held = snapshot.roles[move.role].months_to_full
            assert told == f"from month {round(begun)}, {held:g}{TIE}months"
            begun += held


def test_without_study_hours_no_month_is_named() -> None:
    snapshot, profile, _ = build_case(8)
    profile = replace(profile, study_hours_per_week=0.0)
    result = find_routes(snapshot, profile, "goal", preparation_limit=300.0, level_limit=3)
    texts = read_texts(check_picture(draw_routes(snapshot, profile, result)))
    assert not any("from month" in text for text in texts)
    assert any(text.endswith(f"{TIE}months there") for text in texts)


def test_a_direct_move_that_no_course_reaches_is_drawn_with_its_reason() -> None:
    snapshot, profile, _ = build_case(8)
    tables = {name: list(snapshot.get_table(name).values()) for name in ("scales", "competencies", "roles")}
    bare = Snapshot(tables | {"requirements": list(snapshot.get_table("requirements").values())})
    result = find_routes(bare, profile, "goal")
    dot = draw_routes(bare, profile, result)
    assert "no courses known" in read_texts(check_picture(dot))
    told = get_text_alternative(dot).description
    assert result.direct.unreachable[0].reason.rstrip(".") in told
    assert "No route within the limits leads there." in told


def test_levels_that_are_too_far_are_named_together() -> None:
    snapshot = build_sized_company(4)
    profile = Profile({"c0": 1}, kind="role", held_by="now", role="now")
    result = find_routes(snapshot, profile, "goal", level_limit=1)
    (direct,) = [lane for lane in list_lanes(snapshot, result)[0] if lane.is_dashed]
    assert any(re.fullmatch(r"2 levels up, limit 1: .*, .*", note) for note in direct.notes)


def test_every_route_is_told_on_paper_and_stands_on_one_page() -> None:
    for size in (3, 8, 20):
        snapshot, profile, result = build_case(size)
        pages = list(iterate_pages(lambda s=snapshot, p=profile, r=result, **shown: draw_routes(s, p, r, **shown)))
        lanes, further = list_lanes(snapshot, result)
        texts = [text for dot in pages for text in read_texts(check_picture(dot))]
        assert all(get_paper_scale(dot) >= 0.75 for dot in pages)
        assert sum(len(re.findall(r'PORT="lane\d+"', dot)) for dot in pages) == len(lanes)
        for route in further:
            names = ", then ".join(snapshot.roles[i].label for i in route.roles[:-1]) or "directly"
            assert names in " ".join(texts)
        for number, dot in enumerate(pages, start=1):
            if len(pages) > 1:
                assert f", page {number} of {len(pages)}" in get_text_alternative(dot).title


@pytest.mark.parametrize("n_moves", [1, 2, 5, 8])
def test_routes_of_many_moves_keep_to_their_width(n_moves: int) -> None:
    case = lengthen(build_case(20), n_moves)
    dot = draw_routes(*case)
    links = read_links(check_picture(dot))
    assert {f"/roles/r{k}" for k in range(n_moves - 1)} <= set(links)
    assert measure(dot).width_px <= 1410
    for page in iterate_pages(lambda **shown: draw_routes(*case, **shown)):
        assert get_paper_scale(page) >= 0.75


def test_no_route_and_no_study_say_so() -> None:
    assert "No route within the limits" in get_text_alternative(draw_routes(*build_case(3, 0.0))).description
    snapshot = build_sized_company(4)
    able = Profile({f"c{k}": 3 for k in range(4)}, kind="role", held_by="now", role="now")
    dot = draw_routes(snapshot, able, find_routes(snapshot, able, "goal"))
    assert "No study is needed" in " ".join(read_texts(check_picture(dot)))


def test_an_unproved_answer_names_its_bound() -> None:
    snapshot, profile, result = build_case(8)
    result = replace(result, status="feasible", lower_bound=7.5)
    told = get_text_alternative(draw_routes(snapshot, profile, result)).description
    assert "the best found in the time given; no route takes less than 7.5 h" in told


def test_the_same_question_gives_the_same_bytes() -> None:
    assert draw_routes(*build_case(8)) == draw_routes(*build_case.__wrapped__(8))
    straight, turned = build_sized_company(7), build_sized_company(7, is_reversed=True)
    profile = Profile({"c0": 1}, kind="role", held_by="now", role="now")
    first, second = (draw_routes(s, profile, find_routes(s, profile, "goal")) for s in (straight, turned))
    assert first == second


@pytest.mark.parametrize("label", AWKWARD)
def test_awkward_labels_come_out_as_written(label: str) -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[row | {"label": label} for row in build_competencies("c")],
        roles=[{"id": i, "label": label, "family": label} for i in ("now", "mid", "goal")],
        requirements=[
            {"role": "now", "competency": "c", "level": 1},
            {"role": "mid", "competency": "c", "level": 3, "entry_level": 2},
            {"role": "goal", "competency": "c", "level": 4},
        ],
        courses=[{"id": f"k{level}", "label": label, "hours": 20} for level in (2, 3, 4)],
        outcomes=[{"course": f"k{level}", "competency": "c", "level": level} for level in (2, 3, 4)],
        entry_conditions=[{"course": f"k{level}", "competency": "c", "level": level - 1} for level in (3, 4)],
    )
    profile = build_role_profile(snapshot, "now")
    result = find_routes(snapshot, profile, "goal", preparation_limit=50.0)
    for dot in (
        draw_routes(snapshot, profile, result),
        *iterate_pages(lambda **shown: draw_routes(snapshot, profile, result, **shown)),
    ):
        svg = check_picture(dot)
        if len(label) < 18 and label.strip() and label.isprintable():
            assert label in read_texts(svg)
            assert any(label in tip for tip in read_tooltips(svg))
