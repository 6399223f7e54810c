"""Every search that asks the clock ends soon after it is cancelled, with the best it had and its bound."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Any

import pytest
from hard_company import build_hard_company

from api.access.actor import LOCAL_OWNER
from api.desk.computations import Computations, StillComputing
from api.desk.desk import Desk
from api.desk.question import PERSON, TEAM, Subject
from api.questions import load_question
from api.settings import Settings
from ontology.live.live_graph import LiveGraph

#: What may take far longer than a test waits; hours and limits as `test_slow_answers.py` has them.
HARD: list[tuple[str, Subject, dict[str, Any]]] = [
    ("learning-path", Subject(PERSON, "p0"), {"role": "r0"}),
    ("routes", Subject(PERSON, "p0"), {"to": "r0", "preparation_limit": 100_000.0}),
    ("reachable-roles", Subject(PERSON, "p0"), {"preparation_limit": 100_000.0}),
    ("cross-training", Subject(TEAM, "t"), {}),
]
#: Seconds of a slice of the solver on a busy machine, far below the time limit.
GRACE_S = 40
LIMIT_S = 120.0


@pytest.fixture(scope="module")
def hard_graph() -> Iterator[LiveGraph]:
    graph = build_hard_company()
    yield graph
    graph.close()


@pytest.mark.parametrize(("name", "subject", "asked"), HARD, ids=[f"{n}-{s.kind.word}" for n, s, _ in HARD])
def test_a_cancelled_search_ends_with_the_best_it_had(
    hard_graph: LiveGraph, name: str, subject: Subject, asked: dict[str, Any]
) -> None:
    desk = Desk(hard_graph, Settings(time_limit_max_s=LIMIT_S))
    question = load_question(name)
    asks = question.asks[subject.kind](**asked, time_limit_s=LIMIT_S)
    computations = Computations(desk, patience_s=1.0)
    with pytest.raises(StillComputing) as caught:
        computations.ask(desk.receive(LOCAL_OWNER, desk.get_state(), question, subject, asks), "/x")
    computations.cancel(caught.value.number, LOCAL_OWNER)
    begun = time.monotonic()
    while (progress := computations.get_progress(caught.value.number, LOCAL_OWNER)).phase == "stopping":
        assert time.monotonic() - begun < GRACE_S
        time.sleep(0.05)
    assert progress.phase == "cancelled"
    assert progress.answer is not None
    assert progress.answer.record.status == "feasible"
