"""Who leads the teams that an answer speaks of, told by name."""

from __future__ import annotations

from typing import Any

from api.access.sight import Sight
from api.desk.question import NameLeads


def name_leads(name: NameLeads, result: Any, sight: Sight) -> tuple[Any, frozenset[str]]:
    """Return a result that says who leads the teams it speaks of, and which people these are."""
    told: set[str] = set()

    def find(team: str) -> tuple[str, ...]:
        leads = sight.leads.get(team, ())
        told.update(one.person for one in leads)
        return tuple(one.name for one in leads)

    return name(result, find), frozenset(told - {""})
