"""newel cross-training and training-timetable."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from api import services
from api.commands import tables_of_training
from api.commands.asking import answer, with_team
from api.commands.options import Date, Ids, get_graph_of_call
from loaders.targets import write_beside

_F = TypeVar("_F", bound=Callable[..., Any])

_OPTIONS = (
    click.option("--hours-limit", type=click.FloatRange(min=0), help="Hours a person may study."),
    click.option(
        "--holes",
        type=click.Choice(["needs", "places", "all"]),
        default="all",
        show_default=True,
        help="What is closed: needs below their target, empty slots of places and groups, or both.",
    ),
    click.option("--tolerance", type=click.IntRange(min=0), help="Absences the team must survive."),
    click.option("--weigh-criticality", is_flag=True, help="Missing people weigh the need's criticality."),
    click.option("--exclude-people", type=Ids("people"), default="", metavar="P1,P2", help="People who do not learn."),
    click.option(
        "--exclude-courses", type=Ids("courses"), default="", metavar="C1,C2", help="Courses that are not used."
    ),
    click.option("--by", type=Date(), help="Last day of every course."),
    click.option("--fair", is_flag=True, help="Keep the largest load of one person small first."),
    click.option("--with-coach", is_flag=True, help="Use coached courses only where somebody could coach."),
    click.option(
        "--lending-teams", type=Ids("teams"), default="", metavar="T1,T2", help="Teams whose people may coach."
    ),
    click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most."),
)


def with_plan_options(command: _F) -> _F:
    """Add the options of a plan."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return with_team(command)


@click.command("cross-training")
@with_plan_options
def cross_training(team: str, time_limit: float | None, as_json: bool, store: Path, **question: Any) -> None:
    """Plan who should learn what so that every need reaches its target and every slot is filled."""
    answer(
        store,
        as_json,
        lambda s: services.get_cross_training(s, team, time_limit_s=time_limit, **question),
        tables_of_training.show_cross_training,
    )


@click.command("training-timetable")
@click.option("--show", type=click.Choice(["needs", "jobs", "all"]), default="needs", help="What stands down.")
@click.option("--due", type=click.Choice(["day", "month-end"]), default="day", help="Which day a date is.")
@click.option("--workbook", type=click.Path(dir_okay=False, path_type=Path), help="Write it as a workbook instead.")
@click.option(
    "--calendar", type=click.Path(dir_okay=False, path_type=Path), help="Write its courses as a calendar file."
)
@with_plan_options
def training_timetable(
    team: str,
    time_limit: float | None,
    workbook: Path | None,
    calendar: Path | None,
    as_json: bool,
    store: Path,
    **question: Any,
) -> None:
    """Show who holds what, and who is to hold it until when: people across, needs or jobs down."""
    if workbook is None and calendar is None:
        answer(
            store,
            as_json,
            lambda s: services.get_training_timetable(s, team, time_limit_s=time_limit, **question),
            tables_of_training.show_training_timetable,
        )
        return
    snapshot = get_graph_of_call(store).get_snapshot()
    plan, chart, effect = services.find_training_chart(snapshot, team, time_limit_s=time_limit, **question)
    contents = {
        workbook: services.build_training_workbook(snapshot, plan, chart, effect),
        calendar: services.build_training_calendar(snapshot, plan),
    }
    for path, content in contents.items():
        if path is not None:
            with write_beside(path) as temporary:
                temporary.write_bytes(content)
            click.echo(f"{path} written.")


COMMANDS = (cross_training, training_timetable)
