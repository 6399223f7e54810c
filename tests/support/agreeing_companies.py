"""Random small companies asked over the REST API as a user would, to hold one answer against another."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from functools import cache, cached_property
from itertools import count
from typing import Any

from brute_meanings import There, find_place_of
from drawn_companies import Rows, draw_rows
from flask.testing import FlaskClient
from rich_companies import draw_rich_rows
from small_company import ON
from werkzeug.test import TestResponse

from api.app import create_app
from api.http.context import EXTENSION
from ontology.live.live_graph import LiveGraph
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

#: Companies of seeds from here on use all that a row may say of belonging and of what levels rest on.
RICH = 1_000

Key = tuple[str, int, str, str | None]

#: Each company is a store of its own: no answer of one is kept for another.
_NUMBERS = count(1)


@cache
def _serve() -> tuple[FlaskClient, Any]:
    """Return a client of one application for all companies, and its desk, which is given the company to ask."""
    app = create_app(LiveGraph.in_memory())
    return app.test_client(), app.extensions[EXTENSION]


class Company:
    """A company behind the API."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows
        records = {name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}
        self._snapshot = Snapshot(records, revision=1, store_id=f"company {next(_NUMBERS)}")

    def get_snapshot(self) -> Snapshot:
        """Return what the application answers from."""
        return self._snapshot

    def _get(self, path: str, query: dict[str, str]) -> TestResponse:
        client, served = _serve()
        served.graph = self
        return client.get(path, query_string=query)

    @cached_property
    def people(self) -> dict[str, dict[str, Any]]:
        return {row["id"]: row for row in self.rows["people"]}

    def find_members(self, team: str, on: date = ON) -> dict[str, There]:
        """Return who belongs to a team on a day, absent ones included, and where."""
        places = {person: find_place_of(self.rows, person, on) for person in self.people}
        return {person: there for person, there in places.items() if there is not None and there.team == team}

    def find_present(self, team: str, on: date = ON) -> list[str]:
        """Return who of a team is there on a day."""
        absent = {row["person"] for row in self.rows["absences"] if row["from_date"] <= on <= row["to_date"]}
        return [person for person in self.find_members(team, on) if person not in absent]

    def find_last_day(self, person: str, on: date) -> date:
        """Return someone's last day in the team they belong to on a day; the last of the calendar without an end."""
        there = find_place_of(self.rows, person, on)
        rows = [row for row in self.rows["memberships"] if row["person"] == person]
        turns = [row["from_date"] for row in rows]
        turns += [row["to_date"] + timedelta(days=1) for row in rows if row["to_date"] is not None]
        ends = [self.people[person].get("end_date") or date.max]
        for day in turns:
            other = find_place_of(self.rows, person, day)
            if day > on and there is not None and other is not None and other.team != there.team:
                ends.append(day - timedelta(days=1))
        return min(ends)

    def ask(self, path: str, on: date | str = ON, **parameters: Any) -> dict[str, Any]:
        """Return an answer; the last underscore of a parameter's name is left out."""
        named = {name.rstrip("_"): str(value) for name, value in parameters.items() if value not in (None, "")}
        reply = self._get(f"/api/{path}", {"on": str(on), **named})
        assert reply.status_code == 200, (path, named, reply.get_json())
        answer: dict[str, Any] = reply.get_json()
        return answer

    def read(self, path: str, **parameters: Any) -> str:
        """Return the text of an answer that is no JSON, the day asked about as in `ask`."""
        reply = self._get(f"/{path}", {"on": str(ON), **parameters})
        assert reply.status_code == 200, (path, parameters, reply.get_data(as_text=True)[:500])
        return reply.get_data(as_text=True)

    def get_needs(self, team: str, on: date | str = ON, away: str = "") -> dict[Key, dict[str, Any]]:
        """Return what coverage says of every need where it counts."""
        found: dict[Key, dict[str, Any]] = {}
        for row in self.ask(f"teams/{team}/coverage", on, away=away)["needs"]:
            for scope in row["shifts"] or [row]:
                key = (row["competency"], row["level"], row["applies"], scope["shift"])
                found[key] = {"minimum": row["minimum"], "target": row["target"]} | {
                    name: scope[name] for name in ("depth", "state", "qualified", "present")
                }
        return found

    def get_open_slots(self, team: str, on: date | str = ON, away: str = "") -> Counter[Any]:
        """Return how often staffing leaves a slot of each place and each group's need empty."""
        answer = self.ask(f"teams/{team}/staffing", on, away=away)
        slots: Counter[Any] = Counter(answer["unfilled"])
        for row in answer["unfilled_needs"]:
            slots[row["competency"], row["level"], row["applies"], row["shift"]] += row["slots"]
        return slots

    def find_fallen(
        self, team: str, gone: list[str], on: date | str = ON, away: str = ""
    ) -> tuple[set[Key], Counter[Any]]:
        """Return the needs that become short and the slots that become empty once some people are away too."""
        both = ",".join(sorted({*filter(None, away.split(",")), *gone}))
        before, after = self.get_needs(team, on, away), self.get_needs(team, on, both)
        short = {k for k, row in after.items() if row["state"] == "short" and before[k]["state"] != "short"}
        return short, self.get_open_slots(team, on, both) - self.get_open_slots(team, on, away)


def draw_company_rows(seed: int, *, is_dated: bool = True) -> Rows:
    """Return the rows of a company; from `RICH` on with memberships, links between competencies and the like."""
    return draw_rows(seed, is_dated=is_dated) if seed < RICH else draw_rich_rows(seed - RICH, is_dated=is_dated)


@cache
def get_company(seed: int, *, is_dated: bool = True) -> Company:
    """Return the company of a seed, made once."""
    return Company(draw_company_rows(seed, is_dated=is_dated))


def list_seeds(plain: int, rich: int) -> list[int]:
    """Return the seeds of so many companies of either kind."""
    return [*range(plain), *range(RICH, RICH + rich)]


def count_together(rows: list[dict[str, Any]]) -> Counter[Any]:
    """Return the slots of groups that an answer names, counted."""
    slots: Counter[Any] = Counter()
    for row in rows:
        slots[row["competency"], row["level"], row["applies"], row["shift"]] += row["slots"]
    return slots
