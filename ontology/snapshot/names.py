"""What people read for an id: its label or name; a place without one is its role and shift. Imports snapshot.

Every face names records through this module, so that terminal, pages and pictures say the same.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ontology.snapshot.snapshot import Snapshot


def get_name(index: Mapping[str, Any], record_id: str) -> str:
    """Return the label or name of a record of an index (`snapshot.roles`), or the id itself where it has none.

    Places are named by `get_place_name`: theirs may hang on other records.
    """
    record = index.get(record_id)
    if record is None:
        return record_id
    return str(getattr(record, "label", None) or getattr(record, "name", record_id))


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
