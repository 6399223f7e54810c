"""What every question answered before memberships, equivalences, appointments and the like had a meaning.

The answers were recorded at the last commit before that (c728e4a), with this file there; a test asks them again. Kept
of an answer are its numbers, ids, states and days, as a digest: not the sentences, nor the members that came later.
"""

from __future__ import annotations

import hashlib
import json
import random
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from asking import PERSON, ROLE, TEAM, tell
from companies import build_company
from drawn_companies import draw_rows
from small_company import ON, build_scale, build_snapshot

from api.desk.question import COMPANY
from loaders.tables.csv_folder import load_csv_folder
from ontology.analysis.profiles.levels import get_level
from ontology.errors import InputError
from ontology.model.tables import TABLES
from ontology.model.validity import compute_valid_until
from ontology.snapshot.snapshot import Snapshot

RECORDED = Path(__file__).resolve().parents[1] / "recorded" / "answers.json"
#: Members of answers that came later, wherever they stand.
LATER_MEMBERS = frozenset(
    {
        "booked",
        "booked_session",
        "by_equivalence",
        "carried_from",
        "holds_again",
        "not_appointed",
        "trainees",
        "unfilled_before",
    }
    | {"could_be_lent_count", "learner_count", "led_by"}
)
#: Sentences, what is no answer, and names, which no answer holds any more but by an id.
LEFT_OUT = frozenset({"cautions", "revision", "remarks", "name"})
#: Columns that came later; read with their defaults.
LATER_COLUMNS = frozenset(
    {"renewal_window_months", "holds_while", "appointment", "site", "evidence", "withdrawn_on"}
    | {"group_minimum", "pass_share", "trainees", "trainees_per_able"}
)
TABLES_THEN = (
    *("scales", "competencies", "roles", "requirements", "courses", "outcomes", "entry_conditions"),
    *("teams", "shifts", "people", "absences", "assessments", "cover_needs", "places"),
)
#: What the demonstration has had since then, with the rows that name it.
LATER_IDS = frozenset(
    {"p071", "p072", "digital-permits", "ways-and-alarms", "digital-permits-workshop", "paper-permits"}
    | {"cert-asbestos", "asbestos-basic", "asbestos-refresher"}
    | {"cert-chlorine-alarm", "chlorine-alarm-walk", "cert-escape-set", "escape-set-basic"}
    | {"cert-isolation", "isolation-basic", "cert-mask-fit", "mask-fit-test"}
    | {"cert-permit-book", "permit-book-instruction"}
    | {"cert-safety-briefing", "safety-briefing-first", "safety-briefing-again"}
)
DEMONSTRATION = Path(__file__).resolve().parents[2] / "data" / "water_utility"
Asked = tuple[str, Any, str, dict[str, Any]]

LABELS = ("demonstration", *(f"larger {n}" for n in range(100, 106)), *(f"small {n}" for n in range(20)))
LEVELS = range(50)
DAYS = tuple(ON + timedelta(days=n) for n in (-400, -90, -1, 0, 1, 45, 300))
SOURCES = ("certificate", "assessor", "manager", "self", "unstated")


def read_demonstration() -> Snapshot:
    """Return the demonstration as it would be without what it has had since then."""
    read = load_csv_folder(DEMONSTRATION).records
    tables: dict[str, list[Any]] = {}
    for name in TABLES_THEN:
        tables[name] = []
        for record in read[name]:
            values = {f.name: getattr(record, f.name) for f in fields(record) if f.name not in LATER_COLUMNS}
            if LATER_IDS.isdisjoint(value for value in values.values() if isinstance(value, str)):
                tables[name].append(TABLES[name].build(**values))
    about = {competency.id: competency for competency in tables["competencies"]}
    for n, row in enumerate(tables["assessments"]):
        rule = about[row.competency]
        if row.valid_until is None:
            until = compute_valid_until(row.date, rule.validity_months, rule.validity_rule)
            tables["assessments"][n] = replace(row, valid_until=until)
    return Snapshot(tables, revision=1, store_id="recorded")


def build_company_of(label: str) -> Snapshot:
    """Return the company of a label: demonstration, small or larger and a number."""
    kind, _, number = label.partition(" ")
    if kind == "demonstration":
        return read_demonstration()
    if kind == "small":
        return build_snapshot(**draw_rows(int(number)))
    return Snapshot(build_company(int(number), size=12), revision=1, store_id="recorded")


def list_questions(snapshot: Snapshot, label: str) -> Iterator[Asked]:
    """Yield what a company is asked: of people, roles and teams drawn by the label; a small one every question."""
    rng = random.Random(label)
    few = not label.startswith("small")
    roles = [i for i in sorted(snapshot.roles) if snapshot.get_requirements(i)]
    for person in rng.sample(sorted(snapshot.people), 2):
        yield from _ask_person(rng, person, roles, few=few)
    yield from _ask_roles(rng, roles)
    for team in sorted(snapshot.teams):
        if snapshot.get_cover_needs(team) or snapshot.get_places(team):
            yield from _ask_team(rng, snapshot, team, few=few)
    yield "company-cover", COMPANY, "", {"on": ON, "absence_rate": 0.1}
    if not few:
        yield "framework-review", COMPANY, "", {"on": ON}


