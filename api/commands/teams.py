"""newel coverage, single-points-of-failure, staffing and cross-training."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from api import services
from api.commands import tables_of_teams
from api.commands.asking import answer, with_team


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
@with_team
def staffing(team: str, away: frozenset[str], on: date, as_json: bool, store: Path) -> None:
    """Show who can fill the team's places at once, and how many absences it survives."""
    answer(store, as_json, lambda s: services.get_staffing(s, team, on=on, away=away), tables_of_teams.show_staffing)


@click.command("cross-training")
@click.option("--hours-limit", type=click.FloatRange(min=0), help="Hours a person may study.")
@click.option("--tolerance", type=click.IntRange(min=0), help="Absences the team must survive.")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_team
def cross_training(
    team: str,
    away: frozenset[str],
    hours_limit: float | None,
    tolerance: int | None,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Plan who should learn what so that every need reaches its target."""
    answer(
        store,
        as_json,
        lambda s: services.get_cross_training(
            s, team, on=on, away=away, hours_limit=hours_limit, tolerance=tolerance, time_limit_s=time_limit
        ),
        tables_of_teams.show_cross_training,
    )


COMMANDS = (
    coverage,
    single_points,
    staffing,
    cross_training,
)
