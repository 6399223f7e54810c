"""Slow questions of pages: whose turn it is, what is kept for whom, and that cancelling ends the search."""

from __future__ import annotations

import contextlib
import dataclasses
import datetime as dt
import threading
import time
from collections.abc import Iterator
from typing import Any

import pytest
from rest_company import build_company

from api.access.actor import LOCAL_OWNER, Actor, Role
from api.access.sight import Sight
from api.desk import computations as room
from api.desk.computations import Computations, StillComputing
from api.desk.desk import Answer, Desk, Enquiry
from api.desk.question import PERSON, TEAM, Subject
from api.errors import BusyError
from api.questions import load_question
from api.settings import Settings
from ontology.analysis.engine.deadline import Deadline
from ontology.errors import InputError, NotFoundError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

ANN, BEN, CAL = (dataclasses.replace(LOCAL_OWNER, name=name) for name in ("ann", "ben", "cal"))


class HeldDesk(Desk):
    """A desk whose slow answers come when they are let, or end when they are stopped."""

    def __init__(self, graph: LiveGraph) -> None:
        super().__init__(graph, Settings(slow_computing_max=4))
        self.may_end = threading.Event()
        self.error: Exception | None = None
        self.computed: list[Enquiry] = []

    def compute(self, enquiry: Enquiry) -> Answer:
        """Answer once it is let."""
        deadline = Deadline(60)
        self.computed.append(enquiry)
        while not (self.may_end.is_set() or deadline.is_over()):
            time.sleep(0.005)
        if self.error is not None:
            raise self.error
        return super().compute(enquiry)


@pytest.fixture
def desk() -> Iterator[HeldDesk]:
    graph = build_company()
    desk = HeldDesk(graph)
    yield desk
    desk.may_end.set()
    graph.close()


@pytest.fixture
def computations(desk: HeldDesk) -> Computations:
    return Computations(desk, patience_s=0.05)


def receive(desk: Desk, actor: Actor, day: int = 0, *, is_private: bool = False) -> Enquiry:
    """Return a slow question, another one each day."""
    name, subject, asked = "staffing", Subject(TEAM, "works"), {}
    if is_private:
        name, subject, asked = "development-plan", Subject(PERSON, "p1"), {"role": "operator", "time_limit_s": 5.0}
    question = load_question(name)
    asks = question.asks[subject.kind](on=dt.date(2026, 11, 1 + day), **asked)
    state = desk.get_state()
    return desk.receive(actor, state.see(Sight(actor, state.snapshot, state.today)), question, subject, asks)


def begin(computations: Computations, enquiry: Enquiry) -> int:
    """Ask what is not answered yet; return the computation's number."""
    with pytest.raises(StillComputing) as caught:
        computations.ask(enquiry, f"/page-of-{enquiry.actor.name}")
    return caught.value.number


def look_in(computations: Computations, enquiry: Enquiry) -> Answer:
    """Ask as often as a page would, until the answer is there."""
    for _ in range(200):
        with contextlib.suppress(StillComputing):
            return computations.ask(enquiry, "/x")
    pytest.fail("still computing")


def wait_for(computations: Computations, number: int, actor: Actor, *phases: str) -> Any:
    """Return how far a computation is once it stands there."""
    for _ in range(1000):
        progress = computations.get_progress(number, actor)
        if progress.phase in phases:
            return progress
        time.sleep(0.01)
    pytest.fail(f"still {progress.phase}")


def test_a_quick_answer_comes_at_once_and_is_what_the_desk_says(desk: HeldDesk, computations: Computations) -> None:
    desk.may_end.set()
    enquiry = receive(desk, ANN)
    assert look_in(computations, enquiry).members == desk.answer(enquiry).members


def test_a_slow_one_goes_on_and_is_then_kept(desk: HeldDesk, computations: Computations) -> None:
    enquiry = receive(desk, ANN, is_private=True)
    number = begin(computations, enquiry)
    progress = wait_for(computations, number, ANN, "computing")
    assert (progress.limit_s, progress.address, progress.answer) == (5.0, "/page-of-ann", None)
    assert begin(computations, enquiry) == number, "asked again it is the same"
    desk.may_end.set()
    answer = wait_for(computations, number, ANN, "done").answer
    assert computations.ask(enquiry, "/x") is answer
    assert len(desk.computed) == 1


def test_two_at_once_for_a_person_and_four_in_all(desk: HeldDesk, computations: Computations) -> None:
    ann = [begin(computations, receive(desk, ANN, day)) for day in range(3)]
    assert computations.get_progress(ann[2], ANN).own == (ann[0], ann[1])
    ben = [begin(computations, receive(desk, BEN, day)) for day in range(3, 5)]
    cal = [begin(computations, receive(desk, CAL, day)) for day in range(5, 7)]
    assert len(desk.computed) == 4
    phases = [computations.get_progress(number, CAL).phase for number in cal]
    assert phases == ["waiting", "waiting"]
    assert [computations.get_progress(number, CAL).before for number in cal] == [1, 2]
    computations.cancel(ben[0], BEN)
    wait_for(computations, cal[0], CAL, "computing")
    assert computations.get_progress(ann[2], ANN).phase == "waiting", "Ann has two already"
    desk.may_end.set()
    for number, actor in ((ann[2], ANN), (cal[1], CAL), (ben[1], BEN)):
        wait_for(computations, number, actor, "done")


def test_its_turn_comes_after_what_the_gate_has_let_in(desk: HeldDesk, computations: Computations) -> None:
    desk.may_end.set()
    enquiry = receive(desk, ANN)
    with desk.gate.enter(), desk.gate.enter(), desk.gate.enter(), desk.gate.enter():
        number = begin(computations, enquiry)
        assert computations.get_progress(number, ANN).phase == "waiting"
    wait_for(computations, number, ANN, "done")


