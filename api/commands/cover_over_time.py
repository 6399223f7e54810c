"""newel coverage-timeline, stand-ins, fragile-needs, headcount and company-cover."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from api.commands import tables_of_cover, tables_of_timeline
from api.commands.asking import answer, with_common_options, with_team
from api.commands.options import Date, Ids, Named
from api.services import cover_over_time as services
from ontology.analysis.cover.fragile_needs import ORDERS
from ontology.analysis.places.headcount import LONGEST_YEAR_HOURS, SHIFT_PATTERNS

_RATE = click.FloatRange(0, 1)
_RATE_HELP = "Share of days someone is away, one figure for a whole team (default: the team's own)."


@click.command("coverage-timeline")
@click.option("--from", "from_date", type=Date(), help="The first day told (default: the day asked about).")
@click.option("--until", type=Date(), help="The last day told.")
@click.option("--weeks", type=click.IntRange(1, 520), help=f"Weeks told; default: {services.DEFAULT_WEEKS}.")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_team
def coverage_timeline(
    team: str,
    away: frozenset[str],
    from_date: date | None,
    until: date | None,
    weeks: int | None,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show how the team's cover changes, and the last day to act on every hole."""
    if until is not None and weeks is not None:
        raise click.UsageError("Give --until or --weeks, not both.")
    answer(
        store,
        as_json,
        lambda s: services.get_coverage_timeline(
            s,
            team,
            on=on,
            from_date=from_date,
            until=until,
            weeks=weeks or services.DEFAULT_WEEKS,
            away=away,
            time_limit_s=time_limit,
        ),
        tables_of_timeline.show_timeline,
    )


@click.command("stand-ins")
@click.option("--person", type=Named("people"), metavar="PERSON", help="The member to stand in for.")
@click.option(
    "--competency", type=Named("competencies"), metavar="COMPETENCY", help="Instead of a person: the need's competency."
)
@click.option("--level", type=click.IntRange(min=1), help="With a competency: only needs at this level.")
@click.option("--limit", type=click.IntRange(1, 1000), default=services.DEFAULT_STAND_INS, show_default=True)
@with_team
def stand_ins(
    team: str,
    away: frozenset[str],
    person: str | None,
    competency: str | None,
    level: int | None,
    limit: int,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show who can stand in for a member, or for a need: own team first, then other teams."""
    if (person is None) == (competency is None):
        raise click.UsageError("Give --person or --competency.")
    answer(
        store,
        as_json,
        lambda s: services.get_stand_ins(
            s, team, on=on, person=person, competency=competency, level=level, away=away, limit=limit
        ),
        tables_of_cover.show_stand_ins,
    )


@click.command("fragile-needs")
@click.option("--absence-rate", type=_RATE, help=_RATE_HELP)
@click.option("--order-by", type=click.Choice(ORDERS), default="criticality", show_default=True)
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_team
def fragile_needs(
    team: str,
    away: frozenset[str],
    absence_rate: float | None,
    order_by: Any,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the team's needs, the most fragile first."""
    answer(
        store,
        as_json,
        lambda s: services.get_fragile_needs(
            s, team, on=on, away=away, absence_rate=absence_rate, order_by=order_by, time_limit_s=time_limit
        ),
        tables_of_cover.show_fragile_needs,
    )


@click.command()
@click.option(
    "--net-hours",
    type=click.FloatRange(1, LONGEST_YEAR_HOURS),
    required=True,
    help="Hours a year one person works, after leave, training and absence.",
)
@click.option(
    "--manned-hours",
    type=click.FloatRange(0, LONGEST_YEAR_HOURS),
    help="Hours a year for needs and places that tell none of their own.",
)
@click.option(
    "--shifts",
    type=click.Choice(SHIFT_PATTERNS),
    default="in-turn",
    show_default=True,
    help="Whether the shifts share the hours, or each works all of them.",
)
@with_team
def headcount(
    team: str,
    away: frozenset[str],
    net_hours: float,
    manned_hours: float | None,
    shifts: Any,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show how many people needs and places take in a year, and how many are qualified."""
    answer(
        store,
        as_json,
        lambda s: services.get_headcount(
            s, team, on=on, net_hours=net_hours, manned_hours=manned_hours, shifts=shifts, away=away
        ),
        tables_of_cover.show_headcount,
    )


@click.command("company-cover")
@click.option("--away", type=Ids("people"), default="", metavar="P1,P2", help="Suppose these people are away.")
@click.option("--absence-rate", type=_RATE, help=_RATE_HELP)
@click.option("--limit", type=click.IntRange(1, 200), default=services.DEFAULT_COMPANY_NEEDS, show_default=True)
@click.option(
    "--within-hours",
    type=click.FloatRange(min=0),
    default=services.DEFAULT_WITHIN_HOURS,
    show_default=True,
    help="Tell people elsewhere within so many hours of learning too.",
)
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_common_options
def company_cover(
    away: frozenset[str],
    absence_rate: float | None,
    limit: int,
    within_hours: float,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
) -> None:
    """Show the most fragile needs of all teams, and who could lend to whom."""
    answer(
        store,
        as_json,
        lambda s: services.get_company_cover(
            s,
            on=on,
            away=away,
            absence_rate=absence_rate,
            limit=limit,
            within_hours=within_hours,
            time_limit_s=time_limit,
        ),
        tables_of_cover.show_company_cover,
    )


COMMANDS = (coverage_timeline, stand_ins, fragile_needs, headcount, company_cover)
