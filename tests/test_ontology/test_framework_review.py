"""What stands out in a framework: against trying every course set, every move and every lowered entry level."""

from __future__ import annotations

import dataclasses
import itertools
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import networkx as nx
import pytest
from brute_routes import Learner, minutes, reach_everything, take_all
from company_strategies import build_random_company
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.analysis.engine.deadline import Deadline
from ontology.analysis.profiles.profile import build_role_profile
from ontology.analysis.routes.framework_review import review_framework
from ontology.analysis.routes.role_graph import build_role_graph
from ontology.model.tables import TABLES
from ontology.model.work_records import Obligation
from ontology.snapshot.snapshot import Snapshot


def iterate_best_sets(
    snapshot: Snapshot, held: Mapping[str, int], targets: Mapping[str, int]
) -> Iterator[tuple[str, ...]]:
    """Yield every set of courses of least minutes that reaches what of the targets can be reached."""
    learner = Learner(held, {}, "", 4.0)
    most = reach_everything(snapshot, learner)
    goals = {i: level for i, level in targets.items() if level <= most.get(i, 0)}
    found: dict[int, list[tuple[str, ...]]] = {}
    courses = list(snapshot.courses.values())
    for size in range(len(courses) + 1):
        for chosen in itertools.combinations(courses, size):
            levels = dict(held)
            if take_all(snapshot, learner, levels, chosen) and all(
                levels.get(i, 0) >= level for i, level in goals.items()
            ):
                found.setdefault(minutes(chosen), []).append(tuple(course.id for course in chosen))
    yield from found[min(found)]


def replace_requirement(snapshot: Snapshot, role: str, competency: str, **values: Any) -> Snapshot:
    """Return the company with one requirement changed."""
    changed = dataclasses.replace(snapshot.get_record("requirements", (role, competency)), **values)
    return snapshot.with_changes(put=[("requirements", changed)])


@pytest.mark.parametrize("first_seed", range(0, 160, 40))
def test_review_is_what_trying_everything_finds(first_seed: int) -> None:
    found: Counter[str] = Counter()
    for seed in range(first_seed, first_seed + 40):
        snapshot, _ = build_random_company(seed)
        require_review_of_trying_everything(
            snapshot, found, preparation_limit=(0.0, 4.0, 8.0, 200.0)[seed % 4], level_limit=seed // 4 % 3
        )
    # the companies must hold all that is looked for
    assert set(found) == {"unused", "stones", "untaught", "dead ends"}
    assert min(found.values()) > 3, found


def require_review_of_trying_everything(snapshot: Snapshot, found: Counter[str], **limits: Any) -> None:
    review = review_framework(snapshot, ON, **limits)
    graph = build_role_graph(snapshot, **limits)
    assert (review.status, review.roles, review.moves) == ("optimal", len(graph), graph.number_of_edges())
    assert [row.id for row in review.unreachable_roles] == sorted(r for r in graph if not graph.in_degree(r))
    assert [row.id for row in review.dead_ends] == sorted(r for r in graph if not graph.out_degree(r))

    used: set[str] = set()
    for target in graph:
        levels = {r.competency: r.level for r in snapshot.get_requirements(target)}
        for held in [{}, *(build_role_profile(snapshot, s).levels for s in graph.predecessors(target))]:
            used |= set().union(*iterate_best_sets(snapshot, held, levels))
    teaching = {o.course for c in snapshot.courses for o in snapshot.get_outcomes(c) if not o.renews}
    told = {row.id for row in review.unused_courses}
    assert {c for c in told if snapshot.courses[c].hours} == {c for c in teaching - used if snapshot.courses[c].hours}

    expected = {}
    for role in graph:
        for r in snapshot.get_requirements(role):
            if (
                r.necessity == "desirable"
                or r.entry_level < r.level
                or snapshot.competencies[r.competency].is_certificate
            ):
                continue
            for lowered in range(r.level - 1, max(0, r.level - 1 - limits["level_limit"]), -1):
                changed = replace_requirement(snapshot, role, r.competency, entry_level=lowered)
                fresh = set(build_role_graph(changed, **limits).edges) - set(graph.edges)
                if fresh:
                    expected[role, r.competency] = (lowered, sorted(s for s, _ in fresh))
                    break
    assert {
        (row.role, row.competency): (row.lowered_to, sorted(row.stepping_stones)) for row in review.high_entry_levels
    } == expected

    most = reach_everything(snapshot, Learner({}, {}, "", 4.0))
    untaught = {
        (r.competency, r.level): r
        for role in graph
        for r in snapshot.get_requirements(role)
        if r.level > most.get(r.competency, 0)
    }
    assert {(row.competency, row.level) for row in review.untaught_levels} == set(untaught)

    efforts = nx.DiGraph()
    efforts.add_nodes_from(graph)
    efforts.add_weighted_edges_from((s, t, round(hours * 60) + 60) for s, t, hours in graph.edges(data="study_hours"))
    shares = nx.betweenness_centrality(efforts, weight="weight")
    assert {row.id: row.betweenness for row in review.central_roles} == {
        role: round(share, 6) for role, share in shares.items() if share
    }
    found.update({"unused": len(told), "stones": len(expected), "untaught": len(untaught)})
    found.update({"dead ends": len(review.dead_ends)})


