"""Of which kind every table is in the table of rights."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from api.access.rights import Kind

__all__ = ["TABLE_KINDS", "get_record_kind"]

#: Records of these tables name a person or a team by the columns "person" and "team", or are one.
TABLE_KINDS: Final[Mapping[str, Kind]] = {
    **dict.fromkeys(
        (
            *("framework", "scales", "competencies", "roles", "requirements", "equivalences", "mappings"),
            "obligations",
            *("courses", "outcomes", "entry_conditions", "sessions", "sites", "orientation_items", "replacements"),
            "level_maps",
            "translations",
        ),
        Kind.FRAMEWORK,
    ),
    **dict.fromkeys(("teams", "shifts"), Kind.TEAMS),
    **dict.fromkeys(("cover_needs", "places"), Kind.COVER_NEEDS),
    "people": Kind.PERSON,
    # what days someone is where, as the lead of their team says it
    **dict.fromkeys(("absences", "memberships", "duties", "bookings", "orientation_done", "assessors"), Kind.ABSENCES),
    **dict.fromkeys(("assessments", "appointments", "practices", "agreed_plans", "agreed_courses"), Kind.ASSESSMENTS),
    # a wish for a course is its person's own, as an own rating is
    "requests": Kind.OWN_RATINGS,
}
#: What a person says of themselves.
_OWN: Final = "self"


def get_record_kind(table: str, record: Any) -> Kind:
    """Return of which kind a record is.

    What someone says of their own levels is theirs, whoever else assessed them; a translation is what it speaks of is.
    """
    if table == "translations":
        return TABLE_KINDS.get(record.table, Kind.FRAMEWORK)
    return Kind.OWN_RATINGS if table == "assessments" and record.source == _OWN else TABLE_KINDS[table]
