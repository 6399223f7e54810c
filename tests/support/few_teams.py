"""Random companies of a few small teams: needs, absences, contracts, courses; the same for plain counting."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st
from small_company import ON, build_competencies, build_scale
from small_team import Rows, assess

TEAMS = ("t", "u", "v")
COMPETENCIES = "ab"


@st.composite
def few_teams_rows(draw: st.DrawFn, max_people: int = 7) -> Rows:
    """Draw three teams, two of them with shifts, and people spread over them."""
    shifts = {"t": ["t1", "t2"][: draw(st.integers(0, 2))], "u": ["u1"][: draw(st.integers(0, 1))], "v": []}
    rows: Rows = {
        "scales": build_scale(),
        "competencies": build_competencies(" ".join(COMPETENCIES)),
        "teams": [{"id": t, "label": t, "absence_rate": draw(st.sampled_from([None, 0.0, 0.1, 0.5]))} for t in TEAMS],
        "shifts": [{"id": s, "team": team, "label": s} for team, group in shifts.items() for s in group],
        "people": [],
        "absences": [],
        "assessments": [],
        "cover_needs": [],
        "roles": [{"id": "both", "label": "Both"}],
        "requirements": [{"role": "both", "competency": c, "level": 1} for c in COMPETENCIES],
        "places": [
            {"id": f"post-{team}", "team": team, "role": "both", "shift": draw(st.sampled_from(["", *shifts[team]]))}
            for team in TEAMS[: draw(st.integers(1, 3))]
        ],
        "courses": [{"id": f"k{c}", "label": c, "hours": draw(st.sampled_from([8.0, 30.0]))} for c in COMPETENCIES],
        "outcomes": [{"course": f"k{c}", "competency": c, "level": 2} for c in COMPETENCIES],
        "entry_conditions": [],
    }
    if draw(st.booleans()):
        rows["entry_conditions"].append({"course": "ka", "competency": "b", "level": 1})
    for number in range(draw(st.integers(1, max_people))):
        person, team = f"p{number}", draw(st.sampled_from(TEAMS))
        row: dict[str, Any] = {"id": person, "name": person, "team": team}
        row["shift"] = draw(st.sampled_from(["", *shifts[team]]))
        if draw(st.integers(0, 5)) == 0:
            row["end_date"] = ON - timedelta(days=1)
        rows["people"].append(row)
        if draw(st.integers(0, 4)) == 0:
            rows["absences"].append({"person": person, "from_date": ON, "to_date": ON})
        rows["assessments"] += [assess(person, c, held) for c in COMPETENCIES if (held := draw(st.integers(0, 2)))]
    for team in TEAMS:
        places = st.sampled_from(["team", "each-shift", *shifts[team]])
        for competency, applies in draw(
            st.lists(st.tuples(st.sampled_from(COMPETENCIES), places), max_size=2, unique=True)
        ):
            minimum = draw(st.integers(1, 2))
            rows["cover_needs"].append(
                {
                    "team": team,
                    "competency": competency,
                    "level": draw(st.integers(1, 2)),
                    "applies": applies,
                    "minimum": minimum,
                    "target": minimum + 1,
                    "criticality": draw(st.integers(1, 5)),
                    "together": draw(st.sampled_from(["", "g"])),
                }
            )
    return rows
