"""A deadline comes with its time or with the stop signal of its thread, and what was cut short is not kept."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest
from scenario import load_scenario

from ontology.analysis.engine.deadline import Deadline, heed
from ontology.analysis.paths.planner import Plan
from ontology.analysis.profiles.profile import build_role_profile
from ontology.analysis.routes.framework_review import review_framework
from ontology.analysis.routes.moves import MoveCosts, find_reachable_roles
from ontology.analysis.routes.role_graph import build_role_graph


def test_without_a_signal_nothing_stops() -> None:
    assert not Deadline(None).is_over()
    assert Deadline(None).get_remaining_s() is None
    assert Deadline(0).is_over()


@pytest.mark.parametrize("limit_s", [None, 3600.0])
def test_the_signal_ends_every_deadline_made_under_it(limit_s: float | None) -> None:
    stop = threading.Event()
    with heed(stop):
        deadline = Deadline(limit_s)
        share = deadline.get_share(0.5)
    assert not deadline.is_over()
    stop.set()
    for each in (deadline, share, deadline.get_share(0.5)):
        assert each.is_over()
        assert each.get_remaining_s() == 0


def test_the_signal_is_that_of_one_thread_and_one_block() -> None:
    stop = threading.Event()
    stop.set()
    others: list[bool] = []
    with heed(stop):
        thread = threading.Thread(target=lambda: others.append(Deadline(None).is_over()))
        thread.start()
        thread.join()
    assert others == [False]
    assert not Deadline(None).is_over()


def test_what_was_stopped_leaves_nothing_false_behind() -> None:
    snapshot = load_scenario()
    role_id = next(iter(snapshot.roles))
    stop = threading.Event()
    stop.set()
    with heed(stop):
        stopped = build_role_graph(snapshot)
        find_reachable_roles(snapshot, build_role_profile(snapshot, role_id))
    graph = build_role_graph(snapshot)
    assert stopped.number_of_edges() == 0
    assert not graph.graph["undecided"].any()
    assert graph.number_of_edges() > 0
    assert review_framework(snapshot, date(2026, 11, 24)).status == "optimal"
    assert find_reachable_roles(snapshot, build_role_profile(snapshot, role_id)).status == "optimal"


def test_a_move_whose_plan_was_cut_short_is_undecided(monkeypatch: pytest.MonkeyPatch) -> None:
    stop, find_plan = threading.Event(), MoveCosts.find_plan

    def find_and_stop(costs: MoveCosts, levels: Mapping[str, int], role_id: str) -> Plan | None:
        plan = find_plan(costs, levels, role_id)
        stop.set()
        return plan and replace(plan, is_proved=False)

    monkeypatch.setattr(MoveCosts, "find_plan", find_and_stop)
    with heed(stop):
        graph = build_role_graph(load_scenario())
    assert graph.number_of_edges() == 0
    assert len(graph.graph["undecided"]) > 1, "that one, and all that were not looked at"
