"""Whether who loads tables may store, and be shown, what they hold of people: that needs a purpose for their teams."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from api.access.check import decide
from api.access.rights import Kind, Verb
from api.access.sight import Sight
from loaders.report import LoadReport
from ontology.model.tables import PERSONAL_TABLES

_NO_PURPOSE: Final = "These tables are about people: state first for which team, and what for."
_OF_OTHERS: Final = "These tables name people of teams for which no purpose is stated: nothing is shown or stored."


def find_closed(sight: Sight | None, reports: Iterator[LoadReport]) -> str:
    """Return why a load may not be looked at by who sent it; "" where it may.

    Whoever is new is of no team yet: to bring them in, a purpose for any team is enough.
    """
    if sight is None or sight.actor.is_owner:
        return ""
    of_people = [report for report in reports if report.holds_people]
    if not of_people:
        return ""
    if not sight.actor.purposes:
        return _NO_PURPOSE
    named = {person for report in of_people for person in _iterate_people(sight, report)}
    known = named & sight.present.people.keys()
    may = (decide(sight.actor, sight.build_right(Kind.LOAD_PEOPLE, Verb.CHANGE, person=one)) for one in sorted(known))
    return "" if all(extent == "rows" for extent in may) else _OF_OTHERS


def _iterate_people(sight: Sight, report: LoadReport) -> Iterator[str]:
    for table, change in report.changes.items():
        if table in PERSONAL_TABLES:
            for key in (*change.new, *change.changed):
                yield sight.get_person_of_key(table, key)
