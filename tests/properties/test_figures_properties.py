"""Figures of random companies: none is of few, and two companies that differ by one person are not told apart by it."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from typing import Any

import pytest
from agreeing_companies import draw_company_rows, list_seeds
from small_company import ON
from small_team import build_team

from api.access.figures import find_small_teams, leave_out_small_teams, read_marks, tell_plainly
from api.desk.desk import NO_STATES
from api.desk.in_figures import compute_in_figures
from api.desk.question import COMPANY, COMPETENCY, SESSION, TEAM, Subject
from api.desk.states import State
from api.json_text import to_json
from api.questions import load_question
from ontology.model.identity import CountOf
from ontology.snapshot.snapshot import Snapshot

LEAST = 3
#: What tells one row of an answer from another, and how it stands, which is told.
KEY = ("competency", "level", "applies", "shift", "place", "role")
TOLD = ("state", "holds_again")


def build(seed: int) -> Snapshot:
    """Return a random company in which people must hold something and wait for a session."""
    rows = draw_company_rows(seed)
    ids = sorted(row["id"] for row in rows["competencies"])
    asked = [("all", "everyone", ""), *((role, "role", role) for role in sorted(row["id"] for row in rows["roles"]))]
    rows["obligations"] = [
        {"id": id, "label": id, "competency": competency, "rule": rule, "of": of}
        for competency, (id, rule, of) in zip(ids, asked, strict=False)
    ]
    course = min(row["id"] for row in rows["courses"])
    day = ON + dt.timedelta(days=20)
    rows["sessions"] = [{"id": "s", "course": course, "from_date": day, "to_date": day}]
    rows["bookings"] = [
        {"session": "s", "person": row["id"], "state": "waiting"} for n, row in enumerate(rows["people"]) if n % 3
    ]
    return build_team(rows)


def ask(snapshot: Snapshot, name: str, subject: Subject, on: dt.date, **asked: Any) -> Any:
    question = load_question(name)
    told = question.asks[subject.kind](on=on, **asked)
    return compute_in_figures(State(snapshot, on), question, subject, told, LEAST, NO_STATES).result


def ask_all(snapshot: Snapshot, on: dt.date) -> Iterator[tuple[tuple[str, str], Any]]:
    """Yield what can be asked quickly of every team and competency."""
    left = leave_out_small_teams(snapshot, on, LEAST)
    for team in left.teams:
        if any(one.team == team for one in left.people.values()):
            for name, asked in (("coverage", {}), ("headcount", {"net_hours": 1500.0}), ("filled-places", {})):
                yield (name, team), ask(snapshot, name, Subject(TEAM, team), on, **asked)
    for competency in snapshot.competencies:
        yield ("holders", competency), ask(snapshot, "holders", Subject(COMPETENCY, competency), on)
    for session in snapshot.sessions:
        yield ("waiting-list", session), ask(snapshot, "waiting-list", Subject(SESSION, session), on)
    for name in ("company-obligations", "open-orientation", "assessment-round"):
        yield (name, ""), ask(snapshot, name, Subject(COMPANY), on)


def iterate_rows(value: Any) -> Iterator[Any]:
    """Yield every record of a result."""
    if isinstance(value, tuple):
        for item in value:
            yield from iterate_rows(item)
    elif hasattr(type(value), "__dataclass_fields__"):
        yield value
        for name in type(value).__dataclass_fields__:
            yield from iterate_rows(getattr(value, name))


def remove(snapshot: Snapshot, person: str) -> Snapshot:
    tables = {"people": {key: row for key, row in snapshot.get_table("people").items() if key[0] != person}}
    for name in ("assessments", "absences", "memberships", "appointments", "duties", "bookings", "practices"):
        rows = snapshot.get_table(name).items()
        tables[name] = {key: row for key, row in rows if row.person != person}
    return snapshot.with_tables(tables)


@pytest.mark.parametrize("seed", list_seeds(6, 3))
def test_no_figure_of_any_company_is_of_few(seed: int) -> None:
    snapshot = build(seed)
    told = hidden = 0
    for (name, subject), result in ask_all(snapshot, ON):
        for row in iterate_rows(result):
            for field, mark in read_marks(type(row)).items():
                value = getattr(row, field)
                if isinstance(mark, CountOf) and mark.what == "people" and not mark.plus:
                    assert str(value) == f"under {LEAST}" or value >= LEAST, (name, subject, field)
                    hidden += str(value) == f"under {LEAST}"
                    told += str(value) != f"under {LEAST}"
    assert hidden
    assert told or seed


@pytest.mark.parametrize("seed", list_seeds(4, 2))
def test_one_person_more_or_less_is_not_told_where_the_figure_is_hidden_in_both(seed: int) -> None:
    snapshot = build(seed)
    full = dict(ask_all(snapshot, ON))
    n_compared = 0
    for person in sorted(snapshot.people)[:4]:
        for key, other in ask_all(remove(snapshot, person), ON):
            if key not in full:
                continue
            rows = {name_row(row): tell(row) for row in iterate_rows(full[key]) if is_hidden(row)}
            for row in iterate_rows(other):
                same = rows.get(name_row(row))
                if same is not None and is_hidden(row) and stands_alike(same, tell(row)):
                    assert same == tell(row), (key, person)
                    n_compared += 1
    assert n_compared


@pytest.mark.parametrize("seed", list_seeds(4, 2))
def test_a_row_of_few_comes_and_goes_untold(seed: int) -> None:
    snapshot = build(seed)
    rows = list_rows(snapshot)
    for person in sorted(snapshot.people)[:6]:
        other = remove(snapshot, person)
        if find_small_teams(other, ON, LEAST) != find_small_teams(snapshot, ON, LEAST):
            continue  # nothing at all is told of the team, nor of its people elsewhere
        fewer = list_rows(other)
        gone = rows.keys() - fewer.keys()
        assert {rows[key] for key in gone} <= {LEAST}, "one that came down to fewer than the least, not to none"
        assert not fewer.keys() - rows.keys()
    assert rows


def list_rows(snapshot: Snapshot) -> dict[tuple[str, str | None], int]:
    """Return what stands in the figures of what must be held, with its people."""
    result = ask(snapshot, "company-obligations", Subject(COMPANY), ON)
    told = {("team", row.team): row.people for row in result.teams}
    return told | {("competency", row.competency): row.people for row in result.competencies}


@pytest.mark.parametrize("seed", list_seeds(3, 1))
def test_of_another_day_no_number_of_people_is_told(seed: int) -> None:
    snapshot = build(seed)
    first = (ON.replace(day=1) + dt.timedelta(days=32)).replace(day=1)
    for competency in snapshot.competencies:
        question = load_question("holders")
        asked = question.asks[COMPETENCY](on=first)
        state = State(snapshot, ON)
        result = compute_in_figures(state, question, Subject(COMPETENCY, competency), asked, LEAST, NO_STATES).result
        assert tell_plainly(result)["holders"] is None
        assert {row["people"] for row in tell_plainly(result)["levels"]} <= {None}


def name_row(row: Any) -> tuple[str, ...]:
    return (type(row).__name__, *(str(getattr(row, name, "")) for name in KEY))


def tell(row: Any) -> dict[str, Any]:
    """Return the members of a row itself, without the rows in it."""
    members: dict[str, Any] = json.loads(json.dumps(to_json(tell_plainly(row))))
    return {name: value for name, value in members.items() if not (value and isinstance(value, list | dict))}


def is_hidden(row: Any) -> bool:
    """Whether all that counts people of a row is hidden."""
    marks = read_marks(type(row))
    return bool(marks) and all(tell(row)[name] in (None, f"under {LEAST}") for name in marks)


def stands_alike(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether all that is told of how two rows stand is the same."""
    names = [name for name in (*TOLD, "unfilled", "unfilled_before", "places") if name in one or name in other]
    return all(one.get(name) == other.get(name) for name in names)