def _ask_person(rng: random.Random, person: str, roles: list[str], *, few: bool) -> Iterator[Asked]:
    role = rng.choice(roles)
    for day in DAYS[2:]:
        yield "gap", PERSON, person, {"role": role, "on": day}
    for more in ({}, {"minimise": "cost"}, {"max_hours": 9.0}, {"desirable": True}, {"alternatives": 1}):
        yield "learning-path", PERSON, person, {"role": role, "on": ON, **more}
    if few:
        return
    yield "schedule", PERSON, person, {"role": role, "on": ON}
    yield "schedule", PERSON, person, {"role": role, "on": ON, "max_hours": 9.0, "at_once": 1}
    yield "development-plan", PERSON, person, {"role": role, "on": ON}
    yield "routes", PERSON, person, {"to": role, "on": ON}
    yield "reachable-roles", PERSON, person, {"on": ON}
    yield "reach-gains", PERSON, person, {"on": ON}


def _ask_roles(rng: random.Random, roles: list[str]) -> Iterator[Asked]:
    one, other = rng.sample(roles, 2)
    for name in ("gap", "learning-path", "schedule"):
        yield name, ROLE, one, {"from_role": other, "on": ON}
    yield "similar", ROLE, one, {}


def _ask_team(rng: random.Random, snapshot: Snapshot, team: str, *, few: bool) -> Iterator[Asked]:
    members = [person.id for person in snapshot.get_members(team)]
    away = frozenset(rng.sample(members, min(len(members), 2)))
    for name in ("coverage", "single-points-of-failure", "staffing"):
        for day in DAYS[2:]:
            yield name, TEAM, team, {"on": day}
        yield name, TEAM, team, {"on": ON, "away": away}
    yield "staffing", TEAM, team, {"on": ON, "leaving": away}
    yield "fragile-needs", TEAM, team, {"on": ON, "absence_rate": 0.1}
    yield "coverage-timeline", TEAM, team, {"on": ON, "weeks": 9}
    yield "headcount", TEAM, team, {"on": ON, "net_hours": 1600.0, "manned_hours": 8760.0}
    for person in sorted(away):
        yield "stand-ins", TEAM, team, {"on": ON, "person": person}
    if few:
        return
    yield "cross-training", TEAM, team, {"on": ON}
    yield "training-timetable", TEAM, team, {"on": ON, "show": "all"}
    yield "rotation", TEAM, team, {"on": ON, "purpose": "relieve-strain", "intervals": 3}


def digest(snapshot: Snapshot, asked: Asked) -> str:
    """Return eight hexadecimal digits of an answer; of the error where it cannot be asked so."""
    name, kind, subject, parameters = asked
    try:
        told: Any = tell(snapshot, name, kind, subject, **parameters)
    except InputError as error:
        told = type(error).__name__
    return _shorten(_strip(told))


def _strip(told: Any) -> Any:
    if isinstance(told, dict):
        return {k: _strip(v) for k, v in told.items() if k not in LATER_MEMBERS and k not in LEFT_OUT}
    if isinstance(told, list):
        return [_strip(value) for value in told]
    return "" if isinstance(told, str) and " " in told else told


def _shorten(told: Any) -> str:
    return hashlib.sha256(json.dumps(told, sort_keys=True, default=str).encode()).hexdigest()[:8]


def digest_levels(seed: int) -> tuple[int, str]:
    """Return how many levels of random people were asked for, and the digest of all that is known of them."""
    rng = random.Random(f"levels {seed}")
    competencies = [
        {"id": f"c{n}", "label": f"C{n}", "scale": "s5", "kind": rng.choice(["skill", "knowledge", "certificate"])}
        | {"expiry": rng.choice(["hard", "review"]), "safety": rng.random() < 0.4}
        | {"refresher_months": rng.choice([None, 0, 3, 12])}
        for n in range(5)
    ]
    people = [{"id": f"p{n}", "name": f"P{n}"} for n in range(8)]
    rows: dict[tuple[object, ...], dict[str, Any]] = {}
    for person in people:
        for competency in competencies:
            days = [ON + timedelta(days=rng.randint(-500, 60)) for _ in range(rng.choice([0, 1, 2, 3]))]
            for day in [*days, *days[:1]]:
                row = {"person": person["id"], "competency": competency["id"], "date": day}
                row |= {"source": rng.choice(SOURCES), "assessor": rng.choice(["", "e"]), "level": rng.randint(1, 5)}
                until = day + timedelta(days=rng.randint(0, 500)) if rng.random() < 0.6 else None
                rows.setdefault(tuple(row.values()), row | {"valid_until": until})
    snapshot = build_snapshot(
        scales=build_scale(), competencies=competencies, people=people, assessments=list(rows.values())
    )
    told = []
    for day in DAYS:
        for person_id in snapshot.people:
            for competency in snapshot.competencies.values():
                known = get_level(snapshot, person_id, competency, day)
                basis = known.basis and (known.basis.date, known.basis.source, known.basis.assessor, known.basis.level)
                told.append(
                    (known.level, known.state, basis, known.declared, known.renewable_level, len(known.remarks))
                )
    return len(told), _shorten(told)
