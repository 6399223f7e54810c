"""newel coverage, single-points-of-failure and staffing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from api import services
from api.commands import tables_of_teams
from api.commands.asking import answer, with_team
from api.commands.options import Ids


@click.command()
@with_team
def coverage(team: str, away: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show how many can do what the team must be able to do."""
    answer(store, as_json, lambda s: services.get_coverage(s, team, on=on, away=away), tables_of_teams.show_coverage)


@click.command("single-points-of-failure")
@with_team
def single_points(team: str, away: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show on whom alone something rests."""
    answer(
        store,
        as_json,
        lambda s: services.get_single_points_of_failure(s, team, on=on, away=away),
        tables_of_teams.show_single_points,
    )


@click.command()
@click.option(
    "--leaving", type=Ids("people"), default="", metavar="P1,P2", help="Show also what holds once they have left."
)
@with_team
def staffing(team: str, away: frozenset[str], leaving: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show who can fill the team's places at once, and how many absences it survives."""
    answer(
        store,
        as_json,
        lambda s: services.get_staffing(s, team, on=on, away=away, leaving=leaving),
        tables_of_teams.show_staffing,
    )


COMMANDS = (
    coverage,
    single_points,
    staffing,
)
