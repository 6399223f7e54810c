"""`newel session-plan --book` writes the seats it prints, in one commit, or nothing."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from drawn_sessions import ON, build_snapshot, draw_session_rows

from api.desk.desk import Desk
from api.settings import Settings
from api.terminal.answering import answer_call
from api.terminal.call import Call, read_call, write_call
from ontology.errors import InputError, StaleError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def make_graph(seed: int = 34) -> LiveGraph:
    graph = LiveGraph.in_memory()
    records: dict[str, list[Any]] = {}
    for name, record in build_snapshot(draw_session_rows(seed)).iterate_records():
        records.setdefault(name, []).append(record)
    graph.load(records, who="test", why="start")
    return graph


def make_call(**more: str) -> Call:
    asked = {"until": "2027-01-10", "on": ON.isoformat()}
    return Call(question="session-plan", table="", subject="", asked=asked, **more)  # type: ignore[arg-type]


def get_bookings(snapshot: Snapshot) -> dict[tuple[str, str], Any]:
    return {(row.session, row.person): row for row in snapshot.get_table("bookings").values()}


def test_the_seats_printed_are_the_seats_booked_in_one_commit() -> None:
    graph = make_graph()
    before = graph.get_snapshot()
    told = answer_call(Desk(graph, Settings()), make_call(act="book")).decode()
    after = graph.get_snapshot()
    new = {key: row for key, row in get_bookings(after).items() if get_bookings(before).get(key) != row}
    assert len(new) > 1
    assert f"{len(new)} seats booked." in told
    assert after.revision == before.revision + 1
    assert {row.state for row in new.values()} == {"booked"}
    assert all(row.recorded_on is not None for row in new.values())
    # what is booked is no longer asked for
    again = answer_call(Desk(graph, Settings()), make_call(act="book")).decode()
    assert "0 seats booked." in again
    assert graph.get_snapshot().revision == after.revision


def test_without_being_told_to_nothing_is_written() -> None:
    graph = make_graph()
    revision = graph.get_snapshot().revision
    answer_call(Desk(graph, Settings()), make_call())
    assert graph.get_snapshot().revision == revision


def test_a_store_that_has_changed_meanwhile_refuses_the_whole_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    graph = make_graph()
    desk = Desk(graph, Settings())
    answer = desk.answer

    def answer_slowly(*args: Any) -> Any:
        found = answer(*args)
        site = TABLES["sites"].build(id="new", label="New")
        graph.apply(Change(put=(("sites", site),)), who="another", why="meanwhile")
        return found

    monkeypatch.setattr(desk, "answer", answer_slowly)
    before = get_bookings(graph.get_snapshot())
    with pytest.raises(StaleError):
        answer_call(desk, make_call(act="book"))
    assert get_bookings(graph.get_snapshot()) == before


def test_who_waited_keeps_the_day_of_asking() -> None:
    graph = make_graph()
    answer_call(Desk(graph, Settings()), make_call(act="book"))
    booked = [row for row in get_bookings(graph.get_snapshot()).values() if row.recorded_on]
    seat = booked[0]
    other = make_graph()
    waiting = TABLES["bookings"].build(
        session=seat.session, person=seat.person, state="waiting", booked_on=date(2026, 10, 1)
    )
    other.apply(Change(put=(("bookings", waiting),)), who="test", why="asked")
    answer_call(Desk(other, Settings()), make_call(act="book"))
    kept = get_bookings(other.get_snapshot())[seat.session, seat.person]
    assert (kept.state, kept.booked_on) == ("booked", date(2026, 10, 1))


def test_what_no_answer_can_be_carried_out_as_is_refused() -> None:
    graph = make_graph()
    with pytest.raises(InputError, match="cannot be carried out"):
        answer_call(Desk(graph, Settings()), make_call(act="burn"))


def test_a_call_keeps_its_act_on_the_way_to_a_server() -> None:
    call = make_call(act="book")
    assert read_call(write_call(call)) == call
