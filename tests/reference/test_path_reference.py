"""Learning paths and routes against published examples; the source stands beside each."""

from __future__ import annotations

import networkx as nx
import pytest
from small_company import build_scale, build_snapshot

from ontology.analysis.paths.learning_path import LearningPathResult, find_learning_path, find_path_to_levels
from ontology.analysis.profiles.profile import Profile
from ontology.analysis.routes.routes import find_routes
from ontology.snapshot.snapshot import Snapshot


def build_courses(rows: list[tuple[str, float, str, str]]) -> Snapshot:
    """Return a company of (course, hours, entry conditions, outcomes), every level 1."""
    ids = sorted({i for _, _, asked, given in rows for i in (asked + " " + given).split()})
    return build_snapshot(
        scales=build_scale("s", 2),
        competencies=[{"id": i, "label": i, "scale": "s"} for i in ids],
        courses=[{"id": course, "label": course, "hours": hours} for course, hours, _, _ in rows],
        entry_conditions=[{"course": c, "competency": i, "level": 1} for c, _, a, _ in rows for i in a.split()],
        outcomes=[{"course": c, "competency": i, "level": 1} for c, _, _, g in rows for i in g.split()],
    )


def solve(rows: list[tuple[str, float, str, str]], start: str, goal: str, **more: str) -> LearningPathResult:
    profile = Profile(dict.fromkeys(start.split(), 1))
    return find_path_to_levels(
        build_courses(rows),
        profile,
        dict.fromkeys(goal.split(), 1),
        **more,  # type: ignore[arg-type]
    )


# Delete-free planning tasks from the tests of the planner pyperplan (facts only); h+ confirmed by brute force.
@pytest.mark.parametrize(
    ("start", "goal", "rows", "optimum"),
    [
        ("A", "B C", [("o1", 1, "A", "B"), ("o2", 1, "B", "C"), ("o3", 1, "B", "A")], 2),
        ("A", "E F", [("o1", 1, "A", "B C D E"), ("o2", 1, "C", "F")], 2),
    ],
)
def test_delete_free_optimum(start: str, goal: str, rows: list[tuple[str, float, str, str]], optimum: int) -> None:
    result = solve(rows, start, goal)
    assert (result.status, result.study_hours, result.lower_bound) == ("optimal", optimum, optimum)


def test_fewest_courses_of_the_set_cover_example() -> None:
    """Cormen, Leiserson, Rivest & Stein, Introduction to Algorithms, 3rd ed., Fig. 35.3: optimum 3, greedy 4.

    The encoding of the figure is from memory; its optimum is confirmed by brute force.
    """
    sets = {
        "S1": range(1, 7),
        "S2": (5, 6, 8, 9),
        "S3": (1, 4, 7, 10),
        "S4": (2, 5, 7, 8, 11),
        "S5": (3, 6, 9, 12),
        "S6": (10, 11),
    }
    rows = [(name, 1.0, "", " ".join(f"e{n:02d}" for n in members)) for name, members in sets.items()]
    result = solve(rows, "", " ".join(f"e{n:02d}" for n in range(1, 13)), minimise="courses")
    assert [course.id for course in result.courses] == ["S3", "S4", "S5"]
    assert result.lower_bound == 3


def test_weighted_set_cover_where_the_greedy_choice_is_far_off() -> None:
    """Chvatal 1979, Mathematics of Operations Research 4: singletons at 1/i, the full set at 1 + e (from memory)."""
    rows = [(f"x{n}", 60 / n, "", f"e{n}") for n in range(1, 6)]
    result = solve([*rows, ("all", 61.0, "", "e1 e2 e3 e4 e5")], "", "e1 e2 e3 e4 e5")
    assert [course.id for course in result.courses] == ["all"]
    assert result.study_hours == 61


def test_one_condition_and_one_outcome_each_is_the_shortest_path() -> None:
    """Dijkstra's example, Cormen et al., 3rd ed., Fig. 24.6: distances t 8, x 9, y 5, z 7; to x by s, y, t."""
    arcs = "st10 sy5 tx1 ty2 xz4 yt3 yx9 yz2 zs7 zx6"
    rows = [(arc[:2], float(arc[2:]), arc[0], arc[1]) for arc in arcs.split()]
    lengths = {node: solve(rows, "s", node).study_hours for node in "stxyz"}
    assert lengths == {"s": 0, "t": 8, "x": 9, "y": 5, "z": 7}
    assert [course.id for course in solve(rows, "s", "x").courses] == ["sy", "yt", "tx"]


def test_order_goes_by_the_generations_of_the_garments() -> None:
    """Topological order of garments, Cormen et al., 3rd ed., Fig. 22.7."""
    before = {
        "undershorts": "",
        "socks": "",
        "watch": "",
        "shirt": "",
        "pants": "undershorts",
        "tie": "shirt",
        "belt": "pants shirt",
        "shoes": "pants socks undershorts",
        "jacket": "belt tie",
    }
    rows = [(name, 1.0, asked, name) for name, asked in before.items()]
    result = solve(rows, "", " ".join(before))
    order = [course.id for course in result.courses]
    generations = [["shirt", "socks", "undershorts", "watch"], ["pants", "tie"], ["belt", "shoes"], ["jacket"]]
    assert order == [name for generation in generations for name in generation]
    enables = {course.id: set(course.enables) for course in result.courses}
    arcs = nx.DiGraph([(a, name) for name, asked in before.items() for a in asked.split()])
    assert enables == {name: set(arcs[name]) if name in arcs else set() for name in before}


