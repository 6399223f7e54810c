"""A changed copy of a framework as large as ESCO: 40 edits of eleven kinds by a fixed seed, and what each comes to."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import Any

from ontology.snapshot.snapshot import Snapshot

__all__ = ["EDITS", "EditedFramework", "Records", "edit_framework"]

#: Records by table and key.
Records = dict[str, dict[Any, Any]]
#: Where a record that is new stands elsewhere: an address that nothing of the first state has.
NEW_IRI = "http://data.europa.eu/esco/skill/"

TABLES = ("scales", "competencies", "roles", "requirements")
#: Kind of edit -> how many.
EDITS = {
    "new id": 5,
    "new id and label": 4,
    "moved": 5,
    "split": 3,
    "merged": 3,
    "necessity": 5,
    "family": 4,
    "definition": 4,
    "other names": 3,
    "removed": 2,
    "added": 2,
}


@dataclass
class EditedFramework:
    """The copy as records by table, and what a comparison must find: nothing else.

    `columns` holds (table, id, column) of changed records, `same` pairs of ids, `split` and `merged` ids by the whole.
    """

    records: Records
    columns: set[tuple[str, str, str]] = field(default_factory=set)
    same: set[tuple[str, str]] = field(default_factory=set)
    split: dict[str, tuple[str, ...]] = field(default_factory=dict)
    merged: dict[tuple[str, ...], str] = field(default_factory=dict)
    removed: set[str] = field(default_factory=set)
    added: set[str] = field(default_factory=set)


def edit_framework(state: Snapshot, seed: int = 16) -> EditedFramework:
    """Return a copy with all edits, each of another record; new ids name another concept, so labels count."""
    rng = random.Random(seed)
    copy = EditedFramework({name: dict(state.get_table(name)) for name in TABLES})
    free = _choose(state, rng)
    for _ in range(EDITS["new id"]):
        _renumber(copy, state, free.pop(), "")
    for _ in range(EDITS["new id and label"]):
        _renumber(copy, state, free.pop(), "s")
    for _ in range(EDITS["split"]):
        _split(copy, state, free.pop())
    for _ in range(EDITS["merged"]):
        _merge(copy, state, free.pop(), free.pop())
    tops = sorted(key[0] for key, one in state.get_table("competencies").items() if state.get_narrower(key[0]))
    for _ in range(EDITS["moved"]):
        one = free.pop()
        target = next(top for top in rng.sample(tops, 9) if top not in (one, *state.competencies[one].broader))
        _put(copy, "competencies", one, broader=(target,))
    for _ in range(EDITS["definition"]):
        one = free.pop()
        _put(copy, "competencies", one, definition=state.competencies[one].definition + " (revised)")
    for _ in range(EDITS["other names"]):
        one = free.pop()
        _put(copy, "competencies", one, alt_labels=(*state.competencies[one].alt_labels, f"also {one}"))
    roles = rng.sample(sorted(state.roles), EDITS["family"] + EDITS["necessity"])
    for role in roles[: EDITS["family"]]:
        _put(copy, "roles", role, family="A family of our own")
    for role in roles[EDITS["family"] :]:
        left = copy.records["requirements"]
        asked = next(one for one in state.get_requirements(role) if (role, one.competency) in left)
        other = "desirable" if asked.necessity == "essential" else "essential"
        copy.records["requirements"][role, asked.competency] = replace(asked, necessity=other)
        copy.columns.add(("requirements", f"{role}~{asked.competency}", "necessity"))
    for _ in range(EDITS["removed"]):
        one = free.pop()
        _take_out(copy, state, one)
        copy.removed.add(one)
    for n in range(EDITS["added"]):
        new = replace(state.competencies[free.pop()], id=f"added-{n}", label=f"zzyzx {n}", broader=(), alt_labels=())
        _add(copy, new, [])
        copy.added.add(new.id)
    return copy


def _choose(state: Snapshot, rng: random.Random) -> list[str]:
    """Return competencies that 4 to 12 roles ask and nothing is below, no two of a role, with a label of their own."""
    labels: defaultdict[str, int] = defaultdict(int)
    for one in state.competencies.values():
        labels[one.label.casefold()] += 1
    found, taken = [], set[str]()
    ids = sorted(state.competencies)
    rng.shuffle(ids)
    for one in ids:
        roles = {asked.role for asked in state.get_requirements_of_competency(one)}
        is_alone = labels[state.competencies[one].label.casefold()] == 1 and not roles & taken
        if 4 <= len(roles) <= 12 and is_alone and not state.get_narrower(one):
            found.append(one)
            taken |= roles
    return found


def _put(copy: EditedFramework, table: str, one: str, **values: Any) -> None:
    copy.records[table][one,] = replace(copy.records[table][one,], **values)
    copy.columns |= {(table, one, column) for column in values}


def _take_out(copy: EditedFramework, state: Snapshot, one: str) -> list[Any]:
    """Take a competency out with what asks it; return that."""
    del copy.records["competencies"][one,]
    asked = list(state.get_requirements_of_competency(one))
    for requirement in asked:
        del copy.records["requirements"][requirement.role, one]
    return asked


def _add(copy: EditedFramework, record: Any, asked: list[Any]) -> None:
    copy.records["competencies"][record.id,] = replace(record, exact_match=(NEW_IRI + record.id,))
    for requirement in asked:
        copy.records["requirements"][requirement.role, record.id] = replace(requirement, competency=record.id)


def _renumber(copy: EditedFramework, state: Snapshot, one: str, ending: str) -> None:
    record = state.competencies[one]
    label = record.label + ending
    others = tuple(name for name in record.alt_labels if name != label)
    new = replace(record, id=f"new-{one}", label=label, alt_labels=others)
    _add(copy, new, _take_out(copy, state, one))
    copy.same.add((one, new.id))


def _split(copy: EditedFramework, state: Snapshot, one: str) -> None:
    record, asked = state.competencies[one], _take_out(copy, state, one)
    halves = asked[: len(asked) // 2], asked[len(asked) // 2 :]
    ids = tuple(f"part-{n}-{one}" for n in range(2))
    for part, word, half in zip(ids, ("qqq", "xxx"), halves, strict=True):
        _add(copy, replace(record, id=part, label=f"{word} {word}", alt_labels=(), broader=()), half)
    copy.split[one] = ids


def _merge(copy: EditedFramework, state: Snapshot, one: str, other: str) -> None:
    record = replace(state.competencies[one], id=f"whole-{one}", label="jjj kkk", alt_labels=())
    asked = [*_take_out(copy, state, one), *_take_out(copy, state, other)]
    _add(copy, replace(record, broader=()), asked)
    copy.merged[tuple(sorted((one, other)))] = record.id
