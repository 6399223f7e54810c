"""The AND/OR graph of a learning path as cards: courses, and the levels between them. Imports path_words, placed_cards.

A course needs all the levels that lead to it; a level is there as soon as any one course has reached it. Levels held
already are words on the course that asks for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import networkx as nx

from api.diagrams import old_style as style
from api.diagrams.old_cards import Line
from api.diagrams.path_words import find_other_courses, format_facts, format_level
from api.diagrams.placed_cards import Card, build_fixed_card
from api.diagrams.text import format_count, get_link, get_node_name
from ontology.analysis.paths.learning_path import LearningPathResult, PathCourse, build_path_graph
from ontology.analysis.paths.path_courses import BroughtLevel
from ontology.analysis.profiles.levels import Profile
from ontology.graph.snapshot import Snapshot

#: Points.
COURSE_WIDTH: Final = 146
LEVEL_WIDTH: Final = 122

PathNode = tuple[str, ...]


class NodeCard(NamedTuple):
    """One node: its DOT name, card and words; `is_course` decides how lines join before it."""

    name: str
    card: Card
    link: str
    tooltip: str
    is_course: bool


class PathPart(NamedTuple):
    """Courses and levels that hang together, in an order in which every edge leads forward."""

    nodes: dict[str, NodeCard]
    edges: list[tuple[str, str]]
    steps: list[int]


def build_parts(snapshot: Snapshot, profile: Profile, result: LearningPathResult) -> list[PathPart]:
    """Return the parts of a path that do not hang together, by their first steps, single courses last. O(c^2)."""
    full = build_path_graph(snapshot, profile, result)
    graph = _prune(full)
    cards = {node: _build_node(snapshot, full, graph, node, result) for node in graph}
    places = {node: _get_place(graph, node) for node in graph}
    parts = []
    for component in nx.weakly_connected_components(graph):
        ordered = sorted(component, key=lambda node: (places[node], node))
        edges = [
            (cards[tail].name, cards[head].name)
            for tail in ordered
            for head in sorted(graph.successors(tail), key=lambda node: (places[node], node))
        ]
        steps = sorted(graph.nodes[node]["position"] for node in ordered if node[0] == "course")
        parts.append(PathPart({cards[node].name: cards[node] for node in ordered}, edges, steps))
    return sorted(parts, key=lambda part: (len(part.steps) == 1, part.steps))


def _prune(full: nx.DiGraph[PathNode]) -> nx.DiGraph[PathNode]:
    """Return the graph without levels held or not reached, and without courses that come too late for a level.

    A course that comes after the first one that asks for a level cannot be what that one waited for.
    """
    graph: nx.DiGraph[PathNode] = nx.DiGraph()
    graph.add_nodes_from((node, data) for node, data in full.nodes(data=True) if data["kind"] == "course")
    for node, data in full.nodes(data=True):
        if data["kind"] != "level" or data["is_held"]:
            continue
        asking = sorted(full.nodes[course]["position"] for course in full.successors(node))
        giving = [
            course for course in full.predecessors(node) if not asking or full.nodes[course]["position"] < asking[0]
        ]
        if giving:
            graph.add_node(node, **data)
            graph.add_edges_from((course, node) for course in giving)
            graph.add_edges_from((node, course) for course in full.successors(node))
    return graph


def _get_place(graph: nx.DiGraph[PathNode], node: PathNode) -> tuple[int, int]:
    """Return where a node stands in the order of steps: a level right after the last course that reaches it."""
    if node[0] == "course":
        return (graph.nodes[node]["position"], 0)
    return (max(graph.nodes[course]["position"] for course in graph.predecessors(node)), 1)


def _build_node(
    snapshot: Snapshot,
    full: nx.DiGraph[PathNode],
    graph: nx.DiGraph[PathNode],
    node: PathNode,
    result: LearningPathResult,
) -> NodeCard:
    if node[0] == "course":
        position = graph.nodes[node]["position"]
        told = [level for level in full.predecessors(node) if level not in graph]
        card = result.taken[position - 1]
        towards = (
            [] if any(graph.successors(node)) else [row for row in card.brings if row.competency in result.targets]
        )
        return _build_course(snapshot, card, position, full, told, towards)
    steps = sorted(graph.nodes[course]["position"] for course in graph.predecessors(node))
    return _build_level(snapshot, graph, node, steps, set(result.order))


def _build_course(
    snapshot: Snapshot,
    course: PathCourse,
    step: int,
    full: nx.DiGraph[PathNode],
    told: Sequence[PathNode],
    towards: Sequence[BroughtLevel],
) -> NodeCard:
    facts = format_facts(snapshot, course)
    rows = [
        Line(course.label, style.TEXT_PT, bold=True, max_lines=4),
        Line(facts, colour=style.QUIET, max_lines=3),
    ]
    is_booked = full.nodes["course", course.id]["is_booked"]
    if is_booked:
        rows.insert(1, Line("booked already", bold=True, max_lines=1))
    # every other level has a course before this one, which a line leads from
    held = [full.nodes[node] for node in sorted(told)]
    needs = ", ".join(format_level(snapshot, data["competency"], data["level"]) for data in held)
    if needs:
        rows.append(Line(f"needs too, held already: {needs}", max_lines=4))
    brought = ", ".join(format_level(snapshot, row.competency, row.level) for row in towards)
    if brought:
        rows.append(Line(f"leads towards a target: {brought}", max_lines=4))
    mark = ", booked already" if is_booked else ""
    told_of = [f"Step {step}: {course.label} ({course.id}){mark}, {facts}", needs and f"needs held already: {needs}"]
    told_of.append(brought and f"leads towards a target: {brought}")
    return NodeCard(
        get_node_name("course", course.id),
        build_fixed_card(rows, COURSE_WIDTH, style.COURSE.colour, mark=str(step)),
        get_link("courses", course.id),
        "; ".join(filter(None, told_of)),
        is_course=True,
    )


def _build_level(
    snapshot: Snapshot, graph: nx.DiGraph[PathNode], node: PathNode, steps: Sequence[int], taken: set[str]
) -> NodeCard:
    data = graph.nodes[node]
    words = format_level(snapshot, data["competency"], data["level"])
    others = find_other_courses(snapshot, data["competency"], data["level"], taken)
    mark = style.ROLE if data["is_target"] else style.COMPETENCY
    rows = [
        Line(data["label"], bold=True, max_lines=4),
        Line(f"level {data['level']}" + (": target" if data["is_target"] else ""), max_lines=1),
    ]
    if others:
        more = f" or {format_count(len(others) - 1, 'more')}".replace("mores", "more") if len(others) > 1 else ""
        rows.append(Line(f"else by {others[0]}{more}", colour=style.QUIET, max_lines=3))
    told = [f"reached by {'any one of steps' if len(steps) > 1 else 'step'} {', '.join(map(str, steps))}"]
    if others:
        told.append(f"else by {', '.join(others)}")
    return NodeCard(
        get_node_name("level", data["competency"], str(data["level"])),
        build_fixed_card(rows, LEVEL_WIDTH, mark.colour, ground=mark.tint if data["is_target"] else style.WHITE),
        get_link("competencies", data["competency"]),
        "; ".join((words + (", target level" if data["is_target"] else ""), *told)),
        is_course=False,
    )
