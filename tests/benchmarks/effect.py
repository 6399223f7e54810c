"""The effect of one edit, asked of what it can touch, beside asking everything twice; at the size of a large company.

300 roles in 20 families, 1,500 competencies of which a core is shared by all, 2,000 courses, 400 people in 20 teams,
all invented by a fixed seed; sizes and shares are our own choice (common practice, no source). Both ways ask fresh
Snapshots whose indexes are built; the second pair of columns keeps the values of the present state, as a server does.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any, Final

from ontology.analysis.effect.before_after import compute_effect
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

ON: Final = date(2026, 11, 24)
FAMILIES: Final = 20
ROLES, COMPETENCIES, COURSES, PEOPLE = 300, 1_500, 2_000, 400
CORE: Final = 60
#: Edits of each kind.
EACH: Final = 2
Rows = dict[str, list[dict[str, Any]]]


def build_company(seed: int = 16) -> Snapshot:
    """Return the company."""
    rng = random.Random(seed)
    rows: Rows = {name: [] for name in TABLES}
    rows["scales"] = [{"scale": "s", "rank": rank, "label": f"L{rank}"} for rank in range(1, 5)]
    rows["competencies"] = [
        {"id": f"c{n}", "label": f"C{n}", "scale": "s", "expiry": "hard" if n % 9 == 0 else "review"}
        | ({"validity_months": 24} if n % 9 == 0 else {})
        for n in range(COMPETENCIES)
    ]
    core = [f"c{n}" for n in range(CORE)]
    families = [[f"c{n}" for n in range(CORE, COMPETENCIES) if n % FAMILIES == family] for family in range(FAMILIES)]
    for n in range(ROLES):
        rows["roles"].append({"id": f"r{n}", "label": f"R{n}", "family": f"F{n % FAMILIES}"})
        asked = [*rng.sample(core, 2), *rng.sample(families[n % FAMILIES], 10)]
        for competency in asked:
            level = rng.randint(1, 4)
            row = {"role": f"r{n}", "competency": competency, "level": level, "entry_level": rng.randint(0, level)}
            row |= {"necessity": rng.choice(["blocking", "essential", "essential", "essential", "desirable"])}
            rows["requirements"].append(row | {"unsupervised_level": rng.randint(row["entry_level"], level)})
    _add_courses(rng, rows, core, families)
    _add_people(rng, rows, core, families)
    return Snapshot({name: [TABLES[name].build(**row) for row in some] for name, some in rows.items()}, 1, "benchmark")


def _add_courses(rng: random.Random, rows: Rows, core: list[str], families: list[list[str]]) -> None:
    groups = [*families, core]
    for n in range(COURSES):
        group = groups[n % FAMILIES] if n % 25 else core
        hours = float(rng.choice([4, 8, 16, 24, 40]))
        rows["courses"].append({"id": f"k{n}", "label": f"K{n}", "hours": hours, "cost": rng.choice([0.0, 100.0])})
        main = group[(n // FAMILIES) % len(group)]
        level = rng.choice([1, 2, 2, 3, 3, 4])
        taught = {main: level}
        if rng.random() < 0.3:
            taught.setdefault(rng.choice(group), rng.randint(1, 3))
        rows["outcomes"] += [{"course": f"k{n}", "competency": c, "level": at} for c, at in taught.items()]
        if level > 1 and rng.random() < 0.6:
            rows["entry_conditions"].append({"course": f"k{n}", "competency": main, "level": level - 1})
        other = rng.choice(group)
        if other not in taught and rng.random() < 0.25:
            rows["entry_conditions"].append({"course": f"k{n}", "competency": other, "level": 1})


def _add_people(rng: random.Random, rows: Rows, core: list[str], families: list[list[str]]) -> None:
    for n in range(20):
        team = f"t{n}"
        rows["teams"].append({"id": team, "label": team})
        rows["shifts"] += [{"id": f"{team}-{crew}", "team": team, "label": crew} for crew in ("a", "b")]
        for competency in rng.sample([*core[:10], *families[n]], 6):
            applies = rng.choice(["team", "each-shift"])
            row = {"team": team, "competency": competency, "level": rng.randint(1, 3), "applies": applies}
            rows["cover_needs"].append(row | {"minimum": rng.choice([1, 1, 2]), "criticality": rng.randint(1, 5)})
        for number in range(4):
            role = f"r{rng.randrange(15) * FAMILIES + n}"
            rows["places"].append({"id": f"{team}-p{number}", "team": team, "role": role, "count": rng.choice([1, 2])})
    for n in range(PEOPLE):
        family = n % FAMILIES
        role = f"r{rng.randrange(15) * FAMILIES + family}"
        person = {"id": f"p{n}", "name": f"P{n}", "team": f"t{family}", "shift": f"t{family}-{'ab'[n // 20 % 2]}"}
        rows["people"].append(person | {"role": role})
        known = {row["competency"] for row in rows["requirements"] if row["role"] == role and rng.random() < 0.7}
        for competency in sorted(known | set(rng.sample([*core, *families[family]], 10))):
            day = ON - timedelta(days=rng.randint(1, 900))
            row = {"person": f"p{n}", "competency": competency, "level": rng.randint(1, 4), "date": day}
            rows["assessments"].append(row | {"source": "assessor"})


def _edit(
    table: str, change: Callable[[random.Random, Any], dict[str, Any]]
) -> Callable[[random.Random, Snapshot], Snapshot]:
    def edit(rng: random.Random, company: Snapshot) -> Snapshot:
        record = rng.choice(list(company.get_table(table).values()))
        return company.with_changes(put=[(table, replace(record, **change(rng, record)))])

    return edit


def _remove(table: str) -> Callable[[random.Random, Snapshot], Snapshot]:
    return lambda rng, company: company.with_changes(remove=[(table, rng.choice(list(company.get_table(table))))])


#: What an architect does, each kind as often as any other.
EDITS: Final[dict[str, Callable[[random.Random, Snapshot], Snapshot]]] = {
    "level of a requirement": _edit("requirements", lambda rng, row: {"level": row.level % 4 + 1}),
    "necessity of a requirement": _edit("requirements", lambda rng, row: {"necessity": "blocking"}),
    "a requirement gone": _remove("requirements"),
    "hours of a course": _edit("courses", lambda rng, row: {"hours": row.hours + 8}),
    "hours of a course, fewer": _edit("courses", lambda rng, row: {"hours": row.hours / 2}),
    "level of an outcome": _edit("outcomes", lambda rng, row: {"level": row.level % 4 + 1}),
    "an entry condition gone": _remove("entry_conditions"),
    "minimum of a need": _edit("cover_needs", lambda rng, row: {"minimum": row.minimum + 1}),
    "expiry of a competency": _edit("competencies", lambda rng, row: {"expiry": "hard"}),
    "label of a competency": _edit("competencies", lambda rng, row: {"label": row.label + " renamed"}),
}


def measure(before: Snapshot, after: Snapshot, **options: Any) -> tuple[float, Any]:
    """Return the seconds a comparison takes, and what it tells."""
    began = time.perf_counter()
    effect = compute_effect(before, after, ON, **options)
    return time.perf_counter() - began, effect


def copy(company: Snapshot) -> Snapshot:
    """Return a company of which nothing is kept but its records."""
    return company.with_changes()


def main() -> None:
    """Print the table."""
    company = build_company()
    rng = random.Random(16)
    edited = EDITS["level of a requirement"](rng, company)
    everything, whole = measure(copy(company), copy(edited), asks_everything=True)
    size = f"{whole.of.pairs:,} pairs, {whole.of.paths} paths, {whole.of.teams} teams"
    print(f"everything twice: {everything:.3g} s ({size})")
    print(f"{'effect of one edit : everything twice':<44}{'goal':>8}{'s':>9}{'times':>8}{'kept, s':>9}{'times':>8}")
    kept = copy(company)
    all_times: list[tuple[float, float]] = []
    for name, edit in EDITS.items():
        times: list[tuple[float, float]] = []
        for _ in range(EACH):
            after = edit(rng, company)
            fresh, told = measure(copy(company), copy(after))
            again, same = measure(kept, copy(after))
            assert told == same
            times.append((fresh, again))
        all_times += times
        print_row(name, ">= 50" if name == "level of a requirement" else "", everything, times)
    print_row(f"median of {len(all_times)} single edits of all kinds", ">= 30", everything, all_times)


def print_row(what: str, goal: str, everything: float, times: list[tuple[float, float]]) -> None:
    """Print the median seconds of some edits, asked first and with the values of before kept, and how often faster."""
    fresh, again = (statistics.median(column) for column in zip(*times, strict=True))
    print(f"{what:<44}{goal:>8}{fresh:>9.3g}{everything / fresh:>8.3g}{again:>9.3g}{everything / again:>8.3g}")


if __name__ == "__main__":
    main()
