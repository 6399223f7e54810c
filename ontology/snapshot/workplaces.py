"""Which teams stand above a team, and at which site it works."""

from __future__ import annotations

from ontology.snapshot.snapshot import Snapshot


def get_teams_above(snapshot: Snapshot, team_id: str) -> tuple[str, ...]:
    """Return a team's id and those of the teams it is part of, upwards; () for no team. O(height)."""
    found: dict[str, None] = {}
    while team_id and team_id not in found and team_id in snapshot.teams:  # a circle is a finding, not a hang
        found[team_id] = None
        team_id = snapshot.teams[team_id].part_of
    return tuple(found)


def get_site_of_team(snapshot: Snapshot, team_id: str) -> str:
    """Return the id of the site a team works at: its own, else that of the team it is part of, upwards; "" for none."""
    return next((site for i in get_teams_above(snapshot, team_id) if (site := snapshot.teams[i].site)), "")
