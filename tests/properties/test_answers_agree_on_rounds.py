"""Rounds of assessments of random companies against gaps, against doing what they say, and against agreement."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from typing import Any

import pytest
from asking import PERSON, tell
from drawn_rounds import ON, draw_assessed_rows
from small_company import build_snapshot

from api.desk.question import COMPANY

SEEDS = range(40)
BY = ON + timedelta(days=3)


def ask(rows: dict[str, list[dict[str, Any]]], name: str, **asked: Any) -> dict[str, Any]:
    return tell(build_snapshot(**rows), name, COMPANY, "", **asked)


@pytest.mark.parametrize("seed", SEEDS)
def test_why_something_is_assessed_is_the_state_the_gap_tells(seed: int) -> None:
    rows = draw_assessed_rows(seed) | {"memberships": []}
    told = ask(rows, "assessment-round", on=ON, by=BY, double="none")
    found = {(row["person"], row["competency"]): row["reason"] for row in told["assignment"]}
    found |= {(row["person"], row["competency"]): row["due"] for row in told["left_out"]}
    assert len(found) == told["rows"]
    for person in rows["people"]:
        if not person["role"]:
            continue
        gap = tell(build_snapshot(**rows), "gap", PERSON, person["id"], role=person["role"], on=ON)
        states = {row["competency"]: row["state"] for row in gap["gaps"]}
        for (who, competency), reason in found.items():
            if who == person["id"]:
                assert states[competency] == ("ok" if reason == "old" else reason)


@pytest.mark.parametrize("seed", SEEDS)
def test_who_does_what_a_round_says_has_nothing_left_but_what_was_left_out(seed: int) -> None:
    rows = draw_assessed_rows(seed)
    told = ask(rows, "assessment-round", on=ON, by=BY, double="all")
    done = [
        {"person": row["person"], "competency": row["competency"], "level": 2, "date": BY, "source": "assessor"}
        | {"assessor": row["assessor"]}
        for row in told["assignment"]
    ]
    after = rows | {"assessments": rows["assessments"] + done}
    again = ask(after, "assessment-round", on=BY, double="all")
    seen = {(row["person"], row["competency"]) for row in told["assignment"]}
    left = [*again["assignment"], *again["left_out"]]
    assert not seen & {(row["person"], row["competency"]) for row in left}
    # each that two have seen is a pair, on whose level both agree
    twice = Counter((row["person"], row["competency"]) for row in told["assignment"])
    pairs = Counter(competency for (_, competency), count in twice.items() if count == 2)
    agreement = ask(after, "assessor-agreement", from_date=BY, until=BY)
    assert {row["competency"]: row["pairs"] for row in agreement["competencies"]} == pairs
    assert agreement["disagreements"] == []


@pytest.mark.parametrize("seed", SEEDS)
def test_until_a_third_has_seen_it_the_lower_level_counts(seed: int) -> None:
    rows = draw_assessed_rows(seed)
    told = ask(rows, "assessment-round", on=ON, by=BY, double="all")
    twice = Counter((row["person"], row["competency"]) for row in told["assignment"])
    levels = {
        (row["person"], row["competency"], row["assessor"]): 1 + 2 * (n % 2)
        for n, row in enumerate(told["assignment"])
        if twice[row["person"], row["competency"]] == 2
    }
    done = [
        {"person": person, "competency": competency, "level": level, "date": BY, "source": "assessor"}
        | {"assessor": assessor}
        for (person, competency, assessor), level in levels.items()
    ]
    after = rows | {"assessments": rows["assessments"] + done}
    for row in ask(after, "assessor-agreement", from_date=BY, until=BY)["disagreements"]:
        low = row["levels"][0]
        assert row["to_do"] == f"A third assessor watches with both; until then the lower level counts: {low}."
        role = next(person["role"] for person in rows["people"] if person["id"] == row["person"])
        if not role:
            continue
        gap = tell(build_snapshot(**after), "gap", PERSON, row["person"], role=role, on=BY)
        have = {asked["competency"]: asked["have"] for asked in gap["gaps"]}
        assert have.get(row["competency"], low) == low
