"""What is said of a person's levels is what the gap says of them, and it holds just until the day that is named."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from agreeing_companies import Company, get_company, list_seeds
from small_company import ON

SEEDS = list_seeds(8, 12)
SHARED = ("gap", "necessity", "state", "source", "date", "age_days", "by_equivalence", "carried_from")


def ask_levels(company: Company, person: str, role: str, on: date | str = ON) -> dict[str, Any]:
    answer = company.ask(f"people/{person}/levels", on, role=role)
    return {row["competency"]: row for row in (*answer["others"], *answer["asked"])}


@pytest.mark.parametrize("seed", SEEDS)
def test_levels_beside_a_role_are_those_of_the_gap(seed: int) -> None:
    company = get_company(seed)
    roles = sorted({row["role"] for row in company.rows["requirements"]})[:3]
    for person in sorted(company.people)[:6]:
        for role in roles:
            gap = company.ask(f"people/{person}/gap", role=role)
            answer = company.ask(f"people/{person}/levels", role=role)
            told = {row["competency"]: row for row in answer["asked"]}
            assert told.keys() == {row["competency"] for row in gap["gaps"]}
            for row in gap["gaps"]:
                mine = told[row["competency"]]
                assert (mine["asked"], mine["level"]) == (row["level"], row["have"])
                assert {name: mine[name] for name in SHARED} == {name: row[name] for name in SHARED}
            for name in ("essential_met", "essential_total", "assess_first"):
                assert answer[name] == gap[name]
            assert answer["blocking_total"] - answer["blocking_met"] == gap["blocking_unmet"]
            declared = {row["competency"]: row["declared"] for row in gap["gaps"] if row["declared"] is not None}
            said = {row["competency"]: row["level"] for row in answer["said"] if row["competency"] in told}
            assert said == declared


@pytest.mark.parametrize("seed", SEEDS)
def test_a_level_counts_on_its_last_day_and_no_more_the_day_after(seed: int) -> None:
    company = get_company(seed)
    role = min(row["role"] for row in company.rows["requirements"])
    for person in sorted(company.people)[:6]:
        for competency, row in ask_levels(company, person, role).items():
            if row["until"] is None:
                continue
            last = date.fromisoformat(row["until"])
            then = ask_levels(company, person, role, last)[competency]
            assert then["level"] >= row["level"]
            assert then["state"] == "ok"
            # what no longer counts as it, and was never assessed itself, is not among what is held
            gone = {"state": "not-assessed", "level": None}
            after = ask_levels(company, person, role, last + timedelta(days=1)).get(competency, gone)
            assert after["state"] == row["then"]
            assert after["state"] != "ok" or after["level"] < row["level"]
