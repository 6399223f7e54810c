"""What sheets and calendar files of newcomers' plans share: how an item stands, and its event."""

from __future__ import annotations

import datetime as dt
from typing import Final

from api.desk.names import Names
from api.desk.sheet import State
from api.questions import _cautions as cautions
from loaders.calendar_file import CalendarEvent
from ontology.analysis.orientation.open_orientation import OpenItem
from ontology.analysis.orientation.orientation import OrientationRow
from ontology.snapshot.snapshot import Snapshot

_STATES: Final = {
    "done": ("done", "it was done on the day told"),
    "overdue": ("overdue", "its day has passed"),
    "due": ("due", "its day comes within 7 days"),
    "later": ("later", "its day is more than 7 days ahead"),
}


def show_item_state(code: str) -> State:
    """Return how an item stands."""
    return State(code, *_STATES[code])


def name_owner(owner: str, names: Names) -> str:
    """Return who sees to an item: the name where an id stands, else the text itself."""
    return names.person(owner) if owner else "nobody named"


def name_kind(*, is_change_of_role: bool) -> str:
    """Return what the first day of a plan is."""
    return "change of role" if is_change_of_role else "first day"


def build_item_event(owner: str, row: OrientationRow | OpenItem, *, summary: str, about: str = "") -> CalendarEvent:
    """Return the event of an open item; `owner` tells the plan it is of from all others."""
    before = "Before work begins." if row.before_work else ""
    return CalendarEvent(
        key=f"{owner}/{row.item}",
        first_day=row.due,
        last_day=row.due,
        summary=summary,
        description="\n".join(filter(None, (about, before, cautions.NO_GRADE))),
        category="Orientation",
    )


def tell_plan(snapshot: Snapshot, person_id: str, start: dt.date) -> str:
    """Return what tells the plan of a start from all others."""
    return f"{snapshot.store_id}/{person_id}/orientation/{start}"