def build_chain() -> Snapshot:
    """Four roles in a row; the last asks what no course teaches, the third is left open to the job."""
    return build_snapshot(
        scales=build_scale(),
        competencies=build_competencies("a b c"),
        roles=[{"id": r, "label": r.upper()} for r in ("r1", "r2", "r3", "r4")],
        requirements=[
            {"role": "r1", "competency": "a", "level": 1},
            {"role": "r2", "competency": "a", "level": 3, "entry_level": 2},
            {"role": "r3", "competency": "a", "level": 5, "entry_level": 4},
            {"role": "r4", "competency": "b", "level": 3},
            {"role": "r4", "competency": "c", "level": 1, "learned_on_job": False},
        ],
        courses=[
            {"id": "short", "label": "Short", "hours": 10},
            {"id": "long", "label": "Long", "hours": 12},
            {"id": "far", "label": "Far", "hours": 30},
            {"id": "again", "label": "Again", "hours": 1},
        ],
        outcomes=[
            {"course": "short", "competency": "a", "level": 2},
            {"course": "long", "competency": "a", "level": 2},
            {"course": "far", "competency": "a", "level": 4},
            {"course": "again", "competency": "a", "level": 4, "renews": True},
        ],
    )


def test_a_chain_of_roles_tells_what_stands_out() -> None:
    review = review_framework(build_chain(), ON)
    assert [row.id for row in review.unreachable_roles] == ["r4"]
    assert review.unreachable_roles[0].held_back_by == ("b", "c")
    assert [row.id for row in review.dead_ends] == []
    assert [(row.competency, row.level, row.roles, row.learned_on_job) for row in review.untaught_levels] == [
        ("c", 1, ("r4",), False),
        ("a", 5, ("r3",), True),
        ("b", 3, ("r4",), True),
    ]
    # the long course costs more than the short one that teaches the same; the renewing one is not in question
    assert [row.id for row in review.unused_courses] == ["long"]
    assert [row.id for row in review.central_roles] == ["r2"]
    assert review.pivotal_competencies[0].competency == "a"


@pytest.mark.parametrize(("levels", "unused"), [((2,), []), ((3,), ["long"]), ((2, 3), [])])
def test_a_course_that_an_obligation_asks_for_is_not_unused(levels: tuple[int, ...], unused: list[str]) -> None:
    asked = [Obligation(f"o{level}", "O", "a", level, "everyone", "", 0, None, None, "", "") for level in levels]
    review = review_framework(build_chain().with_changes(put=[("obligations", row) for row in asked]), ON)
    assert [row.id for row in review.unused_courses] == unused


def test_betweenness_of_competencies_adds_up_what_waits_for_them() -> None:
    review = review_framework(build_chain(), ON)
    graph = build_role_graph(build_chain())
    shares = nx.edge_betweenness_centrality(graph, weight=lambda s, t, d: round(d["study_hours"] * 60) + 60)
    up = [("r1", "r2"), ("r2", "r3"), ("r4", "r1"), ("r4", "r2")]
    assert {edge for edge, share in shares.items() if share} >= set(up) & set(graph.edges)
    told = {row.competency: (row.betweenness, row.moves) for row in review.pivotal_competencies}
    waiting = [(s, t) for s, t in graph.edges if graph.edges[s, t]["study_hours"] > 0]
    assert told["a"] == (pytest.approx(sum(shares[edge] for edge in waiting)), len(waiting))


def test_people_count_for_reach_and_none_is_named() -> None:
    build = TABLES["people"].build
    company = build_chain().with_changes(
        put=[
            ("teams", TABLES["teams"].build(id="t", label="T")),
            ("people", build(id="p1", name="Ada Example", team="t")),
            ("people", build(id="p2", name="Ben Example")),
            ("people", build(id="p3", name="Cleo Example", team="t", end_date=ON - timedelta(days=1))),
            ("people", build(id="p4", name="Dora Example", team="t", start_date=ON + timedelta(days=1))),
            *(
                ("assessments", TABLES["assessments"].build(**row, level=3, date=ON, source="assessor"))
                for row in ({"person": "p2", "competency": i} for i in "bc")
            ),
        ]
    )
    review = review_framework(company, ON)
    assert (review.people, review.unreachable_roles) == (2, ())
    assert "p2" not in str(review)


def test_time_that_is_up_leaves_the_graph_and_says_what_is_missing() -> None:
    review = review_framework(build_chain(), ON, time_limit_s=0)
    assert (review.status, review.roles, review.moves) == ("feasible", 4, 0)
    assert "not complete" in review.remarks[0]
    # what is not looked at is not told: no role is called lonely, no course unused
    assert (review.unreachable_roles, review.dead_ends, review.unused_courses, review.central_roles) == ((), (), (), ())


@pytest.mark.parametrize("looks", range(0, 60, 7))
def test_a_role_stands_on_a_list_only_where_every_move_has_been_looked_at(looks: int) -> None:
    company = build_chain()
    whole = review_framework(company, ON)
    times = iter(range(10**6))
    with patch.object(Deadline, "is_over", lambda self: next(times) >= looks):
        review = review_framework(company, ON, time_limit_s=1.0)
    assert set(review.unreachable_roles) <= set(whole.unreachable_roles)
    assert set(review.dead_ends) <= set(whole.dead_ends)
    assert set(review.unused_courses) <= set(whole.unused_courses)
    assert review.central_roles in ((), whole.central_roles)
    assert review.moves <= whole.moves
