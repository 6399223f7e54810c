"""Random teams over six weeks: people who come and go, absences, certificates that lapse, courses that mend."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from small_company import ON, build_scale
from small_team import Rows

#: The stretch looked at: `ON` and the days after.
DAYS = 42

#: A skill, a certificate that can be renewed for a month, one that only a holder renews, a skill that lapses.
COMPETENCIES = [
    {"id": "skill", "label": "Skill", "scale": "s5"},
    {"id": "card", "label": "Card", "scale": "s5", "kind": "certificate", "refresher_months": 1},
    {"id": "pass", "label": "Pass", "scale": "s5", "kind": "certificate"},
    {"id": "drill", "label": "Drill", "scale": "s5", "expiry": "hard", "safety": True},
]


def draw_day(draw: st.DrawFn, before: int = 10, after: int = DAYS + 5) -> date:
    return ON + timedelta(days=draw(st.integers(-before, after)))


@st.composite
def team_over_time_rows(draw: st.DrawFn, max_people: int = 4, other_people: int = 0) -> Rows:
    """Draw team "t" (and people of team "u") whose cover changes within `DAYS` days of `ON`."""
    people = [f"p{n}" for n in range(draw(st.integers(0, max_people)))]
    others = [f"q{n}" for n in range(draw(st.integers(0, other_people)))]
    shifts = ["s1", "s2"][: draw(st.integers(0, 2))]
    rows: Rows = {
        "scales": build_scale(),
        "competencies": [dict(row) for row in COMPETENCIES],
        "teams": [{"id": "t", "label": "Team"}, {"id": "u", "label": "Other"}],
        "shifts": [{"id": s, "team": "t", "label": s} for s in shifts],
        "people": [],
        "absences": [],
        "assessments": [],
        "courses": [],
        "outcomes": [],
        "entry_conditions": [],
    }
    for person in [*people, *others]:
        row: dict[str, Any] = {"id": person, "name": person.upper(), "team": "t" if person in people else "u"}
        row["shift"] = draw(st.sampled_from(["", *shifts])) if person in people else ""
        row["study_hours_per_week"] = draw(st.sampled_from([4.0, 4.0, 8.0, 0.0]))
        if draw(st.integers(0, 3)) == 0:
            row["start_date"] = draw_day(draw)
        if draw(st.integers(0, 3)) == 0:
            row["end_date"] = max(draw_day(draw), row.get("start_date", date.min))
        rows["people"].append(row)
        firsts = draw(st.lists(st.integers(-5, DAYS), max_size=2, unique=True))
        for first in firsts:
            day = ON + timedelta(days=first)
            length = draw(st.integers(0, 12))
            rows["absences"].append({"person": person, "from_date": day, "to_date": day + timedelta(days=length)})
        for competency in COMPETENCIES:
            _draw_assessments(draw, rows, person, competency)
    _draw_needs(draw, rows, shifts)
    _draw_courses(draw, rows)
    _draw_places(draw, rows, shifts)
    return rows


def _draw_assessments(draw: st.DrawFn, rows: Rows, person: str, competency: dict[str, Any]) -> None:
    days = draw(st.lists(st.integers(-40, DAYS), max_size=2, unique=True))
    for number in days:
        day = ON + timedelta(days=number)
        ends = draw(st.booleans())
        rows["assessments"].append(
            {
                "person": person,
                "competency": competency["id"],
                "level": draw(st.integers(1, 2)),
                "date": day,
                "source": "certificate" if "kind" in competency else draw(st.sampled_from(["assessor", "manager"])),
                "valid_until": day + timedelta(days=draw(st.integers(0, 60))) if ends else None,
            }
        )


def _draw_needs(draw: st.DrawFn, rows: Rows, shifts: list[str]) -> None:
    keys = draw(
        st.lists(
            st.tuples(
                st.sampled_from([row["id"] for row in COMPETENCIES]),
                st.integers(1, 2),
                st.sampled_from(["team", "each-shift", *shifts]),
            ),
            unique=True,
            max_size=3,
        )
    )
    rows["cover_needs"] = []
    for competency, level, applies in keys:
        minimum = draw(st.integers(1, 2))
        target = draw(st.integers(minimum, 3))
        rows["cover_needs"].append(
            {
                "team": "t",
                "competency": competency,
                "level": level,
                "applies": applies,
                "minimum": minimum,
                "target": target,
                "criticality": draw(st.integers(1, 5)),
                "together": draw(st.sampled_from(["", "", "g"])),
            }
        )


def _draw_courses(draw: st.DrawFn, rows: Rows) -> None:
    for number in range(draw(st.integers(0, 5))):
        course = f"k{number}"
        rows["courses"].append(
            {
                "id": course,
                "label": course,
                "hours": draw(st.sampled_from([0.0, 4.0, 6.0, 16.0])),
                "weeks": draw(st.sampled_from([None, 1.0, 2.5])),
                "lead_weeks": draw(st.sampled_from([0.0, 1.0, 2.0])),
            }
        )
        competency = draw(st.sampled_from([row["id"] for row in COMPETENCIES]))
        level = draw(st.integers(1, 2))
        renews = draw(st.booleans())
        rows["outcomes"].append({"course": course, "competency": competency, "level": level, "renews": renews})
        if draw(st.integers(0, 2)) == 0:
            asked = draw(st.sampled_from([row["id"] for row in COMPETENCIES]))
            rows["entry_conditions"].append({"course": course, "competency": asked, "level": 1})


def _draw_places(draw: st.DrawFn, rows: Rows, shifts: list[str]) -> None:
    rows["roles"] = [{"id": "hand", "label": "Hand"}, {"id": "lead", "label": "Lead"}, {"id": "none", "label": "None"}]
    rows["requirements"] = [
        {"role": "hand", "competency": "card", "level": 1},
        {
            "role": "lead",
            "competency": "skill",
            "level": 2,
            "entry_level": 0,
            "unsupervised_level": draw(st.integers(0, 2)),
        },
        {
            "role": "lead",
            "competency": "drill",
            "level": 1,
            "necessity": draw(st.sampled_from(["blocking", "desirable"])),
        },
    ]
    rows["places"] = [
        {
            "id": f"x{n}",
            "team": "t",
            "role": draw(st.sampled_from(["hand", "lead", "lead", "none"])),
            "shift": draw(st.sampled_from(["", *shifts])),
            "count": draw(st.integers(1, 2)),
        }
        for n in range(draw(st.integers(0, 2)))
    ]
