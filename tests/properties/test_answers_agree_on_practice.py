"""Practice of random companies against asking it day by day, against coverage, and against the practice ceiling."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

import pytest
from agreeing_companies import Company, draw_company_rows, list_seeds
from drawn_companies import Rows, add_months
from small_company import ON

SEEDS = list_seeds(12, 6)
DAY = timedelta(days=1)
DAYS = (ON - timedelta(days=200), ON, date(2027, 2, 28))


def draw(seed: int) -> Rows:
    """Return the rows of a company that keeps practice."""
    rng = random.Random(f"practice {seed}")
    rows = draw_company_rows(seed)
    for competency in rows["competencies"]:
        competency["practices_per_year"] = rng.choice([None, 0.5, 1.0, 2.0, 2.5])
    for need in rows["cover_needs"]:
        need["occasions_per_year"] = rng.choice([None, 1.0, 4.0, 7.5])
    for person in rows["people"]:
        for competency in rows["competencies"]:
            days = rng.sample(range(-800, 150), rng.choice([0, 1, 3, 6]))
            rows["practices"] += [
                {"person": person["id"], "competency": competency["id"], "date": day, "count": rng.choice([0, 1, 1, 2])}
                for day in sorted({date(2024, 2, 29), *(ON + n * DAY for n in days)} if days else ())
            ]
    return rows


def count_by_hand(rows: Rows, person: str, competency: str, day: date, known_until: date) -> int:
    """Return the count of the twelve months that end with a day, of what is dated up to another."""
    first = add_months(day, -12) + DAY
    return sum(
        row["count"]
        for row in rows["practices"]
        if (row["person"], row["competency"]) == (person, competency) and first <= row["date"] <= min(day, known_until)
    )


@pytest.mark.parametrize("seed", SEEDS)
def test_who_falls_below_does_so_on_the_first_day_on_which_asking_again_finds_it(seed: int) -> None:
    rows = draw(seed)
    asked = {row["id"]: row["practices_per_year"] for row in rows["competencies"]}
    for on in DAYS:
        told: dict[tuple[str, str], Any] = {}
        for team in "tu":
            for need in Company(rows).ask(f"teams/{team}/practice", on)["needs"]:
                told |= {(person["person"], need["competency"]): person for person in need["people"]}
        for (person, competency), row in told.items():
            assert row["count"] == count_by_hand(rows, person, competency, on, on)
            days = [d for d in (on + n * DAY for n in range(800)) if is_below(rows, person, competency, d, on, asked)]
            falls = str(days[0]) if days and days[0] > on else None
            assert row["falls_below_on"] == falls, (person, competency, on)
            state = "not-asked" if asked[competency] is None else "below" if falls is None else "current"
            is_soon = falls is not None and date.fromisoformat(falls) <= on + timedelta(days=90)
            assert row["state"] == ("soon" if is_soon else state)


def is_below(rows: Rows, person: str, competency: str, day: date, on: date, asked: dict[str, float | None]) -> bool:
    wanted = asked[competency]
    return wanted is not None and count_by_hand(rows, person, competency, day, on) < wanted


@pytest.mark.parametrize("seed", SEEDS)
def test_who_is_told_of_is_who_coverage_finds_qualified(seed: int) -> None:
    company = Company(draw(seed))
    for team in "tu":
        for on in DAYS:
            needs = company.get_needs(team, on)
            told = company.ask(f"teams/{team}/practice", on)["needs"]
            keys = [(need["competency"], need["level"], need["applies"], need["shift"]) for need in told]
            assert keys == list(needs)
            for key, need in zip(keys, told, strict=True):
                assert [person["person"] for person in need["people"]] == needs[key]["qualified"]


@pytest.mark.parametrize("seed", SEEDS)
def test_no_more_keep_in_practice_than_the_ceiling_while_nobody_practises_beyond_the_occasions(seed: int) -> None:
    company = Company(draw(seed))
    for team in "tu":
        for on in DAYS:
            for need in company.ask(f"teams/{team}/practice", on)["needs"]:
                done = sum(person["count"] for person in need["people"])
                assert need["done"] == done
                if need["occasions_per_year"] is None:
                    assert need["occasions_left"] is None
                    continue
                assert need["occasions_left"] == max(0, need["occasions_per_year"] - done)
                if need["ceiling"] is not None and done <= need["occasions_per_year"]:
                    kept = [person for person in need["people"] if person["state"] in ("current", "soon")]
                    assert len(kept) <= need["ceiling"]


@pytest.mark.parametrize("seed", SEEDS)
def test_ceiling_is_the_one_a_cross_training_plan_keeps(seed: int) -> None:
    company = Company(draw(seed))
    for team in "tu":
        told = {
            (need["competency"], need["level"], need["applies"], need["shift"]): need["ceiling"]
            for need in company.ask(f"teams/{team}/practice")["needs"]
        }
        plan = company.ask(f"teams/{team}/cross-training", time_limit=5)
        for row in plan["ceilings"]:
            assert told[row["competency"], row["level"], row["applies"], row["shift"]] == row["ceiling"]


@pytest.mark.parametrize("seed", SEEDS)
def test_coverage_remarks_on_everyone_whom_practice_tells_to_be_below(seed: int) -> None:
    company = Company(draw(seed))
    for team in "tu":
        for on in DAYS:
            below = {
                (person["person"], need["competency"], need["level"], need["applies"])
                for need in company.ask(f"teams/{team}/practice", on)["needs"]
                for person in need["people"]
                if person["state"] == "below"
            }
            remarks = company.ask(f"teams/{team}/coverage", on)["remarks"]
            found = [remark.split(" and counts for it, but did it ")[0] for remark in remarks if " did it " in remark]
            assert sorted(found) == sorted(
                f"{person} is qualified for {competency} at level {level}" for person, competency, level, _ in below
            )
