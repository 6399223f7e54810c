"""newel schedule and development-plan."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, Final, TypeVar

import click

from api import services
from api.app import create_app
from api.commands import tables_of_plans
from api.commands.asking import answer, get_subject, with_common_options, with_person_and_role
from api.commands.options import Date, Named, get_graph_of_call, with_path_options
from api.pages.development_plan import render_plan_file
from api.services.plans import DEFAULT_AT_ONCE, CalendarWishes
from loaders.targets import write_beside
from ontology.errors import InputError

_F = TypeVar("_F", bound=Callable[..., Any])
_KINDS: Final = (".html", ".ics", ".xlsx")


class Dates(click.ParamType[Any]):
    """Days separated by commas."""

    name = "dates"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[date, ...]:
        """Return the days in order, or end with a usage error."""
        if isinstance(value, tuple):
            return value
        parts = [part.strip() for part in value.split(",") if part.strip()]
        return tuple(sorted({Date().convert(part, param, ctx) for part in parts}))


def with_calendar_options(command: _F) -> _F:
    """Add what a calendar may be asked: what its learning path may, and how it is spread over the weeks."""
    for option in (
        click.option("--start", type=Date(), help="First day of the plan (default: the day asked about)."),
        click.option("--study-hours-per-week", type=click.FloatRange(min=0.25, max=168),
                     help="Hours a week for learning (default: the person's own)."),
        click.option("--at-once", type=click.IntRange(min=1, max=20), default=DEFAULT_AT_ONCE, show_default=True,
                     help="Most courses that run on one day."),
        click.option("--holidays", type=Dates(), default="", metavar="D1,D2", help="Days without study."),
    ):  # fmt: skip
        command = option(command)
    return with_path_options(command)


@click.command()
@with_person_and_role("--role")
@with_calendar_options
@with_common_options
def schedule(
    ids: tuple[str, ...],
    from_role: str | None,
    role_named: str | None,
    on: date,
    as_json: bool,
    store: Path,
    **wishes: Any,
) -> None:
    """Show when to take which course on the way to a role."""
    person, role = get_subject(ids, from_role, role_named)
    calendar: CalendarWishes = wishes  # type: ignore[assignment]
    answer(
        store,
        as_json,
        lambda s: services.get_schedule(s, role, person_id=person, from_role_id=from_role, on=on, **calendar),
        tables_of_plans.show_schedule,
    )


@click.command("development-plan")
@click.argument("person", type=Named("people"))
@click.argument("role", type=Named("roles"))
@with_calendar_options
@click.option("--with-routes", is_flag=True, help="Look for ways through other roles where the move is too large.")
@click.option("--to", type=click.Path(path_type=Path, dir_okay=False), help="Write it to a .html, .ics or .xlsx file.")
@with_common_options
def development_plan(
    person: str,
    role: str,
    with_routes: bool,
    to: Path | None,
    on: date,
    as_json: bool,
    store: Path,
    **wishes: Any,
) -> None:
    """Show or write what a person takes to their manager: standing, gaps, courses with days, practice, follow-up."""
    calendar: CalendarWishes = wishes  # type: ignore[assignment]
    if to is None:
        answer(
            store,
            as_json,
            lambda s: services.get_development_plan(s, role, person, on=on, with_routes=with_routes, **calendar),
            tables_of_plans.show_development_plan,
        )
        return
    if to.suffix.lower() not in _KINDS:
        raise InputError(f"A plan is written to a file that ends with {', '.join(_KINDS)}, not to {to.name}.")
    graph = get_graph_of_call(store)
    snapshot = graph.get_snapshot()
    plan = services.find_development_plan(snapshot, role, person, on=on, **calendar)
    told = services.answer_development_plan(snapshot, plan, person, with_routes=with_routes, **calendar)
    if to.suffix.lower() == ".html":
        content = render_plan_file(create_app(graph), snapshot, plan, told).encode()
    elif to.suffix.lower() == ".ics":
        content = services.build_plan_calendar(snapshot, told)
    else:
        content = services.build_plan_workbook(snapshot, told)
    with write_beside(to) as temporary:
        temporary.write_bytes(content)
    click.echo(f"Written to {to}.")


COMMANDS = (
    schedule,
    development_plan,
)
