"""newel rotation."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import click

from api.commands.asking import answer, with_team
from api.commands.options import Date, Ids
from api.commands.tables_of_rotation import show_rotation
from api.schemas.rotation_answers import PURPOSES
from api.schemas.rotation_parameters import parse_learners
from api.services.rotation import RotationQuestion, get_rotation


class Learners(click.ParamType[Any]):
    """People with or without the place they learn."""

    name = "learners"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the set of (person, place or None), or end with a usage error."""
        if isinstance(value, frozenset):
            return value
        try:
            return parse_learners(value.replace(" ", ""))
        except ValueError as error:
            self.fail(f"{value!r} {error}", param, ctx)


@click.command()
@click.option("--purpose", type=click.Choice(PURPOSES), required=True, help="What the rotation is for.")
@click.option("--from", "start", type=Date(), help="First day of the period (default: the day asked about).")
@click.option("--until", type=Date(), help="Last day of the period, instead of --intervals.")
@click.option("--intervals", type=click.IntRange(1, 60), help="How many intervals (default: 6).")
@click.option("--interval-weeks", type=click.IntRange(1, 52), default=4, show_default=True)
@click.option("--minimum-stay", type=click.IntRange(1, 60), default=1, show_default=True, help="In intervals.")
@click.option("--maximum-stay", type=click.IntRange(1, 60), help="In intervals (default: no limit).")
@click.option("--practice", type=click.IntRange(1, 60), help="Intervals of practice each shall get.")
@click.option(
    "--people", type=Ids("people"), default="", metavar="P1,P2", help="Who takes part (default: all members)."
)
@click.option("--places", type=Ids("places"), default="", metavar="PLACE,PLACE", help="Which places (default: all).")
@click.option("--renewals", "has_renewals", is_flag=True, help="Take what lapses in the period as renewed in time.")
@click.option("--learners", type=Learners(), default="", metavar="P1,P2:PLACE", help="Who learns, and which place.")
@click.option("--time-limit", type=click.FloatRange(min=0, min_open=True), help="Seconds to compute at the most.")
@with_team
def rotation(
    team: str,
    start: date | None,
    time_limit: float | None,
    on: date,
    as_json: bool,
    store: Path,
    **asked: Any,
) -> None:
    """Plan who holds which place when, so that every place is always filled by someone able."""
    question = RotationQuestion(on=on, start=start or on, **asked)
    answer(store, as_json, lambda s: get_rotation(s, team, question, time_limit_s=time_limit), show_rotation)


COMMANDS = (rotation,)