def test_routes_of_the_next_best_paths_example() -> None:
    """Yen 1971, Management Science 17, the usual example: all loopless lengths from C to H are 5, 7, 8, 8, 8, 11, 11.

    Places become roles: a course for each arc asks for the experience of the place it leaves (level 2, which only
    time in that role brings) and gives access to the next (level 1). Paths that stay legal and become no longer
    when one place is left out are not shown; the rest are.
    """
    arcs = {"CD": 3, "CE": 2, "DF": 4, "ED": 1, "EF": 2, "EG": 3, "FG": 2, "FH": 1, "GH": 2}
    places = sorted({place for arc in arcs for place in arc})
    company = build_snapshot(
        scales=build_scale("s", 2),
        competencies=[{"id": place, "label": place, "scale": "s"} for place in places],
        roles=[{"id": place, "label": place, "months_to_full": 1} for place in places],
        requirements=[{"role": p, "competency": p, "level": 2, "entry_level": 1} for p in places],
        courses=[{"id": arc, "label": arc, "hours": hours} for arc, hours in arcs.items()],
        entry_conditions=[{"course": arc, "competency": arc[0], "level": 2} for arc in arcs],
        outcomes=[{"course": arc, "competency": arc[1], "level": 1} for arc in arcs],
    )
    graph = nx.DiGraph()
    graph.add_weighted_edges_from((arc[0], arc[1], hours) for arc, hours in arcs.items())
    paths = {tuple(p): nx.path_weight(graph, p, "weight") for p in nx.all_simple_paths(graph, "C", "H")}
    assert sorted(paths.values()) == [5, 7, 8, 8, 8, 11, 11]
    expected = {
        path[1:]: length
        for path, length in paths.items()
        if all(length < paths.get(path[:k] + path[k + 1 :], 99) for k in range(1, len(path) - 1))
    }
    result = find_routes(company, Profile({"C": 2}, role="C"), "H", max_moves=6)
    assert result.best.study_hours is not None
    assert (result.best.study_hours.roles, result.lower_bound) == (("E", "F", "H"), 5)
    routes = [*result.trade_off, *result.other_routes]
    assert {route.roles: route.study_hours for route in routes} == expected
    assert sorted(expected.values()) == [5, 7, 8]


def build_knapsack(weights: list[int], profits: list[int]) -> Snapshot:
    """Return a company in which item n is a course of so many hours and a requirement of such a weight."""
    items = range(len(weights))
    return build_snapshot(
        scales=build_scale("s", 1),
        competencies=[{"id": f"k{n:02}", "label": f"k{n:02}", "scale": "s"} for n in items],
        courses=[{"id": f"x{n:02}", "label": f"x{n:02}", "hours": float(weights[n])} for n in items],
        outcomes=[{"course": f"x{n:02}", "competency": f"k{n:02}", "level": 1} for n in items],
        roles=[{"id": "r", "label": "r"}],
        requirements=[{"role": "r", "competency": f"k{n:02}", "level": 1, "weight": float(profits[n])} for n in items],
    )


@pytest.mark.parametrize(
    ("capacity", "weights", "profits", "optimum", "items"),
    [
        # J. Burkardt, Florida State University, data set KNAPSACK_01, problem P01
        (
            165,
            [23, 31, 29, 44, 53, 38, 63, 85, 89, 82],
            [92, 57, 49, 68, 60, 43, 67, 84, 87, 72],
            309,
            [0, 1, 2, 3, 5],
        ),
        # Martello & Toth 1990, Knapsack Problems, an example of chapter 2
        (102, [2, 20, 20, 30, 40, 30, 60, 10], [15, 100, 90, 60, 40, 15, 10, 1], 280, [0, 1, 2, 3, 5]),
    ],
)
def test_a_budget_buys_the_optimum_of_published_knapsacks(
    capacity: int, weights: list[int], profits: list[int], optimum: int, items: list[int]
) -> None:
    """Both from memory; the optimum is confirmed here by trying every set. Ties go by the least weight."""
    sets = [[n for n in range(len(weights)) if mask >> n & 1] for mask in range(1 << len(weights))]
    fitting = [chosen for chosen in sets if sum(weights[n] for n in chosen) <= capacity]
    assert max(sum(profits[n] for n in chosen) for chosen in fitting) == optimum
    assert sum(profits[n] for n in items) == optimum
    result = find_learning_path(build_knapsack(weights, profits), Profile({}), "r", max_hours=capacity)
    assert result.readiness_after == pytest.approx(optimum / sum(profits), abs=1e-12)
    least = min(sum(weights[n] for n in c) for c in fitting if sum(profits[n] for n in c) == optimum)
    assert result.study_hours == least


def test_alternatives_are_the_next_best_paths_of_the_usual_example() -> None:
    """Yen 1971, Management Science 17, the usual example: the lengths from C to H are 5, 7, 8, 8, 8, 11, 11.

    An arc is a course that asks for the place it leaves and gives the one it leads to; sets of courses of which none
    can be left out are then the loopless paths.
    """
    arcs = "CD3 CE2 DF4 ED1 EF2 EG3 FG2 FH1 GH2"
    rows = [(arc[:2], float(arc[2:]), arc[0], arc[1]) for arc in arcs.split()]
    result = find_path_to_levels(build_courses(rows), Profile({"C": 1}), {"H": 1}, alternatives=5)
    assert result.alternatives is not None
    assert [result.study_hours, *(a.study_hours for a in result.alternatives)] == [5, 7, 8, 8, 8, 11]
    assert [course.id for course in result.courses] == ["CE", "EF", "FH"]
    assert result.alternatives[0].courses == ("CE", "EG", "GH")
    assert all(a.is_proved for a in result.alternatives)
