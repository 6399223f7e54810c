"""Who leads a team, as accounts say: told by name to who would borrow from it, also where they may not see them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from sqlalchemy import select

from api.access.actor import Lead, Role
from api.access.database import Database
from api.access.sight import find_teams_below
from api.access.tables import ACCOUNTS, GRANTS
from ontology.snapshot.names import get_person_name
from ontology.snapshot.snapshot import Snapshot

__all__ = ["Leads"]


class Leads:
    """The leads of a database."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def find(self, snapshot: Snapshot) -> Mapping[str, tuple[Lead, ...]]:
        """Return team -> who leads it, by name: that of their person, or of an account that is nobody's.

        Notes
        -----
        O(leads x teams below theirs); of a team that nobody leads there is nothing.
        """
        led = select(ACCOUNTS.c.name, ACCOUNTS.c.person, GRANTS.c.team, GRANTS.c.with_below)
        led = led.join(GRANTS, GRANTS.c.account == ACCOUNTS.c.number)
        led = led.where(GRANTS.c.role == Role.LEAD.value, ACCOUNTS.c.ended_at.is_(None))
        found: defaultdict[str, set[Lead]] = defaultdict(set)
        for row in self._database.ask(led):
            is_known = row.person in snapshot.people
            lead = Lead(get_person_name(snapshot, row.person) if is_known else row.name, row.person if is_known else "")
            for team in find_teams_below(snapshot, [row.team]) if row.with_below else {row.team}:
                found[team].add(lead)
        return {team: tuple(sorted(leads)) for team, leads in found.items()}
