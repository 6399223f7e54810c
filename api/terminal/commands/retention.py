"""Let go of what about people was kept for long enough, as the settings say; what went stays known by counts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from api.terminal.options import get_settings, open_graph, store_option
from api.terminal.who import get_who
from ontology.plurals import format_count

if TYPE_CHECKING:
    from api.access.retention import RetentionPlan

_LOCKED = "A server does it each day where retention_daily is 1; or stop it first."


@click.command("retention", help=__doc__)
@click.option("--dry-run", is_flag=True, help="Tell what would go, and let nothing go.")
@store_option
def run(dry_run: bool, store: Path) -> None:
    """Let go, or tell what would go."""
    from api.access.database import Database, find_database
    from api.access.retention import carry_out_retention, plan_retention

    settings, today = get_settings({}), dt.datetime.now(dt.UTC).date()
    with open_graph(store, if_locked=_LOCKED) as graph:
        database = Database(find_database(store))
        if dry_run:
            plan = plan_retention(graph, database, settings, today)
        else:
            plan = carry_out_retention(graph, database, settings, today, get_who())
    if plan.is_empty:
        click.echo("Nothing was kept for long enough to go.")
        return
    click.echo("Would go:" if dry_run else "Gone:")
    for line in _tell(plan):
        click.echo(f"  {line}")


def _tell(plan: RetentionPlan) -> Iterator[str]:
    if plan.overdue.people:
        told = format_count(len(plan.overdue.people), "person who left", "people who left")
        yield f"{told}: {', '.join(plan.overdue.people)}"
    if plan.overdue.assessments:
        years = ", ".join(f"{n:,} of {year}" for year, n in plan.years)
        what = "assessment that has long ceased to count", "assessments that have long ceased to count"
        yield f"{format_count(len(plan.overdue.assessments), *what)}: {years}"
    if plan.looks:
        yield format_count(plan.looks, "look at a person", "looks at people")
    if plan.tries:
        yield format_count(plan.tries, "try to sign in that failed", "tries to sign in that failed")
