"""Random small teams that lack something, with courses that have weeks, lead time, strand and conditions.

As rows, and as plain numbers for the plans that are found by trying everything.
"""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction

from brute_training import PlainCourse, PlainGoal
from effort import draws
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from small_company import ON
from small_team import PlainTeam, Rows, team_rows

MANY = settings(max_examples=draws(40), deadline=None, suppress_health_check=[HealthCheck.too_slow])
FACT = st.tuples(st.sampled_from("abc"), st.integers(1, 2))


@st.composite
def questions(draw: st.DrawFn, people: int = 3, courses: int = 4) -> tuple[Rows, Rows]:
    """Draw a team that lacks something, and courses with weeks, lead time, strand and conditions."""
    rows = draw(team_rows(max_people=people, max_needs=3, max_places=0, min_people=2, min_needs=1))
    rows["assessments"] = [row for row in rows["assessments"] if draw(st.integers(0, 2)) == 0]
    for need in rows["cover_needs"]:
        need["target"] = max(need["minimum"], 2)
    made: Rows = {"courses": [], "outcomes": [], "entry_conditions": []}
    for n in range(draw(st.integers(2, courses))):
        made["courses"].append(
            {
                "id": f"c{n}",
                "label": "c",
                "hours": float(draw(st.integers(0, 9))),
                "coach_hours": float(draw(st.sampled_from([0, 0, 1]))),
                "cost": float(draw(st.integers(0, 2))),
                "weeks": draw(st.sampled_from([None, None, 1.0, 2.5])),
                "lead_weeks": draw(st.sampled_from([0.0, 0.0, 0.5, 2.0])),
                "strand": draw(st.sampled_from(["formal", "experience"])),
            }
        )
        reached = draw(st.lists(FACT, min_size=1, max_size=2, unique_by=lambda fact: fact[0]))
        asked = draw(st.lists(FACT, max_size=1)) if draw(st.booleans()) else []
        made["outcomes"] += [{"course": f"c{n}", "competency": i, "level": level} for i, level in reached]
        made["entry_conditions"] += [{"course": f"c{n}", "competency": i, "level": level} for i, level in asked]
    return rows, made


def read_courses(rows: Rows) -> list[PlainCourse]:
    return [
        PlainCourse(
            row["id"],
            round(row["hours"] * 60),
            round(row["coach_hours"] * 60),
            round(row["cost"] * 100),
            tuple((e["competency"], e["level"]) for e in rows["entry_conditions"] if e["course"] == row["id"]),
            tuple((o["competency"], o["level"]) for o in rows["outcomes"] if o["course"] == row["id"]),
            Fraction(row["lead_weeks"]),
            Fraction(row["weeks"] or 0),
            row["strand"] == "formal",
        )
        for row in rows["courses"]
    ]


def read_levels(plain: PlainTeam) -> dict[str, dict[str, int]]:
    return {p: {i: level for (q, i), level in plain.levels.items() if p == q} for p in sorted(plain.people)}


def read_absent(rows: Rows) -> dict[str, set[int]]:
    """Return person -> days of absence, from the day asked about, among the days that can matter."""
    absent: dict[str, set[int]] = {}
    for day in range(300):
        for row in rows["absences"]:
            if row["from_date"] <= ON + timedelta(days=day) <= row["to_date"]:
                absent.setdefault(row["person"], set()).add(day)
    return absent


@st.composite
def absence_rows(draw: st.DrawFn, rows: Rows) -> Rows:
    """Draw the absences anew: some last for weeks, and some overlap."""
    people = [row["id"] for row in rows["people"] if row["team"] == "t"]
    absences = []
    for person in draw(st.lists(st.sampled_from(people), max_size=3)):
        first = ON + timedelta(days=draw(st.integers(-3, 12)))
        last = first + timedelta(days=draw(st.sampled_from([0, 2, 6, 13, 20])))
        absences.append({"person": person, "from_date": first, "to_date": last})
    unique = {(row["person"], row["from_date"]): row for row in absences}
    return {**rows, "absences": list(unique.values())}


def read_goals(plain: PlainTeam) -> list[PlainGoal]:
    return [
        PlainGoal(
            need["competency"],
            need["level"],
            need["target"],
            frozenset(p for p in plain.people if shift in (None, plain.shift_of[p]))
            if shift is not None or need["applies"] == "team"
            else frozenset(),
        )
        for need, shift, _, _ in plain.scopes
    ]
