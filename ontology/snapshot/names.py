"""What people read for an id: its label or name; a place without one is its role and shift.

Every face names records through this module, so that terminal, pages and pictures say the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, cast

from ontology.model.columns import Key
from ontology.model.folding import fold, split_words
from ontology.model.records import Person
from ontology.model.tables import TABLES
from ontology.snapshot.snapshot import Snapshot


def get_name(index: Mapping[str, Any], record_id: str) -> str:
    """Return the label or name of a record of an index (`snapshot.roles`), or the id itself where it has none.

    Places are named by `get_place_name`: theirs may hang on other records.
    """
    record = index.get(record_id)
    if record is None:
        return record_id
    return get_own_name(record) or record_id


def get_person_name(snapshot: Snapshot, person_id: str) -> str:
    """Return a person's name; where a state is seen in part, "someone" for whom it does not tell of."""
    person = snapshot.people.get(person_id)
    if person is not None:
        return person.name or person_id
    also_named = snapshot.also_named
    return person_id if also_named is None else also_named.get(person_id, "someone")


def keep_name_alone(person: Person) -> Person:
    """Return a person's record with id and name and nothing else: hours are not told, which is not none of them."""
    hours = cast(float, None)
    return Person(person.id, person.name, "", "", "", study_hours_per_week=hours, start_date=None, end_date=None)


def list_told_names(snapshot: Snapshot, tables: Mapping[str, Mapping[Key, Any]]) -> dict[str, str]:
    """Return id -> name of everyone whom records that may be seen name: who assessed, supervised. O(values)."""
    people = snapshot.people
    told: dict[str, str] = {}
    for name, rows in tables.items():
        fields = [column.attribute for column in TABLES[name].columns if column.attribute != "id"]
        for record in rows.values():
            for field in fields:
                value = getattr(record, field)
                if isinstance(value, str) and value in people:
                    told[value] = people[value].name
    return told


def get_own_name(record: Any) -> str:
    """Return the label or name that a record has; "" where it has none."""
    return str(getattr(record, "label", None) or getattr(record, "name", None) or "")


def get_framework_name(snapshot: Snapshot, own_id: str) -> str:
    """Return what a framework is called: its own title, or the id it stands under where it has none."""
    framework = snapshot.framework.get("this")
    return framework.title if framework is not None else own_id


def get_place_name(snapshot: Snapshot, place_id: str) -> str:
    """Return what people read for a place: its label, else its role and shift: "Process operator, Night crew".

    Places of a team that share role and shift have their id behind it. An id that no place has comes back as it is.
    O(places of the team).
    """
    place = snapshot.places.get(place_id)
    if place is None or place.label:
        return place.label if place else place_id
    name = get_name(snapshot.roles, place.role)
    if place.shift:
        name += f", {get_name(snapshot.shifts, place.shift)}"
    alike = (p for p in snapshot.get_places(place.team) if (p.role, p.shift, p.label) == (place.role, place.shift, ""))
    return f"{name} ({place_id})" if sum(1 for _ in alike) > 1 else name


def sort_people(people: Mapping[str, Person], ids: Iterable[str]) -> list[str]:
    """Return ids of people in the order of their names, then of ids; an id without a record by itself."""
    return sorted(ids, key=lambda one: (fold(get_name(people, one)), one))


def is_called(person: Person, words: Iterable[str]) -> bool:
    """Whether each of these words begins one of a person's name."""
    own = split_words(person.name)
    return all(any(word.startswith(part) for word in own) for part in words)


def is_name_of(person: Person, text: str) -> bool:
    """Whether a text is a person's name or id, as people write it."""
    return fold(text) in {fold(person.id), fold(person.name)}