def test_a_shared_answer_is_computed_once_for_all_who_may_see_it(desk: HeldDesk, computations: Computations) -> None:
    number = begin(computations, receive(desk, ANN))
    assert begin(computations, receive(desk, BEN)) == number
    lead = Actor(account=1, name=CAL.name, roles=frozenset({Role.LEAD}), leads=frozenset({"works"}))
    assert begin(computations, receive(desk, lead)) != number
    assert computations.get_progress(number, BEN).address == "/page-of-ben"


def test_a_private_answer_is_kept_for_its_asker_alone(desk: HeldDesk, computations: Computations) -> None:
    desk.may_end.set()
    asked_by = {actor: receive(desk, actor, is_private=True) for actor in (ANN, BEN)}
    first = look_in(computations, asked_by[ANN])
    assert look_in(computations, asked_by[BEN]) is not first
    assert look_in(computations, asked_by[ANN]) is first


def test_no_computation_and_not_ones_own_are_told_alike(desk: HeldDesk, computations: Computations) -> None:
    number = begin(computations, receive(desk, ANN))
    told = []
    for look in (computations.get_progress, computations.cancel, computations.forget):
        for wanted in (number, 999):
            with pytest.raises(NotFoundError) as caught:
                look(wanted, BEN)
            told.append((type(caught.value), caught.value.detail, caught.value.context))
    assert all(each == told[0] for each in told)


def test_cancelled_it_shows_the_best_so_far_to_who_cancelled(desk: HeldDesk, computations: Computations) -> None:
    enquiry = receive(desk, ANN)
    number = begin(computations, enquiry)
    wait_for(computations, number, ANN, "computing")
    computations.cancel(number, ANN)
    progress = wait_for(computations, number, ANN, "cancelled")
    assert progress.answer is not None
    assert computations.ask(enquiry, "/x") is progress.answer
    other = begin(computations, receive(desk, BEN))
    assert other != number, "who did not cancel is not given half an answer"
    assert computations.forget(number, ANN) == "/x"
    assert begin(computations, enquiry) == other, "once let go, it is computed again"


def test_cancelled_before_its_turn_it_never_computes(desk: HeldDesk, computations: Computations) -> None:
    for day in range(2):
        begin(computations, receive(desk, ANN, day))
    waiting = receive(desk, ANN, 2)
    number = begin(computations, waiting)
    computations.cancel(number, ANN)
    progress = computations.get_progress(number, ANN)
    assert (progress.phase, progress.answer, progress.elapsed_s) == ("cancelled", None, 0)
    assert begin(computations, waiting) != number


def test_one_of_two_leaves_and_it_goes_on_for_the_other(desk: HeldDesk, computations: Computations) -> None:
    number = begin(computations, receive(desk, ANN))
    begin(computations, receive(desk, BEN))
    computations.cancel(number, ANN)
    assert computations.get_progress(number, ANN).phase == "left"
    assert wait_for(computations, number, BEN, "computing")
    desk.may_end.set()
    assert wait_for(computations, number, BEN, "done").answer is not None


def test_a_fault_is_told_once_and_then_computed_again(desk: HeldDesk, computations: Computations) -> None:
    enquiry = receive(desk, ANN)
    number = begin(computations, enquiry)
    desk.error = InputError("this cannot be answered")
    desk.may_end.set()
    assert wait_for(computations, number, ANN, "done").address == "/page-of-ann"
    with pytest.raises(InputError, match="cannot be answered"):
        computations.ask(enquiry, "/x")
    desk.error = None
    assert look_in(computations, enquiry).result is not None


def test_after_a_change_only_the_page_that_asked_is_kept(desk: HeldDesk, computations: Computations) -> None:
    number = begin(computations, receive(desk, ANN))
    desk.may_end.set()
    old = wait_for(computations, number, ANN, "done").answer
    desk.graph.apply(Change(put=(("roles", TABLES["roles"].build(id="r9", label="New")),)), who="t", why="w")
    assert look_in(computations, receive(desk, ANN)) is not old
    progress = computations.get_progress(number, ANN)
    assert (progress.phase, progress.address, progress.answer, progress.enquiry) == ("done", "/page-of-ann", None, None)


def test_an_answer_is_let_go_after_its_time_and_when_there_are_too_many(
    desk: HeldDesk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.may_end.set()
    brief = Computations(desk, kept_s=0.0)
    enquiry = receive(desk, ANN)
    assert brief.ask(enquiry, "/x") is not brief.ask(enquiry, "/x")
    monkeypatch.setattr(room, "KEPT_MAX", 2)
    few = Computations(desk)
    answers = [few.ask(receive(desk, ANN, day), "/x") for day in (0, 1, 2)]
    assert few.ask(receive(desk, ANN, 2), "/x") is answers[2]
    assert few.ask(receive(desk, ANN, 0), "/x") is not answers[0]


def test_too_many_waiting_are_sent_away(
    desk: HeldDesk, computations: Computations, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(room, "WAITING_MAX", 1)
    for day in range(3):
        begin(computations, receive(desk, ANN, day))
    with pytest.raises(BusyError):
        computations.ask(receive(desk, ANN, 3), "/x")


def test_at_the_end_of_the_program_everything_is_ended(desk: HeldDesk, computations: Computations) -> None:
    numbers = [begin(computations, receive(desk, ANN, day)) for day in range(3)]
    computations.close()
    assert {computations.get_progress(number, ANN).phase for number in numbers} == {"cancelled"}
