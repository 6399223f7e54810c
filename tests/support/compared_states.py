"""States to compare: a framework of our own, and what tells in the slow and plain way which records are the same."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable, Iterable
from typing import Any

from small_company import build_scale, build_snapshot

from ontology.analysis.compare.candidates import rate_pair
from ontology.analysis.compare.neighbours import TOLD, list_near
from ontology.analysis.compare.pairs import Pairs
from ontology.analysis.compare.same import LEAST
from ontology.model.references import get_reference_fields, is_referring
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot

__all__ = ["build_framework", "draw_framework", "edit_records", "find_likely_slowly", "renumber"]

_WORDS = ("pump", "valve", "sample", "filter", "chlorine", "meter", "report", "plan")
_VERBS = ("operate", "repair", "read", "check", "explain")


def build_framework(**more: Iterable[dict[str, Any]]) -> Snapshot:
    """Return a small framework: competencies c0..c5, roles r0..r3 that ask some, courses that teach some."""
    labels = ("Operate pumps", "Repair valves", "Take samples", "Run filters", "Dose chlorine", "Read meters")
    tables: dict[str, Iterable[dict[str, Any]]] = {
        "scales": build_scale(),
        "competencies": [{"id": f"c{i}", "label": label, "scale": "s5"} for i, label in enumerate(labels)],
        "roles": [
            {"id": f"r{i}", "label": f"Role {name}"} for i, name in enumerate(("North", "South", "East", "West"))
        ],
        "requirements": [
            {"role": f"r{r}", "competency": f"c{c}", "level": 2} for r in range(4) for c in range(6) if (r + c) % 2
        ],
        "courses": [{"id": "k0", "label": "Pump school", "hours": 8.0}],
        "outcomes": [{"course": "k0", "competency": "c0", "level": 2}],
    }
    return build_snapshot(**(tables | more))


def edit_records(state: Snapshot, table: str, edit: Callable[[Any], Any]) -> Snapshot:
    """Return a state with every record of a table put through an edit; None takes it out."""
    edited = {key: edit(record) for key, record in state.get_table(table).items()}
    return state.with_changes(
        put=[(table, record) for record in edited.values() if record is not None],
        remove=[
            (table, key) for key, record in edited.items() if record is None or TABLES[table].get_key(record) != key
        ],
    )


def renumber(state: Snapshot, table: str, ids: dict[str, str]) -> Snapshot:
    """Return a state in which records of a table have other ids, and all that names them follows."""
    put: list[tuple[str, Any]] = []
    remove: list[tuple[str, Any]] = []
    for name in TABLES:
        fields = get_reference_fields(name, table)
        for key, record in state.get_table(name).items():
            values: dict[str, Any] = {}
            if name == table and record.id in ids:
                values["id"] = ids[record.id]
            for attribute in fields:
                value = getattr(record, attribute)
                if value and is_referring(name, record, table, attribute):
                    values[attribute] = (
                        tuple(ids.get(one, one) for one in value) if isinstance(value, tuple) else ids.get(value, value)
                    )
            changed = dataclasses.replace(record, **values)
            if changed != record:
                remove.append((name, key))
                put.append((name, changed))
    return state.with_changes(put, remove)


def draw_framework(rng: random.Random) -> Snapshot:
    """Return a framework drawn at random: labels of few words, so that several are alike or equal."""
    n, m, k = rng.randint(2, 9), rng.randint(1, 5), rng.randint(0, 4)
    competencies = [
        {
            "id": f"c{i}",
            "label": f"{rng.choice(_VERBS)} {rng.choice(_WORDS)}",
            "scale": "s5",
            "broader": (f"c{rng.randrange(i)}",) if i and rng.random() < 0.5 else (),
            "alt_labels": (f"{rng.choice(_VERBS)} {rng.choice(_WORDS)}",) if rng.random() < 0.3 else (),
        }
        for i in range(n)
    ]
    pairs = [(r, c) for r in range(m) for c in range(n) if rng.random() < 0.4]
    taught = [(j, c) for j in range(k) for c in range(n) if rng.random() < 0.3]
    presumed = [(j, c) for j in range(k) for c in range(n) if (j, c) not in taught and rng.random() < 0.15]
    return build_snapshot(
        scales=build_scale(),
        competencies=competencies,
        roles=[
            {"id": f"r{i}", "label": rng.choice(_WORDS), "family": rng.choice(("", "Plant", "Network"))}
            for i in range(m)
        ],
        requirements=[{"role": f"r{r}", "competency": f"c{c}", "level": rng.randint(1, 5)} for r, c in pairs],
        courses=[{"id": f"k{i}", "label": f"{rng.choice(_WORDS)} course", "hours": 4.0} for i in range(k)],
        outcomes=[{"course": f"k{j}", "competency": f"c{c}", "level": 2} for j, c in taught],
        entry_conditions=[{"course": f"k{j}", "competency": f"c{c}", "level": 1} for j, c in presumed],
    )


def find_likely_slowly(before: Snapshot, after: Snapshot, pairs: Pairs) -> dict[tuple[str, str, str], float]:
    """Return (table, id, id) -> score as the rule says it: every score computed anew in every round."""
    found: dict[tuple[str, str, str], float] = {}
    while True:
        scores: dict[tuple[str, str, str], float] = {}
        for table in TOLD:
            for one in before.get_table(table):
                for other in after.get_table(table):
                    if one[0] not in pairs.forward[table] and other[0] not in pairs.back[table]:
                        score = _rate(before, after, pairs, table, one[0], other[0])
                        if score >= LEAST:
                            scores[table, one[0], other[0]] = score
        if not scores:
            return found
        won = [
            pair
            for pair, score in scores.items()
            if all(
                score > rival
                for other, rival in scores.items()
                if other != pair and other[0] == pair[0] and (other[1] == pair[1] or other[2] == pair[2])
            )
        ]
        for pair in won or [min(scores, key=lambda p: (-scores[p], TOLD.index(p[0]), p[1], p[2]))]:
            found[pair] = scores[pair]
            pairs.add(*pair)


def _rate(before: Snapshot, after: Snapshot, pairs: Pairs, table: str, one: str, other: str) -> float:
    label = rate_pair(before, after, table, one, other)
    here = {
        (word, name, pairs.forward[name][near] if name else near)
        for word, name, near in list_near(before, table, one)
        if not name or near in pairs.forward[name]
    }
    there = {
        (word, name, near)
        for word, name, near in list_near(after, table, other)
        if not name or near in pairs.back[name]
    }
    if not here | there:
        return round(label, 4)
    return round(0.7 * label + 0.3 * len(here & there) / len(here | there), 4)
