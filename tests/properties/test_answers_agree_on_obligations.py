"""Proof, obligations, gap and cover never contradict each other; proof says what judging by kept records says."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from brute_obligations import DayByDay
from obligation_companies import ON, build_company

from ontology.analysis.cover.coverage import compute_coverage
from ontology.analysis.obligations.due_lists import find_person_obligations
from ontology.analysis.obligations.proof import ProofRow, find_proof
from ontology.analysis.profiles.gap import compute_gap
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

_SEEDS = 300
_BUNDLE = 50
_BUNDLES = pytest.mark.parametrize("first", range(0, _SEEDS, _BUNDLE))


def build(seed: int) -> Snapshot:
    """Return a company whose roles ask something, and in which everyone stands at a place on the day, or may."""
    snapshot, rng = build_company(seed), random.Random(seed)
    rows: list[tuple[str, dict[str, Any]]] = []
    for role in ("r0", "r1"):
        for i in rng.sample(range(5), 3):
            level = rng.randint(1, 3)
            asked = {"role": role, "competency": f"c{i}", "level": level, "unsupervised_level": rng.randint(0, level)}
            asked |= {"entry_level": 0, "necessity": rng.choice(["blocking", "essential", "desirable"])}
            rows.append(("requirements", asked))
    for place in ("x0", "x1"):
        for person in snapshot.people:
            first = ON + timedelta(days=rng.randint(-60, 0))
            duty = {"person": person, "place": place, "from_date": first, "to_date": first + timedelta(days=70)}
            rows.append(("duties", duty | rng.choice([{}, {"supervised_by": rng.choice(sorted(snapshot.people))}])))
    rows += [("cover_needs", {"team": "t0", "competency": f"c{i}", "level": rng.randint(1, 2)}) for i in range(5)]
    return snapshot.with_changes(put=[(table, TABLES[table].build(**row)) for table, row in rows])


def list_rows(snapshot: Snapshot, place: str, day: date, known_on: date) -> list[tuple[str, ProofRow]]:
    proof = find_proof(snapshot, place, on=ON, day=day, known_on=known_on)
    return [(person.person, row) for person in proof.people for row in person.rows]


@_BUNDLES
def test_proof_of_today_says_what_obligations_and_gap_say_today(first: int) -> None:
    for seed in range(first, first + _BUNDLE):
        snapshot = build(seed)
        for place in snapshot.places.values():
            proved = {(p, r.kind, r.competency, r.level): r.verdict for p, r in list_rows(snapshot, place.id, ON, ON)}
            assert set(proved.values()) <= {"valid", "not-valid"}
            for person in snapshot.people:
                levels = {
                    row.competency: row.have or 0
                    for row in compute_gap(snapshot, place.role, person_id=person, on=ON).gaps
                }
                told = {(r.competency, r.level): r for r in find_person_obligations(snapshot, person, on=ON).rows}
                for (who, kind, competency, level), verdict in proved.items():
                    if who == person and kind == "obligation":
                        assert told[competency, level].is_met is (verdict == "valid")
                    elif who == person and not snapshot.competencies[competency].appointment:
                        assert (levels[competency] >= level) is (verdict == "valid")
                assert all(
                    proved[person, "obligation", *key] == "not-valid"
                    for key, row in told.items()
                    if row.state == "overdue"
                )


@_BUNDLES
def test_verdicts_are_those_of_the_records_that_were_there(first: int) -> None:
    """Own brute force: two companies, one with the records known then and one with those that stand now."""
    for seed in range(first, first + _BUNDLE):
        snapshot, rng = build(seed), random.Random(seed)
        day, known_on = (ON - timedelta(days=rng.randint(0, 60)) for _ in range(2))
        then = keep(snapshot, known_on)
        for place in snapshot.places:
            rows = list_rows(snapshot, place, day, known_on)
            judged = {"valid": (True, True), "recorded-later": (False, True), "withdrawn-since": (True, False)}
            for person, row in rows:
                expected = tuple(judge(state, person, row, day) for state in (then, snapshot))
                assert judged.get(row.verdict, (False, False)) == expected, (seed, person, row)
            for person in {person for person, _ in rows} if seed % 5 == 0 else ():
                asked = DayByDay(snapshot, person, day).asking[day]
                assert {(r.competency, r.level) for p, r in rows if p == person and r.kind == "obligation"} == set(
                    asked
                )


def keep(snapshot: Snapshot, known_on: date) -> Snapshot:
    """Return the company with the records known by a day alone, as they were then."""
    tables = {name: list(snapshot.get_table(name).values()) for name in TABLES}
    tables["assessments"] = [
        replace(row, withdrawn_on=None)
        for row in tables["assessments"]
        if (row.recorded_on or row.date) <= known_on and not (row.withdrawn_on and row.withdrawn_on <= known_on)
    ]
    tables["appointments"] = [r for r in tables["appointments"] if (r.recorded_on or r.from_date) <= known_on]
    return Snapshot(tables)


def judge(snapshot: Snapshot, person: str, row: ProofRow, day: date) -> bool:
    """Return whether what was asked was held by these records."""
    if row.kind == "obligation":
        return DayByDay(snapshot, person, day, reach=0).is_met((row.competency, row.level), day)
    levels = {gap.competency: gap.have or 0 for gap in compute_gap(snapshot, "r0", person_id=person, on=day).gaps}
    if levels[row.competency] < row.level:
        return False
    in_force = [
        named.level is None or named.level >= row.level
        for named in snapshot.get_appointments(person, row.competency)
        if named.from_date <= day and (named.to_date is None or day <= named.to_date)
    ]
    return any(in_force) or not snapshot.competencies[row.competency].appointment


@_BUNDLES
def test_cover_is_the_same_whatever_obligations_say(first: int) -> None:
    for seed in range(first, first + _BUNDLE):
        snapshot = build(seed)
        without = snapshot.with_changes(remove=[("obligations", (i,)) for i in snapshot.obligations])
        for team in snapshot.teams:
            assert compute_coverage(snapshot, team, ON) == compute_coverage(without, team, ON)
