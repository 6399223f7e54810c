"""Random small companies for property tests: every table, sound by construction."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from ontology.model.tables import TABLES

_WORDS = [
    "pump",
    "valve",
    "Ärger",
    "a <b> & c",
    'say "yes"',
    "مرحبا",
    "back\\slash",
    "=1+1",
    "  two  words ",
    "line\nbreak",
]


def build_company(seed: int, *, size: int = 4) -> dict[str, list[Any]]:
    """Return records per table of a company that breaks no rule, the same for the same seed.

    Parameters
    ----------
    seed : int
    size : int
        Roughly how many roles, people and courses.
    """
    rng = random.Random(seed)
    rows: dict[str, list[dict[str, Any]]] = {name: [] for name in TABLES}
    n_levels = {"craft": rng.randint(2, 5), "held": 1}
    for scale, n in n_levels.items():
        for rank in range(1, n + 1):
            rows["scales"].append({"scale": scale, "rank": rank, "label": _text(rng), "description": _maybe_text(rng)})
    competencies: dict[str, int] = {}
    for i in range(size + 2):
        is_certificate = rng.random() < 0.3
        scale = "held" if is_certificate else "craft"
        row: dict[str, Any] = {"id": f"c{i}", "label": f"{_text(rng)} {i}", "scale": scale}
        if is_certificate:
            row |= {"kind": "certificate", "validity_months": rng.choice([12, 24, 36])}
        elif rng.random() < 0.5:
            row |= {"kind": rng.choice(["knowledge", "skill", "behaviour"]), "safety": rng.random() < 0.3}
        if rng.random() < 0.3:
            row["alt_labels"] = tuple(sorted({f"other {_text(rng)}", f"more {i}"}))
        if rng.random() < 0.3:
            row["exact_match"] = (f"http://x.example/{i}",)
        if i and rng.random() < 0.5:
            row["broader"] = tuple(sorted(rng.sample(list(competencies), min(len(competencies), rng.randint(1, 2)))))
        if rng.random() < 0.3:
            row |= {"refresher_months": rng.randint(0, 12), "assessment_hours": rng.choice([0.5, 1.25, 3])}
        if rng.random() < 0.3:
            row["practices_per_year"] = rng.choice([1.0, 4.0, 6.5])
        competencies[row["id"]] = n_levels[scale]
        rows["competencies"].append(row)
    _add_roles(rng, rows, competencies, size)
    _add_courses(rng, rows, competencies, size)
    _add_teams(rng, rows, competencies, size)
    return {name: [TABLES[name].build(**row) for row in table] for name, table in rows.items()}


def _text(rng: random.Random) -> str:
    return rng.choice(_WORDS).strip().replace("\n", " ") + f" {rng.randint(0, 99)}"


def _maybe_text(rng: random.Random) -> str:
    return _text(rng) if rng.random() < 0.5 else ""


def _add_roles(
    rng: random.Random, rows: dict[str, list[dict[str, Any]]], competencies: dict[str, int], size: int
) -> None:
    for i in range(size):
        rows["roles"].append({"id": f"r{i}", "label": _text(rng), "months_to_full": rng.choice([0, 6, 12, 18])})
        for competency in sorted(rng.sample(list(competencies), rng.randint(1, len(competencies) - 1))):
            level = rng.randint(1, competencies[competency])
            row: dict[str, Any] = {"role": f"r{i}", "competency": competency, "level": level}
            if rng.random() < 0.6:
                row |= {"entry_level": rng.randint(1, level), "unsupervised_level": rng.randint(1, level)}
            if rng.random() < 0.6:
                row |= {
                    "weight": rng.choice([1.0, 2.5, 4.12, 5.0]),
                    "necessity": rng.choice(["blocking", "essential", "desirable"]),
                }
            if rng.random() < 0.3:
                row |= {"learned_on_job": rng.random() < 0.5, "measured_level": rng.choice([0.5, 3.25])}
            rows["requirements"].append(row)


def _add_courses(
    rng: random.Random, rows: dict[str, list[dict[str, Any]]], competencies: dict[str, int], size: int
) -> None:
    for i in range(size + 2):
        row: dict[str, Any] = {"id": f"k{i}", "label": _text(rng), "hours": rng.choice([0.5, 4, 7.5, 16, 40])}
        if rng.random() < 0.5:
            row |= {"cost": rng.choice([0.0, 99.95, 1200.0]), "coach_hours": rng.choice([0.0, 2.5]), "weeks": 1.5}
        if rng.random() < 0.5:
            row |= {"method": "coaching", "strand": rng.choice(["experience", "social", "formal"]), "seats": 8}
        if rng.random() < 0.3:
            row["lead_weeks"] = rng.choice([1.0, 2.5])
        rows["courses"].append(row)
        chosen = sorted(rng.sample(list(competencies), rng.randint(1, 3)))
        for competency in chosen:
            level = rng.randint(1, competencies[competency])
            rows["outcomes"].append(
                {"course": f"k{i}", "competency": competency, "level": level, "renews": rng.random() < 0.2}
            )
            if level > 1 and rng.random() < 0.6:
                rows["entry_conditions"].append({"course": f"k{i}", "competency": competency, "level": level - 1})


def _add_teams(
    rng: random.Random, rows: dict[str, list[dict[str, Any]]], competencies: dict[str, int], size: int
) -> None:
    rows["teams"] = [{"id": "t0", "label": _text(rng)}, {"id": "t1", "label": _text(rng), "part_of": "t0"}]
    if rng.random() < 0.5:
        rows["teams"][0]["absence_rate"] = rng.choice([0.05, 0.125])
    rows["shifts"] = [{"id": f"s{i}", "team": "t0", "label": _text(rng)} for i in range(2)]
    for i in range(size + 2):
        row: dict[str, Any] = {"id": f"p{i}", "name": f"Person {_text(rng)}", "team": rng.choice(["t0", "t1"])}
        if row["team"] == "t0" and rng.random() < 0.7:
            row["shift"] = rng.choice(["s0", "s1"])
        if rng.random() < 0.5:
            row |= {"role": f"r{rng.randrange(size)}", "study_hours_per_week": rng.choice([2.0, 4.5])}
        if rng.random() < 0.2:
            row["start_date"] = date(2026, 1, 1)
        rows["people"].append(row)
        if rng.random() < 0.3:
            first = date(2026, 11, 1) + timedelta(days=rng.randint(0, 40))
            rows["absences"].append(
                {"person": row["id"], "from_date": first, "to_date": first + timedelta(days=rng.randint(0, 20))}
            )
        for competency in sorted(rng.sample(list(competencies), rng.randint(0, len(competencies)))):
            rows["assessments"].append(
                {
                    "person": row["id"],
                    "competency": competency,
                    "level": rng.randint(1, competencies[competency]),
                    "date": date(2024, 1, 31) + timedelta(days=rng.randint(0, 900)),
                    "source": rng.choice(["certificate", "assessor", "manager", "self", "unstated"]),
                    "assessor": rng.choice(["", "e9", "Dr. Ä. Ö"]),
                }
            )
    for competency in sorted(rng.sample(list(competencies), 3)):
        minimum = rng.randint(1, 2)
        rows["cover_needs"].append(
            {
                "team": "t0",
                "competency": competency,
                "level": rng.randint(1, competencies[competency]),
                "minimum": minimum,
                "target": minimum + rng.randint(0, 2),
                "criticality": rng.randint(1, 5),
                "applies": rng.choice(["team", "each-shift", "s0"]),
                "together": rng.choice(["", "g"]),
                "occasions_per_year": rng.choice([None, 12.0, 0.5]),
                "hours_per_year": rng.choice([None, 8760.0]),
            }
        )
    rows["places"] = [
        {"id": "x0", "team": "t0", "role": "r0", "shift": "s0", "label": _maybe_text(rng)},
        {"id": "x1", "team": "t0", "role": f"r{size - 1}", "count": 2, "hours_per_year": 2000.0, "strain": 5},
    ]
