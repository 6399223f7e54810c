"""What the pictures for team leads and the calendars hold: awkward names, large cases, A4, words for every colour."""

from __future__ import annotations

import re

import pytest
from drawn import WITHOUT_DOT, check_picture, get_paper_scale, measure, read_links, read_texts
from picture_cases import (
    Draw,
    ask_large_pictures,
    ask_team_pictures,
    iterate_pages,
    load_awkward_scenario,
    load_scenario,
    rename,
)

from api.pictures.svg import get_text_alternative
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

pytestmark = [WITHOUT_DOT, pytest.mark.needs_dot]

NAMES = sorted(ask_team_pictures(load_scenario()))
LARGE = sorted(ask_large_pictures())


def draw_screen(draw: Draw) -> str:
    return draw(layout="screen", page=1)


@pytest.fixture(scope="module")
def demonstration() -> dict[str, Draw]:
    return ask_team_pictures(load_scenario())


@pytest.fixture(scope="module")
def large() -> dict[str, Draw]:
    return ask_large_pictures()


@pytest.fixture(scope="module")
def awkward() -> dict[str, Draw]:
    return ask_team_pictures(load_awkward_scenario())


@pytest.mark.parametrize("name", NAMES)
def test_whatever_names_are_given_the_picture_is_drawn_without_a_word_from_dot(
    name: str, awkward: dict[str, Draw]
) -> None:
    check_picture(draw_screen(awkward[name]))
    for page in iterate_pages(awkward[name]):
        check_picture(page)
        assert get_paper_scale(page) >= 0.75


@pytest.mark.parametrize("name", LARGE)
def test_a_large_picture_keeps_to_its_width_and_its_pages_to_their_scale(name: str, large: dict[str, Draw]) -> None:
    dot = draw_screen(large[name])
    check_picture(dot)
    assert measure(dot).width_px <= 1410
    assert min(map(get_paper_scale, iterate_pages(large[name]))) >= 0.75


@pytest.mark.parametrize("name", NAMES)
def test_a_page_of_a_demonstration_picture_is_hardly_made_smaller(name: str, demonstration: dict[str, Draw]) -> None:
    pages = list(iterate_pages(demonstration[name]))
    assert min(map(get_paper_scale, pages)) >= 0.75
    for number, page in enumerate(pages, start=1):
        title = get_text_alternative(page).title
        assert title.endswith(f", page {number} of {len(pages)}") == (len(pages) > 1)
        assert title in " ".join(read_texts(check_picture(page)))


def test_the_order_of_rows_changes_no_byte() -> None:
    company = load_scenario()
    tables = {name: list(company.get_table(name).values()) for name in TABLES}
    straight, backwards = Snapshot(tables), Snapshot({name: rows[::-1] for name, rows in tables.items()})
    for name in ("cover-treatment", "staffing-networks", "cross-training-wastewater"):
        assert draw_screen(ask_team_pictures(straight)[name]) == draw_screen(ask_team_pictures(backwards)[name])


@pytest.mark.parametrize("name", NAMES)
def test_every_link_leads_to_a_resource_and_its_record_is_named_in_the_description(
    name: str, demonstration: dict[str, Draw]
) -> None:
    snapshot, dot = load_scenario(), draw_screen(demonstration[name])
    description = get_text_alternative(dot).description
    links = read_links(check_picture(dot))
    assert links
    for link in links:
        found = re.fullmatch(r"/(roles|competencies|courses|people|teams)/([A-Za-z0-9._-]+)", link)
        assert found, link
        if found[1] in ("competencies", "courses"):
            assert getattr(snapshot, found[1])[found[2]].label in description


def test_blank_names_are_told_by_their_ids() -> None:
    blank = rename(load_scenario(), [" "])
    texts = read_texts(check_picture(draw_screen(ask_team_pictures(blank)["cover-treatment"])))
    assert "p014" in texts
    assert "cert-chlorine, level 1" in texts
