"""A copy of a framework in which many records have another id and another address, and a label that may differ."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import Any

from ontology.snapshot.snapshot import Snapshot

__all__ = ["Renumbered", "renumber_many", "weigh"]

#: What is new stands elsewhere than anything of the first state.
NEW_IRI = "http://data.europa.eu/esco/renumbered/"
#: Of the new ids so many have a label that is written differently; so many requirements go, or come, by chance.
RELABELLED = 0.4
CHANCE = 0.05


@dataclass(frozen=True)
class Renumbered:
    """The copy, and the pairs (table, id before, id after) that are the same."""

    state: Snapshot
    same: set[tuple[str, str, str]]


def renumber_many(state: Snapshot, n_competencies: int, n_roles: int, n_gone: int, seed: int = 16) -> Renumbered:
    """Return a copy: so many have new ids, so many competencies are gone, as many others moved elsewhere."""
    rng = random.Random(seed)
    competencies = rng.sample(sorted(state.competencies), n_competencies + 2 * n_gone)
    gone = set(competencies[n_competencies : n_competencies + n_gone])
    moved = set(competencies[n_competencies + n_gone :])
    ids = {
        "competencies": {one: f"new-{n}" for n, one in enumerate(competencies[:n_competencies])},
        "roles": {one: f"9999.{n}" for n, one in enumerate(rng.sample(sorted(state.roles), n_roles))},
    }
    tops = sorted(one for one in state.competencies if state.get_narrower(one) and one not in gone)
    records: dict[str, list[Any]] = {"scales": list(state.get_table("scales").values())}
    for table, renamed in ids.items():
        records[table] = []
        for (one,), record in state.get_table(table).items():
            if one in gone:
                continue
            values: dict[str, Any] = {}
            if table == "competencies":
                above = (rng.choice(tops),) if one in moved else record.broader
                values["broader"] = tuple(renamed.get(up, up) for up in above if up not in gone and up != one)
            if one in renamed:
                label = _write_differently(rng, record.label) if rng.random() < RELABELLED else record.label
                values |= {"id": renamed[one], "label": label, "exact_match": (NEW_IRI + renamed[one],)}
            records[table].append(replace(record, **values))
    records["requirements"] = _renumber_requirements(rng, state, ids, gone)
    same = {(table, one, other) for table, renamed in ids.items() for one, other in renamed.items()}
    return Renumbered(Snapshot(records, store_id="renumbered"), same)


def _renumber_requirements(
    rng: random.Random, state: Snapshot, ids: dict[str, dict[str, str]], gone: set[str]
) -> list[Any]:
    found = {}
    left = sorted(set(state.competencies) - gone)
    for asked in state.get_table("requirements").values():
        chance = rng.random()
        if asked.competency in gone or chance < CHANCE:
            continue
        competency = rng.choice(left) if chance < 2 * CHANCE else asked.competency
        role = ids["roles"].get(asked.role, asked.role)
        meant = replace(asked, role=role, competency=ids["competencies"].get(competency, competency))
        found[meant.role, meant.competency] = meant
    return list(found.values())


def _write_differently(rng: random.Random, label: str) -> str:
    """Return a label in another case, with other punctuation, an ending more, or two words in another order."""
    words = label.split()
    at = rng.randrange(max(1, len(words) - 1))
    words[at : at + 2] = reversed(words[at : at + 2])
    return rng.choice([label.upper(), label.replace(" ", "-", 1), f"{label}.", f"{label}s", " ".join(words)])


def weigh(found: set[tuple[str, str, str]], same: set[tuple[str, str, str]]) -> tuple[float, float]:
    """Return precision and recall of pairs that were found."""
    right = len(found & same)
    return right / max(1, len(found)), right / len(same)
