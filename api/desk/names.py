"""What people read for a record: its label or name. Whatever is shown is named here and nowhere else.

Reading a name never fails: an id without a record is shown as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Hashable, Iterable
from datetime import date
from typing import Final, TypeVar

from api.desk.bounded import find_kept
from api.desk.plain_cells import get_separator
from api.desk.sheet import Level, Ref, Refs
from ontology.analysis.profiles.belonging import get_person_on
from ontology.plurals import format_count
from ontology.snapshot.names import get_name, get_own_name, get_person_name
from ontology.snapshot.snapshot import Snapshot

_NAMED_IN_TEXTS: Final = ("people", "places", "competencies", "roles", "courses", "shifts", "teams")
#: What can be nothing but an id in a sentence: it has a digit, or words joined by hyphens.
_ID_IN_TEXT: Final = re.compile(r"(?<![\w-])(?=[\w-]*[\d-])[a-z][\w-]*\w(?![\w-])")

#: Sentences that are kept with their names put in: a team's remarks are the same on page after page.
_MOST_TOLD: Final = 2_000
_Kept = TypeVar("_Kept")

#: A number with its noun.
count: Final = format_count

#: A label with its id behind it, once the id is a name.
_TOLD_TWICE: Final = re.compile(r"(\S.*?) \(\1\)")


def amount(value: float) -> str:
    """Return a number as one writes it: thousands apart, two decimals at the most.

    Examples
    --------
    >>> amount(1234567.0), amount(2.25), amount(1 / 3), amount(40)
    ('1,234,567', '2.25', '0.33', '40')
    """
    return f"{value:,.2f}".rstrip("0").rstrip(".")


def join_names(names: Iterable[str]) -> str:
    """Return names as one would say them.

    Examples
    --------
    >>> join_names(["A"]), join_names(["A", "B", "C"]), join_names(["A, b", "C"])
    ('A', 'A, B and C', 'A, b; and C')
    """
    listed = list(names)
    between = get_separator(listed)
    last = " and " if between == ", " else "; and "
    return between.join(listed[:-1]) + last + listed[-1] if len(listed) > 1 else "".join(listed)


class Names:
    """The names of a Snapshot's records."""

    def __init__(self, snapshot: Snapshot) -> None:
        self.snapshot = snapshot
        self._known: dict[tuple[str, str], Ref] = snapshot.keep("names", dict)
        self._levels: dict[tuple[str, int | None], Level] = snapshot.keep("levels with their words", dict)

    def keep(self, key: Hashable, build: Callable[[], _Kept]) -> _Kept:
        """Return what is told with these names and kept as long as they are."""
        return self.snapshot.keep(key, build)

    def get(self, table: str, record_id: str) -> str:
        """Return what people read for an id of a table."""
        return (self._known.get((table, record_id)) or self._make(table, record_id)).name

    def _make(self, table: str, record_id: str) -> Ref:
        """Return a record as a cell, kept where it is one: an id that nobody has is somebody's text."""
        known = Ref(table, record_id, self._find(table, record_id))
        if known.name != record_id:
            self._known[table, record_id] = known
        return known

    def _find(self, table: str, record_id: str) -> str:
        if table in ("places", "sessions"):
            return self.place(record_id) if table == "places" else self.session(record_id)
        if table == "drafts":
            return record_id
        if table == "people":
            return get_person_name(self.snapshot, record_id)
        index = getattr(self.snapshot, table)
        if record_id not in index and self.snapshot.retired.has(table, record_id):
            return get_own_name(self.snapshot.retired.get_table(table)[record_id,])
        return get_name(index, record_id)

    def ref(self, table: str, record_id: str | None) -> Ref | None:
        """Return a record as a cell; None for None."""
        return None if record_id is None else self.refer(table, record_id)

    def refer(self, table: str, record_id: str) -> Ref:
        """Return a record as a cell."""
        return self._known.get((table, record_id)) or self._make(table, record_id)

    def refs(self, table: str, ids: Iterable[str], none: str = "–") -> Refs:
        """Return records as a cell."""
        known = self._known
        return Refs(tuple([known.get((table, one)) or self._make(table, one) for one in ids]), none)

    def person(self, record_id: str) -> str:
        """Return a person's name."""
        return self.get("people", record_id)

    def role(self, record_id: str) -> str:
        """Return a role's label."""
        return self.get("roles", record_id)

    def competency(self, record_id: str) -> str:
        """Return a competency's label."""
        return self.get("competencies", record_id)

    def course(self, record_id: str) -> str:
        """Return a course's label."""
        return self.get("courses", record_id)

    def team(self, record_id: str) -> str:
        """Return a team's label."""
        return self.get("teams", record_id)

    def shift(self, record_id: str) -> str:
        """Return a shift's label."""
        return self.get("shifts", record_id)

    def session(self, record_id: str) -> str:
        """Return what a session is called: its first day."""
        session = self.snapshot.sessions.get(record_id)
        return record_id if session is None else f"session of {session.from_date}"

    def place(self, record_id: str) -> str:
        """Return what a place is called: its role, and its shift where it has one."""
        place = self.snapshot.places.get(record_id)
        if place is None:
            return record_id
        label = str(getattr(place, "label", "") or "")
        return label or ", ".join(filter(None, (self.role(place.role), place.shift and self.shift(place.shift))))

    def shift_of(self, place_id: str) -> str | None:
        """Return the shift of a place; None where it is the team's."""
        place = self.snapshot.places.get(place_id)
        return (place.shift or None) if place is not None else None

    def has_role(self, person_id: str, role_id: str, on: date) -> bool:
        """Whether a role is the one that a person has on a day."""
        return person_id in self.snapshot.people and get_person_on(self.snapshot, person_id, on).role == role_id

    def is_certificate(self, competency_id: str) -> bool:
        """Whether a competency is a certificate."""
        competency = self.snapshot.competencies.get(competency_id)
        return competency is not None and competency.is_certificate

    def level(self, competency_id: str, rank: int | None) -> Level:
        """Return a level of a competency's scale with its word."""
        known = self._levels.get((competency_id, rank))
        if known is None:
            competency = self.snapshot.get_all("competencies").get((competency_id,))
            steps = self.snapshot.scales.get(competency.scale, ()) if competency is not None else ()
            known = Level(rank, next((step.label for step in steps if step.rank == rank), ""))
            self._levels[competency_id, rank] = known
        return known

    def put_in(self, text: str) -> str:
        """Return a sentence of an analysis with the names of the records whose ids it tells, each name once."""
        told: dict[str, str] = self.keep("sentences with names", dict)
        return find_kept(told, text, _MOST_TOLD, lambda: self._put_in(text))

    def _put_in(self, text: str) -> str:
        return _TOLD_TWICE.sub(r"\1", _ID_IN_TEXT.sub(lambda match: self._find_any(match[0]), text))

    def _find_any(self, record_id: str) -> str:
        known = (table for table in _NAMED_IN_TEXTS if record_id in getattr(self.snapshot, table))
        return next((self.get(table, record_id) for table in known), record_id)

    def need(self, competency_id: str, level: int, shift: str | None) -> str:
        """Return what a cover need is called."""
        where = f" ({self.shift(shift)})" if shift else ""
        return f"{self.competency(competency_id)} at level {level}{where}"
