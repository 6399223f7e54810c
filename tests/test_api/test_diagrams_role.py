"""The pictures of a role and of a competency: what is asked at which level, where it is learned, in which order."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from drawn import (
    AWKWARD,
    WITHOUT_DOT,
    check_picture,
    get_paper_scale,
    measure,
    read_links,
    read_texts,
    read_tooltips,
)
from picture_cases import ask_framework_pictures, iterate_pages, load_awkward_scenario, load_scenario
from picture_companies import build_sized_company
from small_company import build_competencies, build_scale, build_snapshot

from api.pictures.paging import PageError
from api.pictures.pictures import draw_competency, draw_role
from api.pictures.role import format_levels
from api.pictures.svg import get_text_alternative
from ontology.errors import UnknownIdError
from ontology.snapshot.snapshot import Snapshot

pytestmark = [WITHOUT_DOT, pytest.mark.needs_dot]


def build_neighbours(size: int) -> Snapshot:
    """Return a competency that `size` roles ask for and `size` courses reach."""
    numbers = range(size)
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("c0"),
        roles=[{"id": f"r{k}", "label": f"Operator of the plant number {k}"} for k in numbers],
        requirements=[
            {"role": f"r{k}", "competency": "c0", "level": 1 + k % 4, "necessity": ("blocking", "desirable")[k % 2]}
            for k in numbers
        ],
        courses=[{"id": f"k{k}", "label": f"Course about things {k}", "hours": k} for k in numbers],
        outcomes=[{"course": f"k{k}", "competency": "c0", "level": 1 + k % 3} for k in numbers],
    )


# ---- a role ----


def test_a_role_shows_sections_by_necessity_and_rows_by_weight() -> None:
    dot = draw_role(load_scenario(), "connections-inspector")
    texts = read_texts(check_picture(dot))
    assert "Asks for 11 competencies: 2 blocking, 9 essential." in texts
    order = [texts.index(words) for words in ("Nothing begins without (2)", "Essential (9)")]
    assert order == sorted(order)
    asked = sorted(
        load_scenario().get_requirements("connections-inspector"),
        key=lambda r: (r.necessity != "blocking", -r.weight, load_scenario().competencies[r.competency].label),
    )
    assert re.findall(r'HREF="/competencies/([^"]+)"', dot) == [r.competency for r in asked]
    assert 'role:e -> asks:blocking:w [arrowhead=normal color="#D55E00" penwidth=2.4 style=solid' in dot


def test_the_ladder_tells_the_three_levels_by_ground_and_number() -> None:
    snapshot = build_sized_company(1)
    dot = draw_role(snapshot, "goal")
    # levels 1 and 2 on the first day, 3 alone and full, 4 and 5 not asked
    grounds = re.findall(r'BGCOLOR="(#\w+)" COLOR="#767676" BORDER="1"', dot)
    grounds = grounds or re.findall(r'WIDTH="17" HEIGHT="15" BGCOLOR="(#\w+)"', dot)
    assert [grounds[0] == ground for ground in grounds] == [True, True, False, False, False]
    assert grounds[3] == grounds[4] == "#FFFFFF"
    texts = read_texts(check_picture(dot))
    ladder = texts.index("1", texts.index("Competency number 0"))
    assert texts[ladder : ladder + 9] == ["1", "2", "3", "4", "5", "2", "3", "3", "3"]


def test_a_scale_too_long_for_a_ladder_is_told_in_numbers() -> None:
    snapshot = build_snapshot(
        scales=build_scale("s12", 12),
        competencies=build_competencies("c", "s12"),
        roles=[{"id": "r", "label": "R"}],
        requirements=[{"role": "r", "competency": "c", "level": 11}],
    )
    texts = read_texts(check_picture(draw_role(snapshot, "r")))
    assert "11" in texts
    assert "7" not in texts


def test_requirements_that_are_not_drawn_are_counted_and_linked() -> None:
    dot = draw_role(build_sized_company(64), "goal")
    svg = check_picture(dot)
    assert "and 24 more, of less weight: see the role's list" in read_texts(svg)
    assert "Not drawn here: 24." in get_text_alternative(dot).description
    assert len(re.findall(r'HREF="/competencies/c', dot)) == 40
    assert len(re.findall(r'HREF="/roles/goal"', dot)) == 1


def test_a_role_without_requirements_says_so() -> None:
    snapshot = build_snapshot(roles=[{"id": "r", "label": "New role"}])
    dot = draw_role(snapshot, "r")
    assert get_text_alternative(dot).description == "This role has no requirements yet."
    check_picture(dot)


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
        ((4, 2, 3), "first day 2, alone 3, full 4"),
        ((4, 2, 2), "first day and alone 2, full 4"),
        ((4, 2, 4), "first day 2, alone and full 4"),
    ],
)
def test_levels_in_words(levels: tuple[int, int, int], words: str) -> None:
    (asked, *_) = build_sized_company(1).get_requirements("goal")
    full, first, alone = levels
    assert format_levels(replace(asked, level=full, entry_level=first, unsupervised_level=alone)) == words


# ---- a competency ----


def test_a_competency_has_a_port_for_each_level_and_a_section_for_each_that_is_taught_or_asked() -> None:
    dot = draw_competency(load_scenario(), "water-chemistry")
    texts = read_texts(check_picture(dot))
    assert "Reached by 7 courses, asked for by 6 roles." in texts
    for words in ("Courses that reach level 2 (3)", "Roles that ask level 1 (2)", "part of: From source to tap"):
        assert words in texts
    assert {"24 h", "from 1, desirable", "from 2"} <= set(texts)
    assert [f"l{rank}" for rank in (1, 2, 3, 4)] == re.findall(r'PORT="(l\d)"', dot)
    edges = set(re.findall(r"(\w+):(\w+):e -> (\w+):(\w+):w", dot))
    assert {("courses", "reach2", "middle", "l2"), ("middle", "l3", "roles", "ask3")} <= edges
    told = get_text_alternative(dot).description
    for outcome in load_scenario().get_outcomes_of_competency("water-chemistry"):
        assert load_scenario().courses[outcome.course].label in told


def test_narrower_competencies_stand_at_the_right_with_a_dashed_line() -> None:
    snapshot = load_scenario()
    dot = draw_competency(snapshot, "pipes-and-connections")
    assert "Narrower competencies (18)" in read_texts(check_picture(dot))
    assert re.search(r"middle:e -> roles:narrower:w \[.*style=dashed", dot)
    told = get_text_alternative(dot).description
    assert all(snapshot.competencies[i].label in told for i in snapshot.get_narrower("pipes-and-connections"))


def test_a_competency_of_a_broader_cycle_is_drawn() -> None:
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[*build_competencies("a", broader=("b",)), *build_competencies("b", broader=("a",))],
    )
    told = get_text_alternative(draw_competency(snapshot, "a")).description
    assert "1 narrower competency" in told
    assert "Part of: B." in told


def test_many_neighbours_stand_in_two_columns_and_the_rest_is_counted() -> None:
    dot = draw_competency(build_neighbours(90), "c0")
    svg = check_picture(dot)
    assert read_texts(svg).count("and 10 more: see the list of this competency") == 2
    assert "Courses that reach level 3 (20 of 30)" in read_texts(svg)
    assert len({link for link in read_links(svg) if link.startswith("/roles/")}) == 80
    assert measure(dot).width_px <= 1410


# ---- both ----


def test_the_order_of_rows_changes_no_byte() -> None:
    straight, turned = build_sized_company(7), build_sized_company(7, is_reversed=True)
    assert draw_role(straight, "goal") == draw_role(turned, "goal")
    assert draw_competency(straight, "c0") == draw_competency(turned, "c0")


@pytest.mark.parametrize("size", [5, 15, 40])
def test_pages_are_a4_hold_every_row_once_and_are_not_made_small(size: int) -> None:
    company, neighbours = build_sized_company(size), build_neighbours(size)
    roles = list(iterate_pages(lambda **shown: draw_role(company, "goal", **shown)))
    around = list(iterate_pages(lambda **shown: draw_competency(neighbours, "c0", **shown)))
    for dot in (*roles, *around):
        check_picture(dot)
        assert get_paper_scale(dot) >= 0.75
    asked = [row for dot in roles for row in re.findall(r'HREF="/competencies/(c\d+)"', dot)]
    assert sorted(asked) == sorted(f"c{k}" for k in range(size))
    found = [row for dot in around for row in re.findall(r'HREF="/(?:roles|courses)/([rk]\d+)"', dot)]
    assert sorted(found) == sorted(f"{kind}{k}" for kind in "rk" for k in range(size))
    with pytest.raises(PageError):
        draw_role(company, "goal", layout="paper", page=len(roles) + 1)
    with pytest.raises(PageError):
        draw_role(company, "goal", page=2)


@pytest.mark.parametrize("size", [5, 15, 40])
def test_large_pictures_keep_to_their_width(size: int) -> None:
    for dot in (draw_role(build_sized_company(size), "goal"), draw_competency(build_neighbours(size), "c0")):
        check_picture(dot)
        assert measure(dot).width_px <= 1410


@pytest.mark.parametrize("name", ["role", "competency", "path-p001", "routes-p008"])
def test_the_demonstration_fits_a_screen(name: str) -> None:
    dot = ask_framework_pictures(load_scenario())[name]()
    check_picture(dot)
    size = measure(dot)
    assert size.width_px <= 1240
    assert size.height_px <= 700


@pytest.mark.parametrize("name", ["role", "competency", "path-p001", "routes-p008"])
def test_awkward_names_are_drawn_everywhere(name: str) -> None:
    draw = ask_framework_pictures(load_awkward_scenario())[name]
    for dot in (draw(), *iterate_pages(draw)):
        check_picture(dot)


@pytest.mark.parametrize("label", AWKWARD)
def test_awkward_labels_come_out_as_written(label: str) -> None:
    competencies = build_competencies("c0", broader=("f0",)) + build_competencies("f0")
    snapshot = build_snapshot(
        scales=build_scale(),
        competencies=[row | {"label": label, "definition": label} for row in competencies],
        roles=[{"id": "r", "label": label, "family": label, "definition": label}],
        requirements=[{"role": "r", "competency": "c0", "level": 3}],
    )
    for svg in (check_picture(draw_role(snapshot, "r")), check_picture(draw_competency(snapshot, "c0"))):
        if len(label) < 24 and label.strip() and label.isprintable():
            assert label in read_texts(svg)
            assert any(tip.startswith(label) for tip in read_tooltips(svg))
