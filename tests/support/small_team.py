"""Random small teams for tests: rows for `build_snapshot`, and the same team as plain sets."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from small_company import ON, build_competencies, build_scale, build_snapshot

from ontology.snapshot.snapshot import Snapshot

Rows = dict[str, list[dict[str, Any]]]
COMPETENCIES = "abc"


def assess(person: str, competency: str, level: int, on: date = ON) -> dict[str, Any]:
    """Return the row of an assessment a month before."""
    day = on - timedelta(days=30)
    return {"person": person, "competency": competency, "level": level, "date": day, "source": "assessor"}


def build_team_rows(**levels: dict[str, int]) -> Rows:
    """Return the rows of team "t" with people and their levels; competencies a to c, five levels."""
    return {
        "scales": build_scale(),
        "competencies": build_competencies(" ".join(COMPETENCIES)),
        "teams": [{"id": "t", "label": "Team"}],
        "people": [{"id": person, "name": person, "team": "t"} for person in levels],
        "assessments": [assess(p, c, level) for p, held in levels.items() for c, level in held.items()],
    }


def build_team(rows: Rows, **more: list[dict[str, Any]]) -> Snapshot:
    """Return the Snapshot of rows and more rows."""
    return build_snapshot(**{name: [*rows.get(name, []), *more.get(name, [])] for name in {*rows, *more}})


def build_course_rows(**courses: dict[str, Any]) -> Rows:
    """Return course rows from id=dict(hours=, gives={c: level}, asks={c: level}, ...)."""
    rows: Rows = {"courses": [], "outcomes": [], "entry_conditions": []}
    for course_id, facts in courses.items():
        gives, asks = facts.pop("gives"), facts.pop("asks", {})
        renews = facts.pop("renews", False)
        rows["courses"].append({"id": course_id, "label": course_id} | facts)
        rows["outcomes"] += [
            {"course": course_id, "competency": c, "level": level, "renews": renews} for c, level in gives.items()
        ]
        rows["entry_conditions"] += [{"course": course_id, "competency": c, "level": n} for c, n in asks.items()]
    return rows


@st.composite
def team_rows(
    draw: st.DrawFn,
    max_people: int = 5,
    max_needs: int = 3,
    max_places: int = 3,
    min_people: int = 0,
    min_needs: int = 0,
) -> Rows:
    """Draw a team with up to two shifts, absences, needs of every kind and places."""
    people = [f"p{n}" for n in range(draw(st.integers(min_people, max_people)))]
    shifts = ["s1", "s2"][: draw(st.integers(0, 2))]
    level = st.integers(0, 2)
    rows: Rows = {
        "scales": build_scale(),
        "competencies": build_competencies(" ".join(COMPETENCIES)),
        "teams": [{"id": "t", "label": "Team"}],
        "shifts": [{"id": s, "team": "t", "label": s} for s in shifts],
        "people": [{"id": p, "name": p, "team": "t", "shift": draw(st.sampled_from(["", *shifts]))} for p in people],
        "assessments": [assess(p, c, held) for p in people for c in COMPETENCIES if (held := draw(level))],
        "absences": [{"person": p, "from_date": ON, "to_date": ON} for p in people if draw(st.integers(0, 5)) == 0],
        "roles": [{"id": r, "label": r} for r in ("r0", "r1", "r2")],
        "requirements": [
            {"role": "r1", "competency": "a", "level": 2, "unsupervised_level": 1, "entry_level": 1},
            {"role": "r2", "competency": "b", "level": 1},
            {
                "role": "r2",
                "competency": "c",
                "level": 2,
                "necessity": draw(st.sampled_from(["blocking", "desirable"])),
            },
        ],
    }
    keys = draw(
        st.lists(
            st.tuples(
                st.sampled_from(COMPETENCIES), st.integers(1, 2), st.sampled_from(["team", "each-shift", *shifts])
            ),
            unique=True,
            min_size=min_needs,
            max_size=max_needs,
        )
    )
    rows["cover_needs"] = []
    for competency, wanted, applies in keys:
        minimum = draw(st.integers(1, 2))
        rows["cover_needs"].append(
            {
                "team": "t",
                "competency": competency,
                "level": wanted,
                "applies": applies,
                "minimum": minimum,
                "target": draw(st.integers(minimum, 3)),
                "together": draw(st.sampled_from(["", "", "g"])),
            }
        )
    rows["places"] = [
        {
            "id": f"x{n}",
            "team": "t",
            "role": draw(st.sampled_from(["r1", "r1", "r2", "r2", "r0"])),
            "shift": draw(st.sampled_from(["", *shifts])),
            "count": draw(st.integers(1, 2)),
        }
        for n in range(draw(st.integers(0, max_places)))
    ]
    return rows


class PlainTeam:
    """A team as sets of ids, worked out from the rows again (assessments are all dated before, none expires)."""

    def __init__(self, rows: Rows, away: frozenset[str] = frozenset()) -> None:
        self.shift_of = {row["id"]: row.get("shift", "") for row in rows["people"]}
        gone = {row["person"] for row in rows.get("absences", [])} | away
        self.people = set(self.shift_of)
        self.present = self.people - gone
        self.shifts = sorted(row["id"] for row in rows.get("shifts", []))
        self.levels = {(row["person"], row["competency"]): row["level"] for row in rows["assessments"]}
        self.scopes: list[tuple[dict[str, Any], str | None, frozenset[str], frozenset[str]]] = []
        needs = sorted(rows.get("cover_needs", []), key=lambda n: (n["competency"], n["level"], n["applies"]))
        for need in needs:
            places: list[str | None] = list(self.shifts) if need["applies"] == "each-shift" else [need["applies"]]
            for shift in [None] if need["applies"] == "team" else places:
                self._add_scope(need, shift, self.people)
            if not places:
                self._add_scope(need, None, set())
        self.slots: list[tuple[str, frozenset[str]]] = []
        for place in sorted(rows.get("places", []), key=lambda row: row["id"]):
            asked = [r for r in rows["requirements"] if r["role"] == place["role"]]
            able = frozenset(
                p
                for p in self.present
                if asked
                and place["shift"] in ("", self.shift_of[p])
                and all(
                    self.levels.get((p, r["competency"]), 0) >= r.get("unsupervised_level", r["level"])
                    for r in asked
                    if r.get("necessity") != "desirable"
                )
            )
            self.slots += [(place["id"], able)] * place.get("count", 1)
        for need, _, _, present in self.scopes:
            if need.get("together"):
                self.slots += [("", present)] * need["minimum"]

    def _add_scope(self, need: dict[str, Any], shift: str | None, people: set[str]) -> None:
        qualified = frozenset(
            p
            for p in people
            if shift in (None, self.shift_of[p]) and self.levels.get((p, need["competency"]), 0) >= need["level"]
        )
        self.scopes.append((need, shift, qualified, qualified & self.present))

    @property
    def able(self) -> list[frozenset[str]]:
        """Who can fill each slot."""
        return [people for _, people in self.slots]

    @property
    def needs(self) -> list[tuple[frozenset[str], int]]:
        """Who of those present meets each need, and its minimum."""
        return [(present, need["minimum"]) for need, _, _, present in self.scopes]
