"""Routes as a ladder: families as lanes, months across, hours on the steps; lines keep clear of cards."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest
from picture_companies import build_career_company
from small_company import build_competencies, build_scale, build_snapshot
from svg_parts import (
    AWKWARD,
    NEEDS_DOT,
    Box,
    find_lines_through_cards,
    find_overlaps,
    find_texts_outside,
    get_curves,
    get_least_text_pt,
    get_links,
    get_texts,
)

from api.diagrams.ladder import Ladder, arrange_ladder
from api.diagrams.ladder_lines import LinePlanner
from api.diagrams.pictures import PageError, draw_routes
from api.diagrams.render import render
from api.diagrams.route_rungs import TARGET_LANE, CardWidths, build_rungs
from api.diagrams.routes import iterate_routes
from api.diagrams.svg import get_text_alternative
from ontology.analysis.profiles.levels import Profile, build_role_profile
from ontology.analysis.routes.routes import BestRoutes, Route, RouteMove, RoutesResult, find_routes
from ontology.graph.snapshot import Snapshot

Case = tuple[Snapshot, Profile, RoutesResult]


@cache
def build_case(n_roles: int, **limits: float) -> Case:
    snapshot = build_career_company(n_roles)
    profile = build_role_profile(snapshot, "now")
    limits = {"preparation_limit": 300.0, "level_limit": 3, "max_moves": 3} | limits
    return snapshot, profile, find_routes(snapshot, profile, "goal", **limits)  # type: ignore[arg-type]


@pytest.fixture(scope="module", params=[3, 8, 20])
def case(request: pytest.FixtureRequest) -> Case:
    return build_case(request.param)


@pytest.fixture(scope="module")
def large() -> Case:
    return build_case(20)


def build_ladder(case: Case) -> Ladder:
    snapshot, profile, result = case
    rungs = build_rungs(snapshot, profile, list(iterate_routes(snapshot, result)), CardWidths(140, 140, 188))
    return arrange_ladder(rungs.rungs, rungs.lanes, 1200, 30)


def draw_pages(case: Case) -> list[str]:
    pages = []
    for number in range(1, 60):
        try:
            pages.append(draw_routes(*case, layout="paper", page=number))
        except PageError:
            break
    return pages


# ---- where cards stand ----


def test_cards_stand_in_the_order_of_time_and_right_of_their_parent(case: Case) -> None:
    ladder = build_ladder(case)
    timed = sorted((rung for rung in ladder.rungs[1:] if rung.time is not None), key=lambda rung: (rung.time, rung.x))
    for earlier, later in pairwise(timed):
        assert earlier.x <= later.x + 1e-6
        if earlier.time == later.time:
            assert earlier.x == pytest.approx(later.x)
    for rung in ladder.rungs[1:]:
        assert rung.parent is not None
        assert rung.x >= rung.parent.right + 40


def test_a_lane_holds_the_roles_of_one_family_and_the_target_stands_at_the_top(case: Case) -> None:
    snapshot = case[0]
    ladder = build_ladder(case)
    assert ladder.lanes[0].key == TARGET_LANE
    assert ladder.lanes[-1].key == "Operations"
    bands = {lane.key: (lane.top, lane.top + lane.height) for lane in ladder.lanes}
    for rung in ladder.rungs:
        top, bottom = bands[rung.lane]
        assert top <= rung.y
        assert rung.y + rung.card.height <= bottom
        if rung.name.startswith("role/"):
            family = snapshot.roles[rung.name.split("/")[1]].family
            assert rung.lane == (family or "Other roles")


def test_months_of_a_card_are_study_and_stays_before_it(large: Case) -> None:
    snapshot, _, result = large
    ladder = build_ladder(large)
    best = result.best.study_hours
    assert best is not None
    last = next(r for r in ladder.rungs if r.lane == TARGET_LANE and r.tooltip.startswith("Least study hours"))
    chain = []
    rung = last
    while rung.parent is not None:
        chain.append(rung)
        rung = rung.parent
    chain.reverse()
    study = 0.0
    for position, (rung, move) in enumerate(zip(chain, best.moves, strict=True)):
        # 52/12 weeks a month at four hours a week: the design's rule, worked out anew
        study += (move.study_hours or 0) / 4 / (52 / 12)
        stays = sum(snapshot.roles[earlier.role].months_to_full for earlier in best.moves[:position])
        assert rung.time == pytest.approx(study + stays, abs=0.02)


def test_lines_keep_clear_of_cards(case: Case) -> None:
    ladder = build_ladder(case)
    planner = LinePlanner(ladder.rows)
    for rung in ladder.rungs[1:]:
        points = planner.plan(rung)
        assert rung.parent is not None
        assert points[0] == (rung.parent.right, rung.parent.middle)
        assert points[-1] == (rung.x, rung.middle)
        for (x0, y0), (x1, y1) in pairwise(points):
            assert x0 == pytest.approx(x1) or y0 == pytest.approx(y1)
            piece = Box(min(x0, x1) + 0.1, min(y0, y1) + 0.1, max(x0, x1) - 0.1, max(y0, y1) - 0.1)
            for other in ladder.rungs:
                card = Box(other.x, other.y, other.right, other.y + other.card.height)
                assert piece.is_apart(card), (rung.name, other.name)


def test_without_study_hours_cards_stand_by_their_move() -> None:
    snapshot, profile, _ = build_case(8)
    profile = replace(profile, study_hours_per_week=0.0)
    result = find_routes(snapshot, profile, "goal", preparation_limit=300.0, level_limit=3)
    dot = draw_routes(snapshot, profile, result)
    assert "Moves (months unknown)" in dot
    assert "Months from now" not in dot


# ---- what is said ----


def test_the_best_routes_are_named_and_steps_bear_their_hours(large: Case) -> None:
    snapshot, profile, result = large
    dot = draw_routes(snapshot, profile, result)
    for words in ("Least study hours", "Least months and fewest moves", "Direct move, not within reach"):
        assert words in dot
    for route in (result.best.study_hours, result.best.months):
        assert route is not None
        for move in route.moves:
            assert f"label=<{move.study_hours:g} h>" in dot
    assert "preparation 592\u00a0h, the limit is 300\u00a0h" in dot
    routes = list(iterate_routes(snapshot, result))
    drawn = set(re.findall(r'"target/goal/(\d+)" \[', dot)) or set(re.findall(r"target/goal/(\d+)", dot))
    assert f"Not drawn: {len(routes) - len(drawn)} further ones" in dot


def test_a_direct_move_that_no_course_reaches_is_drawn_with_its_reason() -> None:
    snapshot, profile, _ = build_case(8)
    tables = {name: list(snapshot.get_table(name).values()) for name in ("scales", "competencies", "roles")}
    bare = Snapshot(tables | {"requirements": list(snapshot.get_table("requirements").values())})
    result = find_routes(bare, profile, "goal")
    dot = draw_routes(bare, profile, result)
    assert result.direct.unreachable[0].reason in get_text_alternative(dot).description
    assert "label=<?>" in dot


def test_every_route_stands_on_some_page(large: Case) -> None:
    snapshot, _, result = large
    pages = draw_pages(large)
    words = " ".join(get_text_alternative(text).description for text in pages)
    for named in iterate_routes(snapshot, result):
        assert named.words in words
    total = len(pages)
    for number, text in enumerate(pages, start=1):
        assert f"(page {number} of {total})" in get_text_alternative(text).title


def test_a_route_of_many_moves_is_told_where_no_ladder_fits(large: Case) -> None:
    snapshot, profile, result = large
    ids = [f"r{i}" for i in range(7)] + ["goal"]
    moves = tuple(RouteMove(i, snapshot.roles[i].label, 12.0, 9.0, ()) for i in ids)
    route = Route(tuple(ids), 96.0, 60.0, 0.0, moves)
    deep = replace(result, best=BestRoutes(route, route, route), trade_off=(), other_routes=())
    pages = draw_pages((snapshot, profile, deep))
    assert any("1. Operations assistant 0: 12 h" in text for text in pages)
    # the direct move alone has room on a ladder
    assert sum("Months from now" in text for text in pages) == 1
    assert "Least study hours" in draw_routes(snapshot, profile, deep)


def test_no_route_at_all_is_a_page_too() -> None:
    case = build_case(3, preparation_limit=0.0)
    (page,) = draw_pages(case)
    assert "No route within the limits" in get_text_alternative(page).description


def test_the_same_question_gives_the_same_ladder(large: Case) -> None:
    assert draw_routes(*large) == draw_routes(*large)
    again = build_case.__wrapped__(8)
    assert draw_pages(again) == draw_pages(build_case(8))


def build_awkward(label: str) -> Case:
    """Two moves between roles and families of this name, by courses of this name."""
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
    return snapshot, profile, find_routes(snapshot, profile, "goal", preparation_limit=50.0)


# ---- drawn ----


class TestDrawn:
    pytestmark = NEEDS_DOT

    def test_nothing_overlaps_on_screen_or_paper(self, case: Case) -> None:
        for text in [draw_routes(*case), *draw_pages(case)]:
            root = ET.fromstring(render(text, "svg"))
            assert find_overlaps(root) == []
            assert get_least_text_pt(root) >= 8.99
            assert find_texts_outside(root) == []

    def test_forty_cards_are_drawn_and_each_leads_to_its_role(self, large: Case) -> None:
        dot = draw_routes(*large)
        cards = set(re.findall(r'^\t"?((?:role|target)/[^"\s]*|start)"? \[', dot, re.MULTILINE))
        assert len(cards) >= 38
        root = ET.fromstring(render(dot, "svg"))
        links = get_links(root)
        for card in cards - {"start"}:
            assert f"/api/roles/{card.split('/')[1]}" in links
        assert all(links.values())
        assert "family" in get_texts(root)

    def test_drawn_lines_pass_no_card(self, case: Case) -> None:
        for text in [draw_routes(*case), *draw_pages(case)]:
            if "->" in text:
                assert get_curves(text)
            assert find_lines_through_cards(ET.fromstring(render(text, "svg")), text) == []

    @pytest.mark.parametrize("label", AWKWARD)
    def test_awkward_labels_come_out_as_written(self, label: str) -> None:
        case = build_awkward(label)
        for text in [draw_routes(*case), *draw_pages(case)]:
            root = ET.fromstring(render(text, "svg"))
            # lane of the target, lane of the family, the role on the way (which may be wrapped on paper)
            assert get_texts(root).count(label) >= (2 if "// page" in text else 3)
            assert any(label in words for words in get_links(root).values())
