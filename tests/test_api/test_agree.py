"""`newel agree` writes the schedule it prints down, in one commit, also where the store is served; the answer later."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from loopback import serve
from rest_company import ON, build_company

from api.app import create_app
from api.desk.desk import Desk
from api.settings import Settings
from api.terminal.answering import answer_call
from api.terminal.call import Call, read_call, write_call
from api.terminal.program import program
from api.terminal.served_note import leaving_note, make_note
from api.terminal.window import build_window
from ontology.errors import ConflictError, InputError, NewelError, StaleError
from ontology.live.live_graph import Change, LiveGraph
from ontology.model.tables import TABLES

SCENARIO = Path(__file__).resolve().parents[2] / "data" / "water_utility"


def make_call(person: str, role: str, **more: Any) -> Call:
    asked = {"role": role, "on": ON}
    return Call(question="schedule", table="people", subject=person, asked=asked, act="agree", **more)


def agree(graph: LiveGraph, call: Call) -> str:
    return answer_call(Desk(graph, Settings()), call).decode()


def test_the_schedule_printed_is_the_plan_agreed_in_one_commit() -> None:
    graph = build_company()
    before = graph.get_snapshot()
    call = read_call(write_call(make_call("Cleo Example", "operator", said={"agreed_with": "p1", "note": "Fridays"})))
    told = agree(graph, call)
    after = graph.get_snapshot()
    assert after.revision == before.revision + 1
    (plan,) = after.get_agreed_plans("p3")
    assert (plan.id, plan.role, plan.agreed_on) == ("p3-2026-11-24", "operator", date(2026, 11, 24))
    assert (plan.agreed_with, plan.note, plan.ended_on) == ("p1", "Fridays", None)
    courses = after.get_agreed_courses(plan.id)
    assert told.endswith(f"Agreed: {len(courses)} course{'s' if len(courses) != 1 else ''}.\n")
    assert courses
    for row in courses:
        assert str(row.first_day) in told
        assert str(row.last_day) in told
    with pytest.raises(ConflictError):
        agree(graph, call)
    assert graph.get_snapshot().revision == after.revision


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (make_call("p1", "helper"), ConflictError),
        (make_call("p3", "helper"), InputError),
        (make_call("p2", "senior"), InputError),
        (make_call("p3", "no-such-role"), NewelError),
        (make_call("nobody", "operator"), NewelError),
    ],
)
def test_what_is_refused_writes_nothing(call: Call, error: type[Exception]) -> None:
    graph = build_company()
    revision = graph.get_snapshot().revision
    with pytest.raises(error):
        agree(graph, call)
    assert graph.get_snapshot().revision == revision


def test_a_plan_is_agreed_with_a_person_not_with_a_role() -> None:
    call = Call(question="schedule", table="roles", subject="senior", asked={"from": "helper", "on": ON}, act="agree")
    with pytest.raises(InputError, match="agreed with a person"):
        agree(build_company(), call)


def test_a_store_that_has_changed_meanwhile_refuses_it(monkeypatch: pytest.MonkeyPatch) -> None:
    graph = build_company()
    desk = Desk(graph, Settings())
    answer = desk.answer

    def answer_slowly(*args: Any) -> Any:
        found = answer(*args)
        graph.apply(
            Change(put=(("sites", TABLES["sites"].build(id="new", label="New")),)), who="another", why="meanwhile"
        )
        return found

    monkeypatch.setattr(desk, "answer", answer_slowly)
    with pytest.raises(StaleError):
        answer_call(desk, make_call("p3", "operator"))
    assert graph.get_snapshot().get_agreed_plans("p3") == ()


def run(*words: str, store: Path, code: int = 0) -> Result:
    result = CliRunner().invoke(program, list(words), env={"NEWEL_STORE": str(store)}, prog_name="newel")
    assert result.exit_code == code, result.output
    return result


def test_the_command_agrees_today_in_this_process_and_through_the_server(tmp_path: Path) -> None:
    store = tmp_path / "store"
    run("load", str(SCENARIO), store=store)
    told = run(
        "agree", "p063", "laboratory-analyst", "--with", "p001", "--note", "after the summer", store=store
    ).stdout
    assert "Agreed: " in told.splitlines()[-1]
    shown = run("agreed-plan", "p063", store=store).stdout
    assert "The target is still reached in time." in shown
    assert "after the summer" in shown
    assert "as much as what is open" in shown
    refused = run("agree", "p063", "laboratory-analyst", store=store, code=1)
    assert "has not ended" in refused.output
    graph = LiveGraph.open(store)
    app = create_app(graph)
    try:
        with serve(app, threads=4) as port:
            note = make_note("127.0.0.1", port)
            app.register_blueprint(build_window(note))
            with leaving_note(store, note):
                told = run("agree", "p005", "treatment-supervisor", store=store).stdout
                assert "Agreed: " in told.splitlines()[-1]
                run("agree", "p005", "treatment-supervisor", store=store, code=1)
                run("agree", "p005", "no-such-role", store=store, code=1)
        assert len(graph.get_snapshot().get_agreed_plans("p005")) == 1
    finally:
        graph.close()


def test_the_answer_over_rest_is_private_and_says_what_is_wrong() -> None:
    client = create_app(build_company()).test_client()
    reply = client.get(f"/api/people/p1/agreed-plan?on={ON}")
    answer = reply.get_json()
    assert (answer["person"], answer["on"]) == ("p1", ON)
    assert reply.headers["Cache-Control"] == "private, no-store"
    (plan,) = answer["plans"]
    assert [(row["course"], row["state"]) for row in plan["courses"]] == [("pump-3", "under-way")]
    # the path takes valves and the licence besides: 8 and 16 h, or what both pumps and valves cost less in
    assert plan["hours_difference"] == pytest.approx(plan["best"]["study_hours"] - 20)
    none = client.get(f"/api/people/p3/agreed-plan?on={ON}").get_json()
    assert none["plans"] == []
    assert none["remarks"] == ["No agreed plan is in force on 2026-11-24: write down what is agreed, then ask again."]
    assert client.get("/api/people/nobody/agreed-plan").status_code == 404
    wrong = client.get("/api/people/p1/agreed-plan?on=tomorrow")
    assert wrong.status_code == 422
    assert "on" in json.dumps(wrong.get_json()["errors"])
