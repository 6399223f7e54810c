"""What pictures call a record: as every other face does, but where that is blank by its id."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from api.desk import names
from api.desk.plain_cells import line_up
from api.pictures.text import get_name
from ontology.analysis.profiles.belonging import get_person_on
from ontology.snapshot.names import get_place_name


class Names(names.Names):
    """The names of a Snapshot's records."""

    def get(self, table: str, record_id: str) -> str:
        """Return the label or name of a record of a table ("people"), or its id."""
        return get_name(super().get(table, record_id), record_id)

    def join(self, table: str, ids: Iterable[str]) -> str:
        """Return several names in a line."""
        return line_up([self.get(table, record_id) for record_id in ids])

    def shift(self, record_id: str | None) -> str:
        """Return a shift's label; empty for the whole team."""
        return super().shift(record_id) if record_id else ""

    def shift_on(self, person_id: str, on: date) -> str:
        """Return the label of the shift that someone is in on a day; "no shift" for none."""
        return self.shift(get_person_on(self.snapshot, person_id, on).shift) or "no shift"

    def place(self, record_id: str) -> str:
        """Return what people read for a place: where several of a team are alike, also its id."""
        return get_name(get_place_name(self.snapshot, record_id), record_id)
