"""Random small companies that use the tables of the weekly work as well: every column of every table, all sound."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from companies import build_company

from ontology.model.tables import TABLES

_ELSEWHERE = "http://elsewhere.example/"
_FIRST = date(2026, 7, 1)
_TEXTS = ("Ärger & co", 'says "no"', "a|b", "=1+1", "law § 5, No. 2", "مرحبا")


def build_working_company(seed: int, *, size: int = 4, texts: Sequence[str] = _TEXTS) -> dict[str, list[Any]]:
    """Return the records of `build_company` and, by a draw of their own, those of every other table."""
    records = build_company(seed, size=size)
    rng = random.Random(f"working {seed}")
    tops = {level.scale: level.rank for level in sorted(records["scales"], key=lambda one: one.rank)}
    draw = _Draw(rng, records, {c.id: tops[c.scale] for c in records["competencies"]}, texts)
    draw.change_records()
    ids = [person.id for person in records["people"]]
    rows = {
        "sites": [{"id": site, "label": rng.choice(texts)} for site in ("yard", "quay")],
        "equivalences": draw.list_equivalences(),
        "mappings": draw.list_mappings(),
        "memberships": [row for person in ids for row in draw.list_memberships(person)],
        "duties": [draw.make_duty(person, ids[n - 1]) for n, person in enumerate(ids)],
        "appointments": [draw.make_appointment(person) for person in ids if rng.random() < 0.5],
        "practices": [draw.make_practice(person) for person in ids],
        "obligations": [draw.make_obligation(n) for n in range(6)],
        "sessions": [draw.make_session(n) for n in range(4)],
        "bookings": [draw.make_booking(person) for person in ids],
        "orientation_items": [draw.make_item(n) for n in range(5)],
        "orientation_done": [draw.make_done(person) for person in ids],
        "requests": [draw.make_request(person) for person in ids],
        "assessors": [draw.make_assessor(person) for person in ids[:3]],
        "agreed_plans": [draw.make_plan(person) for person in ids[:3]],
        "agreed_courses": [draw.make_agreed_course(person) for person in ids[:3]],
        "framework": [draw.make_framework()],
    }
    return records | {name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}


class _Draw:
    """Draws rows of the company, each optional column given half of the time."""

    def __init__(
        self, rng: random.Random, records: dict[str, list[Any]], tops: dict[str, int], texts: Sequence[str]
    ) -> None:
        self.rng, self.records, self.tops, self.texts = rng, records, tops, texts

    def maybe(self, **values: Any) -> dict[str, Any]:
        return {name: value for name, value in values.items() if self.rng.random() < 0.5}

    def make_framework(self) -> dict[str, Any]:
        texts = {name: self.rng.choice(self.texts) for name in ("description", "creator", "publisher")}
        texts |= {"licence": "https://x.example/l", "homepage": "https://x.example", "language": "pt-br"}
        return {"id": "this", "title": self.rng.choice(self.texts)} | self.maybe(**texts)

    def pick(self, table: str) -> str:
        found: str = self.rng.choice(self.records[table]).id
        return found

    def day(self) -> date:
        return _FIRST + timedelta(days=self.rng.randint(0, 90))

    def span(self) -> dict[str, date]:
        first = self.day()
        return {"from_date": first} | self.maybe(to_date=first + timedelta(days=self.rng.randint(0, 30)))

    def measure(self, name: str = "competency", level: str = "level") -> dict[str, Any]:
        competency = self.pick("competencies")
        return {name: competency} | self.maybe(**{level: self.rng.randint(1, self.tops[competency])})

    def change_records(self) -> None:
        """Give the columns of the weekly work to the records that have them."""
        ids = [c.id for c in self.records["competencies"]]
        for n, record in enumerate(self.records["competencies"]):
            hangs_on = tuple(self.rng.sample(ids[:n], self.rng.randint(0, min(2, n))))
            more = self.maybe(renewal_window_months=self.rng.randint(0, 6), holds_while=hangs_on, appointment=True)
            more |= self.maybe(definition=self.rng.choice(self.texts), expiry=self.rng.choice(["hard", "review"]))
            more |= self.maybe(validity_rule="end-of-month")
            self.records["competencies"][n] = replace(record, **more)
        pick, number = self.rng.choice, self.rng.randint
        self._replace("roles", lambda: {"family": pick(self.texts), "definition": pick(self.texts)})
        self._replace("roles", lambda: {"exact_match": (f"{_ELSEWHERE}role/{number(1, 9)}",)})
        self._replace("courses", lambda: {"group_minimum": number(1, 5), "pass_share": 0.85, "is_block": True})
        self._replace("people", lambda: {"end_date": date(2030, 1, 31)})
        self._replace("teams", lambda: {"site": pick(["yard", "quay"])})
        self._replace("places", lambda: {"trainees": number(1, 3), "trainees_per_able": pick([0, 2])})
        self._replace("assessments", lambda: {"evidence": pick(self.texts), "withdrawn_on": date(2026, 9, 9)})
        self._replace("assessments", lambda: {"recorded_on": date(2026, 7, 31)})

    def _replace(self, table: str, draw: Any) -> None:
        self.records[table] = [replace(record, **self.maybe(**draw())) for record in self.records[table]]

    def list_equivalences(self) -> list[dict[str, Any]]:
        ids = [c.id for c in self.records["competencies"]]
        pairs = self.rng.sample([(one, other) for one in ids for other in ids if one != other], 3)
        return [
            {"competency": one, "counts_as": other}
            | self.maybe(level=self.rng.randint(1, self.tops[one]), as_level=self.rng.randint(1, self.tops[other]))
            | self.maybe(from_date=_FIRST, to_date=_FIRST + timedelta(days=40))
            for one, other in pairs
        ]

    def list_mappings(self) -> list[dict[str, Any]]:
        ids = [c.id for c in self.records["competencies"]]
        return [
            {
                "competency": one,
                "target": f"{_ELSEWHERE}{n}~a/b?c",
                "relation": self.rng.choice(["close", "related", "different"]),
            }
            | self.maybe(
                score=round(self.rng.random(), 4),
                status="refused",
                framework="theirs",
                note=self.rng.choice(self.texts),
            )
            for n, one in enumerate(self.rng.sample(ids, 3))
        ]

    def list_memberships(self, person: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = []
        first = self.day()
        for _ in range(self.rng.randint(0, 3)):
            last = first + timedelta(days=self.rng.randint(0, 20))
            row = {"person": person, "from_date": first, "to_date": last, "team": "t0"}
            kind = self.rng.choice(["lent", "contractor"])
            rows.append(row | self.maybe(shift="s1", role=self.pick("roles"), kind=kind))
            first = last + timedelta(days=self.rng.randint(1, 9))
        if rows and self.rng.random() < 0.5:
            del rows[-1]["to_date"]
        return rows

    def make_duty(self, person: str, other: str) -> dict[str, Any]:
        row = {"person": person, "place": self.pick("places")} | self.span()
        return row | self.maybe(supervised_by=other, recorded_on=self.day())

    def make_appointment(self, person: str) -> dict[str, Any]:
        more = self.maybe(appointed_by=self.rng.choice(self.texts), recorded_on=self.day())
        return {"person": person} | self.measure() | self.span() | more

    def make_practice(self, person: str) -> dict[str, Any]:
        row = {"person": person, "competency": self.pick("competencies"), "date": self.day()}
        return row | self.maybe(count=self.rng.randint(0, 9), recorded_on=self.day())

    def name(self, rules: Sequence[str]) -> dict[str, Any]:
        rule = self.rng.choice(rules)
        named = {"role": self.pick("roles"), "place": self.pick("places"), "team": "t1", "site": "quay"}
        return {"rule": rule} | ({"of": named[rule]} if rule in named else {})

    def make_obligation(self, n: int) -> dict[str, Any]:
        row = {"id": f"o{n}", "label": self.rng.choice(self.texts)} | self.measure()
        row |= self.name(("everyone", "role", "place", "team", "site"))
        row |= self.maybe(days_after=self.rng.randint(0, 60), from_date=_FIRST, to_date=_FIRST + timedelta(days=900))
        return row | self.maybe(legal_basis=self.rng.choice(self.texts), change=self.rng.choice(self.texts))

    def make_session(self, n: int) -> dict[str, Any]:
        row = {"id": f"k{n}", "course": self.pick("courses")} | self.span()
        row |= self.maybe(seats=self.rng.randint(5, 20), site="quay", where=self.rng.choice(self.texts))
        state = self.rng.choice(["planned", "confirmed", "cancelled", "held"])
        return row | self.maybe(state=state, book_by=_FIRST, fixed_cost=99.95, trip_cost=0.5)

    def make_booking(self, person: str) -> dict[str, Any]:
        state = self.rng.choice(["asked", "waiting", "booked", "attended", "missed", "cancelled"])
        row = {"session": f"k{self.rng.randrange(4)}", "person": person}
        return row | self.maybe(state=state, booked_on=self.day(), recorded_on=self.day())

    def make_item(self, n: int) -> dict[str, Any]:
        row = {"id": f"i{n}", "label": self.rng.choice(self.texts)} | self.name(("everyone", "role", "team", "site"))
        row |= self.measure() if self.rng.random() < 0.5 else {}
        row |= self.maybe(owner=self.rng.choice(self.texts), offset_days=self.rng.randint(-9, 0), before_work=True)
        return row | self.maybe(hours=self.rng.choice([0.0, 1.25, 8.0]))

    def make_done(self, person: str) -> dict[str, Any]:
        row = {"person": person, "item": f"i{self.rng.randrange(5)}", "date": self.day()}
        return row | self.maybe(done_by=self.rng.choice(self.texts), recorded_on=self.day())

    def make_request(self, person: str) -> dict[str, Any]:
        return {"person": person, "course": self.pick("courses")} | self.maybe(by=self.day(), asked_on=self.day())

    def make_assessor(self, person: str) -> dict[str, Any]:
        more = self.maybe(competencies=(self.pick("competencies"),), teams=("t0", "t1"), hours_per_round=2.5)
        return {"person": person} | more | (self.span() if self.rng.random() < 0.5 else {})

    def make_plan(self, person: str) -> dict[str, Any]:
        row = {"id": f"plan-{person}", "person": person, "role": self.pick("roles"), "agreed_on": _FIRST}
        return row | self.maybe(agreed_with="e1", note=self.rng.choice(self.texts), ended_on=self.day())

    def make_agreed_course(self, person: str) -> dict[str, Any]:
        days = {"first_day": _FIRST, "last_day": self.day()}
        return {"plan": f"plan-{person}", "course": self.pick("courses")} | days
