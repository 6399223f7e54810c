"""Pictures for team leads: staffing with its bottleneck, and a cross-training plan now and then."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import timedelta

import pytest
from asking import TEAM, find
from drawn import WITHOUT_DOT, check_picture, read_links, read_texts
from picture_cases import draw_cross_training, draw_staffing, iterate_pages, load_scenario
from picture_companies import build_learning_team, build_scarce_team, build_team_company
from small_company import ON, build_competencies, build_scale, build_snapshot

from api.desk.plain_cells import say_day
from api.pictures.svg import get_text_alternative
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

pytestmark = [WITHOUT_DOT, pytest.mark.needs_dot]
SCREEN = {"layout": "screen", "page": 1}


def build_two_posts(label: str = "Valve work", name: str = "Ada") -> Snapshot:
    """Two places in one crew that only one person can fill, another person close to it, a course that closes it."""
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


def test_slots_that_compete_stand_with_the_too_few_people_and_the_closest() -> None:
    dot = draw_staffing(build_two_posts(), "t")(**SCREEN)
    texts = read_texts(check_picture(dot))
    assert "1 of 2 places filled. 2 slots compete for 1 person." in texts
    assert texts.index("unfilled; whole team") < texts.index("filled by Ada, contested; whole team")
    for told in ("without them one slot", "still missing", "has", "needs"):
        assert told in texts
    assert "Closest to filling it (voluntary): Bo" in texts
    found = re.findall(r'"person/p1":e -> slots:s(\d):w \[.*?penwidth="?([\d.]+)"?.*?style=(\w+)', dot)
    assert found == [("0", "1.2", "dashed"), ("1", "3", "solid")]
    words = get_text_alternative(dot).description
    assert "Bo, lacks Valve work level 3 (has 2)" in words
    assert "Candidates for contested slots: Ada." in words
    assert "No roster law is checked" in words


def test_each_empty_slot_of_a_kind_leads_to_the_one_who_is_closest_to_it() -> None:
    dot = draw_staffing(build_scarce_team(), "t")(**SCREEN)
    assert re.findall(r'slots:(s\d):e -> "(closest/\d)":w', dot) == [("s0", "closest/0"), ("s1", "closest/1")]


def test_slots_that_do_not_compete_are_a_list() -> None:
    dot = draw_staffing(build_scarce_team(3, 4), "t")(**SCREEN)
    texts = read_texts(check_picture(dot))
    assert "Every slot is filled, and none is contested." in texts
    assert texts.count("\u00a0filled") == 3
    assert "->" not in dot.partition("digraph")[2]


def test_a_team_without_places_says_so() -> None:
    snapshot = build_snapshot(teams=[{"id": "t", "label": "Office"}])
    draw = draw_staffing(snapshot, "t")
    for page in (draw(**SCREEN), *iterate_pages(draw)):
        assert "This team has no places yet." in read_texts(check_picture(page))


@pytest.mark.parametrize("size", [5, 15, 40])
def test_every_slot_stands_on_exactly_one_page(size: int) -> None:
    snapshot = build_team_company(size)
    asked = Counter({f"/roles/{place.role}": place.count for place in snapshot.places.values()})
    links = [link for page in iterate_pages(draw_staffing(snapshot, "t")) for link in read_links(check_picture(page))]
    assert Counter(link for link in links if "/roles/" in link) == asked


# ---- now and then ----


def test_a_plan_shows_a_need_now_and_then_and_who_learns() -> None:
    draw = draw_cross_training(build_two_posts(), "t")
    for dot in (draw(**SCREEN), *iterate_pages(draw)):
        texts = read_texts(check_picture(dot))
        for told in ("now: sole holder, 1 present", "then: covered, 2 present", "12\u00a0h", "minimum 1, target 2"):
            assert told in texts
        assert any(text.startswith("3\u00a0h of a coach, done on 27\u00a0Nov\u00a02026") for text in texts)
        assert re.search(r'"person/p2":e -> "need/v/3/team":w', dot)
        words = get_text_alternative(dot).description
        assert "learning for it: Bo." in words
        assert "An offer, not an order" in words


def test_nothing_to_learn_says_so() -> None:
    snapshot = build_snapshot(teams=[{"id": "t", "label": "Office"}])
    draw = draw_cross_training(snapshot, "t")
    for page in (draw(**SCREEN), *iterate_pages(draw)):
        assert any("Nothing to do" in text for text in read_texts(check_picture(page)))


def test_who_stays_missing_is_told_with_the_reason() -> None:
    snapshot = build_team_company(15)
    dot = draw_cross_training(snapshot, "t")(**SCREEN)
    plan = find(snapshot, "cross-training", TEAM, "t", on=ON)
    assert plan.unmet
    assert "Still missing after the plan" in read_texts(check_picture(dot))
    for row in plan.unmet:
        assert row.reason in get_text_alternative(dot).description


def test_every_learner_stands_on_exactly_one_page_with_what_they_learn_for() -> None:
    snapshot = build_learning_team(12)
    pages = list(iterate_pages(draw_cross_training(snapshot, "t", hours_limit=40.0)))
    assert len(pages) > 1
    links = [read_links(check_picture(page)) for page in pages]
    for number in range(12):
        assert sum(f"/people/p{number:02}" in found for found in links) == 1
        assert any(f"/competencies/c{number}" in found for found in links)


# ---- all ----


def test_the_same_team_gives_the_same_bytes() -> None:
    for draw in (draw_staffing, draw_cross_training):
        assert draw(build_team_company(15), "t")(**SCREEN) == draw(build_team_company(15), "t")(**SCREEN)


def test_what_changes_without_training_and_what_expires_is_told() -> None:
    snapshot = build_two_posts()
    leaver = replace(snapshot.people["p1"], end_date=ON + timedelta(days=1))
    lapsing = TABLES["assessments"].build(
        person="p2", competency="u", level=1, date=ON, source="assessor", valid_until=ON + timedelta(days=1)
    )
    more = [
        ("people", leaver),
        ("competencies", TABLES["competencies"].build(id="u", label="Permit", scale="s5", expiry="hard")),
        ("assessments", lapsing),
        ("cover_needs", TABLES["cover_needs"].build(team="t", competency="u", level=1, minimum=1)),
    ]
    changed = snapshot.with_changes(put=more)
    draw = draw_cross_training(changed, "t", holes="needs")
    dot = draw(**SCREEN)
    texts = read_texts(check_picture(dot))
    assert "now: sole holder, 1 present" in texts
    assert "then: sole holder, 1 present" in texts  # one learns, one has left
    assert "changes without training" in texts
    assert "Permit, level 1" in texts
    assert "\u00a0short, 0 present" in texts
    assert "expires before then" in texts
    assert "no single course" in texts
    words = get_text_alternative(dot).description
    assert f"Permit at level 1 expires after {say_day(ON + timedelta(days=1))}: Bo; not in the plan" in words


def test_a_place_and_a_slot_of_a_group_are_told_now_and_then() -> None:
    dot = draw_cross_training(build_two_posts(), "t")(**SCREEN)
    texts = read_texts(check_picture(dot))
    assert "now: short, 1 of 2 filled" in texts
    assert "then: covered, 2 of 2 filled" in texts
    networks = read_texts(check_picture(draw_cross_training(load_scenario(), "networks")(**SCREEN)))
    assert "Night standby; slots of group entry-standby" in networks
    assert "now: short, 0 of 1 filled" in networks
