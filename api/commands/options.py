"""Options that several commands share, and opening the store they name. Imports ontology.graph.live, path aims."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, TypeVar

import click

from ontology.analysis.paths.aims import AIMS
from ontology.errors import UnavailableError
from ontology.graph.live import LiveGraph

_F = TypeVar("_F", bound=Callable[..., Any])


class Date(click.ParamType[Any]):
    """A day as 2026-11-24."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Return the day, or end with a usage error."""
        if isinstance(value, date):
            return value
        try:
            if len(value) != 10:
                raise ValueError
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no date; write it as 2026-11-24", param, ctx)


class Ids(click.ParamType[Any]):
    """Ids separated by commas."""

    name = "ids"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> frozenset[str]:
        """Return the set of ids."""
        if isinstance(value, frozenset):
            return value
        return frozenset(part.strip() for part in value.split(",") if part.strip())


def get_today() -> date:
    """Return today's date, UTC, as the API counts it."""
    return datetime.now(UTC).date()


def store_option(command: _F) -> _F:
    """Add --store."""
    return click.option(
        "--store",
        type=click.Path(path_type=Path, file_okay=False),
        envvar="NEWEL_STORE",
        default=Path("newel-store"),
        show_default=True,
        help="Folder of the store.",
    )(command)


def json_option(command: _F) -> _F:
    """Add --json."""
    return click.option("--json", "as_json", is_flag=True, help="Print the answer as the API gives it.")(command)


def on_option(command: _F) -> _F:
    """Add --on."""
    return click.option("--on", type=Date(), default=get_today, help="The day asked about (default: today, UTC).")(
        command
    )


def with_path_options(command: _F) -> _F:
    """Add what a learning path, and a calendar made of one, may be asked."""
    for option in (
        click.option("--time-limit", "time_limit_s", type=click.FloatRange(min=0, min_open=True),
                     help="Seconds to compute at the most."),
        click.option("--already-booked", type=Ids(), default="", metavar="C1,C2", help="Courses taken for granted."),
        click.option("--exclude", type=Ids(), default="", metavar="C1,C2", help="Courses never used."),
        click.option("--max-cost", type=click.FloatRange(min=0), help="Budget of money."),
        click.option("--max-hours", type=click.FloatRange(min=0), help="Budget of study hours."),
        click.option("--desirable", "with_desirable", is_flag=True, help="Reach the desirable requirements too."),
        click.option("--minimise", type=click.Choice(AIMS), default="hours", show_default=True, help="The first aim."),
    ):  # fmt: skip
        command = option(command)
    return command


@contextmanager
def open_graph(store: Path, *, create: bool = False) -> Iterator[LiveGraph]:
    """Open the store of a command and close it afterwards."""
    try:
        graph = LiveGraph.open(store, create=create)
    except OSError as error:
        raise UnavailableError(f"The store in {store} cannot be opened: {error.strerror or error}.") from error
    try:
        yield graph
    finally:
        graph.close()
