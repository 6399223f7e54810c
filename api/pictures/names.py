"""What pictures call a record: as every other face does, but where that is blank by its id. Imports text, snapshot."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from api.pictures.text import get_name
from ontology.analysis.profiles.belonging import get_person_on
from ontology.snapshot import names
from ontology.snapshot.snapshot import Snapshot


class Names:
    """The names of a Snapshot's records."""

    def __init__(self, snapshot: Snapshot) -> None:
        self.snapshot = snapshot

    def get(self, table: str, record_id: str) -> str:
        """Return the label or name of a record of a table ("people"), or its id."""
        if table == "people":
            return get_name(names.get_person_name(self.snapshot, record_id), record_id)
        return get_name(names.get_name(getattr(self.snapshot, table), record_id), record_id)

    def join(self, table: str, ids: Iterable[str]) -> str:
        """Return several names, with commas."""
        return ", ".join(self.get(table, record_id) for record_id in ids)

    def person(self, record_id: str) -> str:
        """Return a person's name."""
        return self.get("people", record_id)

    def competency(self, record_id: str) -> str:
        """Return a competency's label."""
        return self.get("competencies", record_id)

    def course(self, record_id: str) -> str:
        """Return a course's label."""
        return self.get("courses", record_id)

    def role(self, record_id: str) -> str:
        """Return a role's label."""
        return self.get("roles", record_id)

    def shift(self, record_id: str | None) -> str:
        """Return a shift's label; empty for the whole team."""
        return self.get("shifts", record_id) if record_id else ""

    def shift_on(self, person_id: str, on: date) -> str:
        """Return the label of the shift that someone is in on a day; "no shift" for none."""
        return self.shift(get_person_on(self.snapshot, person_id, on).shift) or "no shift"

    def place(self, record_id: str) -> str:
        """Return what people read for a place."""
        return get_name(names.get_place_name(self.snapshot, record_id), record_id)
